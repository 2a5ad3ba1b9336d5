"""What a command is: the options it adds and what it runs."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import NamedTuple


class Command(NamedTuple):
    """A command of the command line. Every one also gets the option `--json`."""

    add_options: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]
    """The exit code; raises InputError."""


def build_argument(made: argparse.ArgumentParser) -> None:
    """The build's folder, as the first argument."""
    made.add_argument("build", metavar="BUILD", help="the build's folder")
