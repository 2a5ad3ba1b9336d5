"""The commands about prices that move: `price`, `changes`, `thresholds`."""

from __future__ import annotations

import argparse

from routecost.commands.command_options import Add, day, progress, tell_json, within
from routecost.costing.views import BY

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


def add_commands(build_command: Add) -> None:
    """Add the commands; `build_command` makes one whose first argument is the build's folder."""
    price = build_command("price", _price, "add a price that you have seen to a build's price log")
    price.add_argument("resource", metavar="RESOURCE", help="what is priced, such as pla-grey")
    price.add_argument("pack", metavar="PACK", help='amount and unit in the pack, such as "1 kg"')
    price.add_argument("price", metavar="PRICE", help="price of the pack, tax included")
    price.add_argument("--as-of", metavar="DATE", required=True, help="the day from which it holds")
    price.add_argument("--supplier", metavar="NAME", required=True, help="who sells it")
    price.add_argument("--currency", metavar="CODE", help="ISO 4217 code (the build's if left out)")
    price.add_argument("--low", metavar="PRICE", help="a low price that would not surprise")
    price.add_argument("--high", metavar="PRICE", help="a high price that would not surprise")
    price.add_argument("--expires", metavar="DATE", help="the last day on which it holds")
    price.add_argument("--source", metavar="TEXT", help="where you have seen it")

    changes = build_command("changes", _changes, "tell what the bill costs on two days, and why it differs")
    changes.add_argument("--from", dest="first", metavar="DATE", required=True, help="the earlier day")
    changes.add_argument("--to", dest="last", metavar="DATE", help="the later day (the build's if left out)")
    changes.add_argument("--by", choices=("full", "spend"), default="full", help="full cost or spend")

    far = build_command("thresholds", _thresholds, "tell how far prices, copies and rates may move before "
                        "another route is best")  # fmt: skip
    far.add_argument("part", nargs="?", metavar="PART", help="this part only")
    far.add_argument(
        "--by", choices=BY, default="full", help="the figure that decides (full cost if left out)"
    )
    far.add_argument("--as-of", metavar="DATE", help="use the prices of that day, such as 2026-03-31")
    far.add_argument("--copies-to", type=int, metavar="N", help="look at up to so many copies")
    far.add_argument("--prices", action="store_true", help="prices and the own rate only: at once")
    far.add_argument("--all", action="store_true", help="also what lies farther than a factor of ten away")


def _price(options: argparse.Namespace) -> int:
    from routecost.builds.price_entry import add_price_texts
    from routecost.reports.json.added_price_json import added_json
    from routecost.reports.text.added_price_text import print_added

    texts = {name: getattr(options, name) or "" for name in _PRICE_COLUMNS}
    added = add_price_texts(options.build, texts)
    if options.json:
        return tell_json(added_json(added))
    from routecost.reports.text.terminal import console

    print_added(added, console())
    return 0


def _changes(options: argparse.Namespace) -> int:
    from routecost.api.sensitivity import changes
    from routecost.bill.rank_bill import as_build
    from routecost.reports.json.changes_json import changes_json
    from routecost.reports.text.changes_text import print_changes

    first, last = day(options.first, "--from"), day(options.last, "--to")
    assert first is not None
    with progress("measuring") as tick:
        build = as_build(options.build)
        found = changes(build, first, last, by=options.by, progress=tick)
    if options.json:
        return tell_json(changes_json(found))
    from routecost.reports.text.terminal import console

    print_changes(found, console(), {route.id: route.name for route in build.routes})
    return 0


def _thresholds(options: argparse.Namespace) -> int:
    from routecost.api.sensitivity import thresholds
    from routecost.bill.rank_bill import as_build
    from routecost.reports.json.thresholds_json import thresholds_json
    from routecost.reports.text.thresholds_text import print_thresholds

    most = options.copies_to
    if most is not None:
        within(most, 1, 100_000, "--copies-to")
    with progress("looking for thresholds") as tick:
        build = as_build(options.build)
        found = thresholds(
            build,
            options.part,
            by=options.by,
            as_of=day(options.as_of, "--as-of"),
            most_copies=most,
            replan=not options.prices,
            progress=tick,
        )
    if options.json:
        return tell_json(thresholds_json(found))
    from routecost.reports.text.terminal import console

    names = {route.id: route.name for route in build.routes}
    print_thresholds(found, console(), names, every=options.all)
    return 0
