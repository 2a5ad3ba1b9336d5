"""The bill explained, with its uncertainty, and exported: `explain`, `risk`, `export`."""

from __future__ import annotations

import argparse
from pathlib import Path

from routecost.bill.rank_bill import explain, rank
from routecost.builds.build import load_build
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import copies, day, print_json, progress, ranking_options, within
from routecost.costing.uncertainty.risk import assess
from routecost.reports.json.ranking_json import explanation_json
from routecost.reports.json.risk_json import risk_json
from routecost.reports.text.explanation_text import print_explanation
from routecost.reports.text.risk_text import print_risk
from routecost.reports.text.terminal import console
from routecost.reports.workbook import write_workbook


def _explain_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("part", metavar="PART")
    made.add_argument("route", metavar="ROUTE")
    made.add_argument("--all", action="store_true", help="also the alternatives inside the route")
    ranking_options(made)


def _risk_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument(
        "--draws", type=int, default=10_000, metavar="N", help="sampled worlds (10000 if left out)"
    )
    made.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed gives the same numbers")
    made.add_argument(
        "--law", choices=("triangular", "pert"), default="triangular", help="between low and high"
    )
    ranking_options(made)


def _export_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("file", metavar="FILE.xlsx")
    ranking_options(made)


def _explain(options: argparse.Namespace) -> int:
    build = load_build(options.build)
    with progress("measuring"):
        found = explain(
            build,
            options.part,
            options.route,
            copies=copies(options.copies),
            by=options.by,
            as_of=day(options.as_of, "--as-of"),
        )
    if options.json:
        return print_json(explanation_json(found, options.all))
    names = {route.id: route.name for route in build.routes}
    print_explanation(found, console(), names[options.route], every=options.all)
    return 0


def _risk(options: argparse.Namespace) -> int:
    draws = within(options.draws, 100, 1_000_000, "--draws")
    seed = within(options.seed, 0, 10**9, "--seed")
    with progress("measuring") as tick:
        build = load_build(options.build)
        ranking = rank(
            build,
            copies=copies(options.copies),
            by=options.by,
            as_of=day(options.as_of, "--as-of"),
            progress=tick,
        )
    found = assess(
        ranking,
        build.tariff(ranking.as_of),
        build.shop(ranking.as_of),
        budget=build.settings.budget,
        draws=draws,
        seed=seed,
        law=options.law,
    )
    if options.json:
        return print_json(risk_json(found))
    print_risk(found, console(), {route.id: route.name for route in build.routes})
    return 0


def _export(options: argparse.Namespace) -> int:
    with progress("measuring") as tick:
        build = load_build(options.build)
        ranking = rank(
            build,
            copies=copies(options.copies),
            by=options.by,
            as_of=day(options.as_of, "--as-of"),
            progress=tick,
        )
    path = write_workbook(build, ranking, Path(options.file))
    if options.json:
        return print_json({"file": str(path)})
    print(f"wrote {path}")
    return 0


COMMANDS = {
    "explain": Command(_explain_options, _explain),
    "risk": Command(_risk_options, _risk),
    "export": Command(_export_options, _export),
}
