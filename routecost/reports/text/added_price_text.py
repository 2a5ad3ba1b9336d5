"""A price added to the log, in a terminal."""

from __future__ import annotations

from rich.console import Console

from routecost.builds.price_entry import AddedPrice


def print_added(added: AddedPrice, out: Console) -> None:
    row = added.placed.row
    out.print(
        f"{added.placed.place}: {row.resource}, {row.pack} from {row.supplier}, {row.price:g} {row.currency}, "
        f"as of {row.as_of}"
    )
    if added.replaces_shipped:
        out.print(
            f"note: this is the first price of {row.resource} in this build; from now on it replaces the "
            f"example prices that ship with routecost ({added.replaces_shipped})",
            style="dim",
        )
