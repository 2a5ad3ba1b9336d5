"""Builds begun: `new`."""

from __future__ import annotations

import argparse
from pathlib import Path

from routecost.builds.build import inspect_build
from routecost.builds.starter import start_build
from routecost.commands.command import Command
from routecost.commands.command_options import print_json
from routecost.reports.text.ranking_text import size_lines


def _new_options(made: argparse.ArgumentParser) -> None:
    made.add_argument("folder", metavar="FOLDER")
    made.add_argument("--meshes", metavar="FOLDER", help="a folder of meshes to copy in and list")


def _new(options: argparse.Namespace) -> int:
    made = start_build(Path(options.folder), Path(options.meshes) if options.meshes else None)
    if options.json:
        return print_json({"folder": str(options.folder), "files": [str(path) for path in made]})
    for path in made:
        print(f"wrote {path}")
    build, _faults = inspect_build(options.folder)
    if build is not None and build.read_parts:
        for line in size_lines(build):
            print(line)
        for note in build.warnings:
            print(f"note: {note}")
    print(f"next: edit {options.folder}/parts.csv, then `routecost check {options.folder}`")
    return 0


COMMANDS = {"new": Command(_new_options, _new)}
