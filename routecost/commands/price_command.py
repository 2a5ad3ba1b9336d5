"""A price added to the price log: `price`."""

from __future__ import annotations

import argparse

from routecost.builds.price_entry import add_price_texts
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import print_json
from routecost.reports.json.added_price_json import added_json
from routecost.reports.text.added_price_text import print_added
from routecost.reports.text.terminal import console

# options of `price` that are columns of prices.csv
_PRICE_COLUMNS = (
    "resource",
    "pack",
    "price",
    "as_of",
    "supplier",
    "currency",
    "low",
    "high",
    "expires",
    "source",
)


def _price_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("resource", metavar="RESOURCE", help="what is priced, such as pla-grey")
    made.add_argument("pack", metavar="PACK", help='amount and unit in the pack, such as "1 kg"')
    made.add_argument("price", metavar="PRICE", help="price of the pack, tax included")
    made.add_argument("--as-of", metavar="DATE", required=True, help="the day from which it holds")
    made.add_argument("--supplier", metavar="NAME", required=True, help="who sells it")
    made.add_argument("--currency", metavar="CODE", help="ISO 4217 code (the build's if left out)")
    made.add_argument("--low", metavar="PRICE", help="a low price that would not surprise")
    made.add_argument("--high", metavar="PRICE", help="a high price that would not surprise")
    made.add_argument("--expires", metavar="DATE", help="the last day on which it holds")
    made.add_argument("--source", metavar="TEXT", help="where you have seen it")


def _price(options: argparse.Namespace) -> int:
    texts = {name: getattr(options, name) or "" for name in _PRICE_COLUMNS}
    added = add_price_texts(options.build, texts)
    if options.json:
        return print_json(added_json(added))
    print_added(added, console())
    return 0


COMMANDS = {"price": Command(_price_options, _price)}
