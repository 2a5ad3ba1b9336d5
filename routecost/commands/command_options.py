"""What the commands share: common options, numbers and days from options, JSON, a progress bar."""

from __future__ import annotations

import argparse
import datetime as dt
import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from routecost.core.errors import InputError
from routecost.core.units import UnitError
from routecost.costing.views import BY
from routecost.shop.table_reader import read_date


def ranking_options(made: argparse.ArgumentParser) -> None:
    """Copies, figure and day, for every command that ranks."""
    made.add_argument("--copies", type=int, metavar="N", help="so many of each part instead")
    made.add_argument(
        "--by", choices=BY, default="full", help="the figure that decides (full cost if left out)"
    )
    made.add_argument("--as-of", metavar="DATE", help="use the prices of that day, such as 2026-03-31")


def print_json(found: Any) -> int:
    """Print for other programs; the exit code of a command that went well."""
    print(json.dumps(found, indent=1))
    return 0


def day(text: str | None, flag: str) -> dt.date | None:
    """A day from an option. Raises InputError."""

    try:
        return None if text is None else read_date(text)
    except UnitError as error:
        raise InputError.of("command line", flag, error.what, error.mend) from None


def copies(n: int | None) -> int | None:
    """A number of copies from an option. Raises InputError."""
    return None if n is None else within(n, 1, 100_000, "--copies")


def within(n: int, low: int, high: int, flag: str) -> int:
    """A whole number from an option, in its range. Raises InputError."""
    if not low <= n <= high:
        raise InputError.of("command line", flag, f"{n} is out of range", f"write {low} to {high}")
    return n


@contextmanager
def progress(what: str) -> Iterator[Callable[[str], None]]:
    """A progress bar on the error stream while a person watches; else silence."""
    if not sys.stderr.isatty():
        yield lambda _name: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn(what), BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)
        yield lambda name: bar.update(task, advance=1, description=name)
