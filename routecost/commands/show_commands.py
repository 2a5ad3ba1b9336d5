"""What the tables mean, and the page: `tables`, `page`."""

from __future__ import annotations

import argparse

from routecost.commands.command import Command
from routecost.commands.command_options import print_json
from routecost.page.serve import serve
from routecost.reports.json.tables_json import tables_json
from routecost.reports.text.tables_text import print_tables
from routecost.reports.text.terminal import console


def _tables_options(made: argparse.ArgumentParser) -> None:
    made.add_argument("table", nargs="?", metavar="TABLE", help="one table, such as prices.csv")


def _page_options(made: argparse.ArgumentParser) -> None:
    made.add_argument("build", nargs="?", metavar="BUILD", help="the build's folder (the demo if left out)")
    made.add_argument("--port", type=int, metavar="N", help="port to listen on")
    made.add_argument("--no-browser", action="store_true", help="serve only")


def _tables(options: argparse.Namespace) -> int:
    if options.json:
        return print_json(tables_json(options.table))
    print_tables(console(), options.table)
    return 0


def _page(options: argparse.Namespace) -> int:
    return serve(options.build, options.port, browser=not options.no_browser)


COMMANDS = {"tables": Command(_tables_options, _tables), "page": Command(_page_options, _page)}
