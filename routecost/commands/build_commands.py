"""The demo build, and builds checked: `demo`, `check`."""

from __future__ import annotations

import argparse
from pathlib import Path

from routecost.bill.rank_bill import rank
from routecost.builds.build import inspect_build
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import print_json, progress
from routecost.core.errors import InputError
from routecost.demo.demo_build import write_demo
from routecost.reports.json.ranking_json import ranking_json
from routecost.reports.text.ranking_text import print_ranking, size_lines
from routecost.reports.text.terminal import console
from routecost.reports.workbook import write_workbook


def _demo_options(made: argparse.ArgumentParser) -> None:
    made.add_argument("folder", nargs="?", default="ant-habitat", metavar="FOLDER")


def _demo(options: argparse.Namespace) -> int:
    folder = Path(options.folder)
    with progress("measuring") as tick:
        build = write_demo(folder)
        ranking = rank(build, progress=tick)
    workbook = write_workbook(build, ranking, folder / "bill.xlsx")
    if options.json:
        return print_json(ranking_json(ranking))
    out = console()
    out.print(f"{build.settings.name}: everything in this demo is invented. Written to {folder}/")
    print_ranking(ranking, out, {route.id: route.name for route in build.routes})
    out.print(f"\nworkbook:  {workbook}")
    out.print(f"why:       routecost explain {folder} {ranking.parts[0].part.id} mold-casting")
    out.print(f"together:  routecost plan {folder}")
    out.print(f"page:      routecost page {folder}")
    return 0


def _check(options: argparse.Namespace) -> int:
    with progress("reading and measuring") as tick:
        build, faults = inspect_build(options.build, on_read=tick)
        if faults or build is None:
            raise InputError(faults)
        rank(build)  # finds the prices that are missing for what the routes would use
    notes = [str(note) for note in build.warnings]
    if options.json:
        sizes = {read.part.id: list(read.size.extents_mm) for read in build.read_parts if read.size}
        return print_json(
            {
                "build": build.settings.name,
                "parts": len(build.read_parts),
                "extents_mm": sizes,
                "notes": notes,
            }
        )
    for line in size_lines(build):
        print(line)
    for note in notes:
        print(f"note: {note}")
    print(f"{build.settings.name}: {len(build.read_parts)} parts, nothing wrong")
    return 0


COMMANDS = {"demo": Command(_demo_options, _demo), "check": Command(build_argument, _check)}
