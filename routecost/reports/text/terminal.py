"""The console and its tables: at most 100 columns wide, color only on a terminal."""

from __future__ import annotations

from collections.abc import Sequence

from rich import box
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

WIDTH = 100


def console() -> Console:
    """Where tables go: as wide as the terminal, at most 100 columns; 100 where output is not a terminal."""
    made = Console(highlight=False)
    if not made.is_terminal or made.width > WIDTH:
        made = Console(highlight=False, width=WIDTH)
    return made


def make_table(*columns: str, numbers: Sequence[str] = (), title: str = "") -> Table:
    table = Table(
        box=box.SIMPLE_HEAD, title=title or None, title_justify="left", pad_edge=False, expand=False
    )
    for name in columns:
        right = name in numbers
        table.add_column(name, justify="right" if right else "left", no_wrap=right, overflow="fold")
    return table


def indented(text: str) -> Padding:
    """A line of a list; continuation lines are indented too."""
    return Padding(Text(text), (0, 0, 0, 2))
