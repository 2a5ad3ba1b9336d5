"""A price added to the log, in a terminal."""

from __future__ import annotations

from rich.console import Console

from routecost.builds.price_entry import AddedPrice


def print_added(added: AddedPrice, out: Console) -> None:
    row = added.placed.row
    out.print(
        f"{added.placed.place}: {row.resource}, {row.pack} at {row.supplier}, {row.price:g} {row.currency} "
        f"from {row.as_of} on"
    )
    if added.replaces_shipped:
        out.print(
            f"note: it is the build's first own price of {row.resource}; it takes the place of the shipped "
            f"example prices ({added.replaces_shipped})",
            style="dim",
        )
