"""The commands by which quotes and the log of what really happened teach the tables."""

from __future__ import annotations

import argparse

from routecost.commands.command_options import Add, day, progress, tell_json


def add_commands(build_command: Add) -> None:
    """`fit` and `learn`."""
    fit = build_command("fit", _fit, "fit the price law of a service to the quotes it gave")
    fit.add_argument("--service", metavar="ID", help="this service (every one with five quotes if left out)")
    learn = build_command("learn", _learn, "update time standards, yields and failure rates from log.csv")
    for made, what in ((fit, "the fitted prices"), (learn, "what was learned")):
        made.add_argument("--as-of", metavar="DATE", help="by what was known that day, such as 2026-03-31")
        made.add_argument("--write", action="store_true", help=f"append {what} to the build's tables")


def _fit(options: argparse.Namespace) -> int:
    from routecost.builds.build import load_build
    from routecost.learning.quotes_fit import fit, write_laws
    from routecost.reports.json.fit_json import fits_json
    from routecost.reports.text.learning_text import print_fit, print_rows

    with progress("measuring") as tick:
        build = load_build(options.build)
        found = fit(build, options.service, as_of=day(options.as_of, "--as-of"), progress=tick)
    written = [str(path) for path in write_laws(build, found)] if options.write else []
    if options.json:
        return tell_json(fits_json(found, written))
    from routecost.reports.text.terminal import console

    out = console()
    for one in found:
        print_fit(one, out)
    print_rows({"prices.csv": [row for one in found for row in one.rows]}, written, out)
    return 0


def _learn(options: argparse.Namespace) -> int:
    from routecost.builds.build import load_build
    from routecost.learning.learn import learn, write_learned
    from routecost.reports.json.learning_json import learning_json
    from routecost.reports.text.learning_text import print_learning, print_rows

    with progress("measuring") as tick:
        build = load_build(options.build)
        found = learn(build, as_of=day(options.as_of, "--as-of"), progress=tick)
    written = [str(path) for path in write_learned(build, found)] if options.write else []
    if options.json:
        return tell_json(learning_json(found, written))
    from routecost.reports.text.terminal import console

    out = console()
    print_learning(found, out)
    print_rows(found.rows, written, out)
    return 0
