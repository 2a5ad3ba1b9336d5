"""The bill ranked: `rank`."""

from __future__ import annotations

import argparse

from routecost.api.sensitivity import stale
from routecost.bill.rank_bill import rank
from routecost.builds.build import load_build
from routecost.builds.stale_prices import stale_summary
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import copies, day, print_json, progress, ranking_options
from routecost.reports.json.ranking_json import ranking_json
from routecost.reports.text.ranking_text import print_notes, print_ranking
from routecost.reports.text.terminal import console


def _rank_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("--part", metavar="ID", help="this part only")
    ranking_options(made)


def _rank(options: argparse.Namespace) -> int:
    with progress("measuring") as tick:
        build = load_build(options.build)
        ranking = rank(
            build,
            part=options.part,
            copies=copies(options.copies),
            by=options.by,
            as_of=day(options.as_of, "--as-of"),
            progress=tick,
        )
    if options.json:
        return print_json(ranking_json(ranking))
    out = console()
    print_notes(build, out)
    print_ranking(ranking, out, {route.id: route.name for route in build.routes})
    if old := stale_summary(stale(build, ranking)):
        out.print(f"note: {old}")
    return 0


COMMANDS = {"rank": Command(_rank_options, _rank)}
