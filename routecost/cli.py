"""The command line: finds the command, and tells what went wrong."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from typing import NoReturn

from routecost.commands import (
    bill_commands,
    build_commands,
    learning_commands,
    measure_command,
    plan_command,
    price_commands,
    show_commands,
)
from routecost.commands.command_options import Run
from routecost.core.errors import Fault, InputError


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit code is 0, 2 for bad input, 130 when interrupted."""
    words = list(sys.argv[1:] if argv is None else argv)
    as_json = "--json" in words
    try:
        options = _parser().parse_args(words)
        command: Run = options.run
        return command(options)
    except InputError as error:
        _tell(error.faults, as_json)
        return 2
    except KeyboardInterrupt:
        print("interrupted; what was measured is kept", file=sys.stderr)
        return 130
    except BrokenPipeError:
        # the reader has gone, as with `| head`; a second failure at exit must not be shown either
        sys.stdout = None
        return 0


class _Parser(argparse.ArgumentParser):
    """Usage mistakes are told like every other mistake."""

    def error(self, message: str) -> NoReturn:
        raise InputError.of("command line", self.prog, message, f"see `{self.prog} --help`")


def _tell(faults: Sequence[Fault], as_json: bool) -> None:
    if as_json:
        from routecost.reports.json.ranking_json import faults_json

        print(json.dumps(faults_json(tuple(faults)), indent=1))
        return
    for fault in faults:
        print(f"error: {fault}", file=sys.stderr)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="routecost",
        description="Decides, part by part and for the whole bill, how to make a one-off build: printed, "
        "shell-filled, cast, ordered or bought; with money, own hours and what to buy.",
    )
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)

    def command(name: str, run: Run, about: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = commands.add_parser(name, help=about, description=about)
        made.add_argument("--json", action="store_true", help="write JSON for other programs")
        made.set_defaults(run=run)
        return made

    def build_command(name: str, run: Run, about: str) -> argparse.ArgumentParser:
        made = command(name, run, about)
        made.add_argument("build", metavar="BUILD", help="the build's folder")
        return made

    build_commands.add_commands(command, build_command)
    measure_command.add_commands(command)
    bill_commands.add_commands(build_command)
    plan_command.add_commands(build_command)
    price_commands.add_commands(build_command)
    learning_commands.add_commands(build_command)
    show_commands.add_commands(command)
    return parser


if __name__ == "__main__":
    sys.exit(main())
