"""The bill ranked, explained, doubted and exported: `rank`, `explain`, `risk`, `export`."""

from __future__ import annotations

import argparse
from pathlib import Path

from routecost.commands.command_options import Add, copies, day, progress, ranking_options, tell_json, within


def add_commands(build_command: Add) -> None:
    """Add the commands; `build_command` makes one whose first argument is the build's folder."""
    ranked = build_command("rank", _rank, "rank the routes of every part by cost, hours or lead time")
    ranked.add_argument("--part", metavar="ID", help="this part only")
    ranking_options(ranked)

    explain = build_command("explain", _explain, "every operation, quantity, price and source of one route")
    explain.add_argument("part", metavar="PART")
    explain.add_argument("route", metavar="ROUTE")
    explain.add_argument("--all", action="store_true", help="also the alternatives inside the route")
    ranking_options(explain)

    risk = build_command(
        "risk", _risk, "how sure the answer is: chances, percentiles, what drives the spread"
    )
    risk.add_argument(
        "--draws", type=int, default=10_000, metavar="N", help="sampled worlds (10000 if left out)"
    )
    risk.add_argument("--seed", type=int, default=1, metavar="N", help="the same seed gives the same numbers")
    risk.add_argument(
        "--law", choices=("triangular", "pert"), default="triangular", help="between low and high"
    )
    ranking_options(risk)

    export = build_command(
        "export", _export, "write the bill as a workbook whose formulas compute the totals"
    )
    export.add_argument("file", metavar="FILE.xlsx")
    ranking_options(export)


def _rank(options: argparse.Namespace) -> int:
    from routecost.bill.rank_bill import rank
    from routecost.builds.build import load_build
    from routecost.reports.json.ranking_json import ranking_json

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
        return tell_json(ranking_json(ranking))
    from routecost.api.sensitivity import stale
    from routecost.builds.stale_prices import stale_summary
    from routecost.reports.text.ranking_text import print_notes, print_ranking
    from routecost.reports.text.terminal import console

    out = console()
    print_notes(build, out)
    print_ranking(ranking, out, {route.id: route.name for route in build.routes})
    if old := stale_summary(stale(build, ranking)):
        out.print(f"note: {old}")
    return 0


def _explain(options: argparse.Namespace) -> int:
    from routecost.bill.rank_bill import explain
    from routecost.builds.build import load_build
    from routecost.reports.json.ranking_json import explanation_json

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
        return tell_json(explanation_json(found, options.all))
    from routecost.reports.text.explanation_text import print_explanation
    from routecost.reports.text.terminal import console

    names = {route.id: route.name for route in build.routes}
    print_explanation(found, console(), names[options.route], every=options.all)
    return 0


def _risk(options: argparse.Namespace) -> int:
    from routecost.bill.rank_bill import rank
    from routecost.builds.build import load_build
    from routecost.costing.uncertainty.risk import assess
    from routecost.reports.json.risk_json import risk_json
    from routecost.reports.text.risk_text import print_risk

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
        return tell_json(risk_json(found))
    from routecost.reports.text.terminal import console

    print_risk(found, console(), {route.id: route.name for route in build.routes})
    return 0


def _export(options: argparse.Namespace) -> int:
    from routecost.bill.rank_bill import rank
    from routecost.builds.build import load_build
    from routecost.reports.workbook import write_workbook

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
        return tell_json({"file": str(path)})
    print(f"wrote {path}")
    return 0
