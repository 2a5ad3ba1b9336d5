"""What moving prices do to the bill: `changes`, `thresholds`."""

from __future__ import annotations

import argparse

from routecost.api.sensitivity import changes, thresholds
from routecost.bill.rank_bill import as_build
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import day, print_json, progress, within
from routecost.costing.views import BY
from routecost.reports.json.changes_json import changes_json
from routecost.reports.json.thresholds_json import thresholds_json
from routecost.reports.text.changes_text import print_changes
from routecost.reports.text.terminal import console
from routecost.reports.text.thresholds_text import print_thresholds


def _changes_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("--from", dest="first", metavar="DATE", required=True, help="the earlier day")
    made.add_argument("--to", dest="last", metavar="DATE", help="the later day (the build's if left out)")
    made.add_argument("--by", choices=("full", "spend"), default="full", help="full cost or spend")


def _thresholds_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("part", nargs="?", metavar="PART", help="this part only")
    made.add_argument(
        "--by", choices=BY, default="full", help="the figure that decides (full cost if left out)"
    )
    made.add_argument("--as-of", metavar="DATE", help="use the prices of that day, such as 2026-03-31")
    made.add_argument("--copies-to", type=int, metavar="N", help="look at up to so many copies")
    made.add_argument("--prices", action="store_true", help="prices and the own rate only: at once")
    made.add_argument("--all", action="store_true", help="also what lies farther than a factor of ten away")


def _changes(options: argparse.Namespace) -> int:
    first, last = day(options.first, "--from"), day(options.last, "--to")
    assert first is not None
    with progress("measuring") as tick:
        build = as_build(options.build)
        found = changes(build, first, last, by=options.by, progress=tick)
    if options.json:
        return print_json(changes_json(found))
    print_changes(found, console(), {route.id: route.name for route in build.routes})
    return 0


def _thresholds(options: argparse.Namespace) -> int:
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
        return print_json(thresholds_json(found))
    names = {route.id: route.name for route in build.routes}
    print_thresholds(found, console(), names, every=options.all)
    return 0


COMMANDS = {
    "changes": Command(_changes_options, _changes),
    "thresholds": Command(_thresholds_options, _thresholds),
}
