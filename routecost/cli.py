"""The command line: finds the command, loads its module alone, and reports what went wrong."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from importlib import import_module
from typing import NamedTuple, NoReturn

from routecost.commands.command import Command
from routecost.core.errors import Fault, InputError


class Entry(NamedTuple):
    """Where a command lives, and its help in a line."""

    module: str
    """A module of routecost.commands with the `Command` in its `COMMANDS`."""
    about: str


COMMANDS = {
    "demo": Entry("build_commands", "write the demo build (an invented ant-habitat exhibit) and rank it"),
    "new": Entry("start_command", "start a build: a commented starter, or a parts table made from meshes"),
    "check": Entry("build_commands", "list everything that is wrong in a build's folder"),
    "measure": Entry("measure_command", "show what meshes measure"),
    "rank": Entry("rank_command", "rank the routes of every part by cost, hours or lead time"),
    "explain": Entry("bill_commands", "show every operation, quantity, price and source of a route"),
    "risk": Entry("bill_commands", "show the uncertainty: percentiles, probabilities, main drivers"),
    "export": Entry("bill_commands", "write the bill as a workbook whose formulas compute the totals"),
    "plan": Entry("plan_command", "plan the whole bill at once: routes, purchases, timetable"),
    "price": Entry("price_command", "add a price that you have seen to a build's price log"),
    "changes": Entry("moving_commands", "show what the bill costs on two days, and why it differs"),
    "thresholds": Entry("moving_commands", "show at which prices, copies and rates another route is best"),
    "fit": Entry("learning_commands", "fit the price law of a service to the quotes it gave"),
    "learn": Entry("learning_commands", "update time standards, yields and failure rates from log.csv"),
    "tables": Entry("show_commands", "show what the columns of every table mean"),
    "page": Entry("show_commands", "open the page in a browser"),
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit code is 0, 2 for bad input, 130 when interrupted."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        parser = parser_for(words)
        if not words:
            parser.print_help()
            return 0
        options = parser.parse_args(words)
        command: Command = options.command
        return command.run(options)
    except InputError as error:
        _report(error.faults, "--json" in words)
        return 2
    except KeyboardInterrupt:
        print("interrupted; the parts that were measured are in the cache", file=sys.stderr)
        return 130
    except BrokenPipeError:
        # the reader has gone, as with `| head`; a second failure at exit must not be shown either
        sys.stdout = None
        return 0


def parser_for(words: Sequence[str]) -> argparse.ArgumentParser:
    """Knows every command's name and help; the options only of the one that the words name."""
    parser = _Parser(
        prog="routecost",
        description="Decides, part by part and for the whole bill, how to make a one-off build: printed, "
        "shell-filled, cast, ordered or bought; with money, own hours and what to buy.",
    )
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    named = next((word for word in words if not word.startswith("-")), None)
    for name, entry in COMMANDS.items():
        made = subparsers.add_parser(name, help=entry.about, description=entry.about)
        if name == named:
            module = import_module(f"routecost.commands.{entry.module}")
            command: Command = module.COMMANDS[name]
            made.add_argument("--json", action="store_true", help="write JSON for other programs")
            command.add_options(made)
            made.set_defaults(command=command)
    return parser


class _Parser(argparse.ArgumentParser):
    """Reports a wrong call like all other bad input."""

    def error(self, message: str) -> NoReturn:
        raise InputError.of("command line", self.prog, message, f"see `{self.prog} --help`")


def _report(faults: Sequence[Fault], as_json: bool) -> None:
    if as_json:
        # one fault as `error`; several also as a list
        found = [fault.as_dict() for fault in faults]
        print(json.dumps({"error": found[0]} | ({"errors": found} if len(found) > 1 else {}), indent=1))
        return
    for fault in faults:
        print(f"error: {fault}", file=sys.stderr)


if __name__ == "__main__":
    sys.exit(main())
