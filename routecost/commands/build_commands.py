"""Builds begun and checked: `demo`, `new`, `check`."""

from __future__ import annotations

import argparse
from pathlib import Path

from routecost.commands.command_options import Add, progress, tell_json
from routecost.core.errors import InputError


def add_commands(command: Add, build_command: Add) -> None:
    """Add the commands; `build_command` makes one whose first argument is the build's folder."""
    demo = command("demo", _demo, "write the demo build (an invented ant-habitat exhibit) and rank it")
    demo.add_argument("folder", nargs="?", default="ant-habitat", metavar="FOLDER")

    new = command("new", _new, "start a build: a commented starter, or a parts table made from meshes")
    new.add_argument("folder", metavar="FOLDER")
    new.add_argument("--meshes", metavar="FOLDER", help="a folder of meshes to copy in and list")

    build_command("check", _check, "tell everything that is wrong in a build's folder, all at once")


def _demo(options: argparse.Namespace) -> int:
    from routecost.bill.rank_bill import rank
    from routecost.demo.demo_build import write_demo
    from routecost.reports.json.ranking_json import ranking_json
    from routecost.reports.workbook import write_workbook

    folder = Path(options.folder)
    with progress("measuring") as tick:
        build = write_demo(folder)
        ranking = rank(build, progress=tick)
    workbook = write_workbook(build, ranking, folder / "bill.xlsx")
    if options.json:
        return tell_json(ranking_json(ranking))
    from routecost.reports.text.ranking_text import print_ranking
    from routecost.reports.text.terminal import console

    out = console()
    out.print(f"{build.settings.name}: everything in this demo is invented. Written to {folder}/")
    print_ranking(ranking, out, {route.id: route.name for route in build.routes})
    out.print(f"\nworkbook:  {workbook}")
    out.print(f"why:       routecost explain {folder} {ranking.parts[0].part.id} mold-casting")
    out.print(f"together:  routecost plan {folder}")
    out.print(f"page:      routecost page {folder}")
    return 0


def _new(options: argparse.Namespace) -> int:
    from routecost.builds.starter import start_build

    made = start_build(Path(options.folder), Path(options.meshes) if options.meshes else None)
    if options.json:
        return tell_json({"folder": str(options.folder), "files": [str(path) for path in made]})
    for path in made:
        print(f"wrote {path}")
    print(f"next: edit {options.folder}/parts.csv, then `routecost check {options.folder}`")
    return 0


def _check(options: argparse.Namespace) -> int:
    from routecost.bill.rank_bill import rank
    from routecost.builds.build import inspect_build

    with progress("reading and measuring") as tick:
        build, faults = inspect_build(options.build, on_read=tick)
        if faults or build is None:
            raise InputError(faults)
        rank(build)  # finds the prices that are missing for what the routes would use
    notes = [str(note) for note in build.warnings]
    if options.json:
        return tell_json({"build": build.settings.name, "parts": len(build.read_parts), "notes": notes})
    for note in notes:
        print(f"note: {note}")
    print(f"{build.settings.name}: {len(build.read_parts)} parts, nothing wrong")
    return 0
