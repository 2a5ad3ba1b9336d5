"""Quotes and the log of what really happened update the tables: `fit`, `learn`."""

from __future__ import annotations

import argparse

from routecost.builds.build import load_build
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import day, print_json, progress
from routecost.learning.learn import learn, write_learned
from routecost.learning.quotes_fit import fit, write_laws
from routecost.reports.json.fit_json import fits_json
from routecost.reports.json.learning_json import learning_json
from routecost.reports.text.learning_text import print_fit, print_learning, print_rows
from routecost.reports.text.terminal import console


def _fit_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    made.add_argument("--service", metavar="ID", help="this service (every one with five quotes if left out)")
    _append_options(made, "the fitted prices")
    made.add_argument(
        "--force", action="store_true", help="write the law of the other quotes although some are suspect"
    )


def _learn_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    _append_options(made, "what was learned")


def _append_options(made: argparse.ArgumentParser, what: str) -> None:
    made.add_argument("--as-of", metavar="DATE", help="by what was known that day, such as 2026-03-31")
    made.add_argument("--write", action="store_true", help=f"append {what} to the build's tables")


def _fit(options: argparse.Namespace) -> int:
    with progress("measuring") as tick:
        build = load_build(options.build)
        found = fit(build, options.service, as_of=day(options.as_of, "--as-of"), progress=tick)
    written = [str(path) for path in write_laws(build, found, force=options.force)] if options.write else []
    if options.json:
        return print_json(fits_json(found, written))
    out = console()
    for one in found:
        print_fit(one, out)
    print_rows({"prices.csv": [row for one in found for row in one.rows]}, written, out)
    return 0


def _learn(options: argparse.Namespace) -> int:
    with progress("measuring") as tick:
        build = load_build(options.build)
        found = learn(build, as_of=day(options.as_of, "--as-of"), progress=tick)
    written = [str(path) for path in write_learned(build, found)] if options.write else []
    if options.json:
        return print_json(learning_json(found, written))
    out = console()
    print_learning(found, out)
    print_rows(found.rows, written, out)
    return 0


COMMANDS = {"fit": Command(_fit_options, _fit), "learn": Command(_learn_options, _learn)}
