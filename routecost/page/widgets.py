"""Tables and downloads as all pages show them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import pandas as pd
import streamlit as st

HEADER_PX, ROW_PX = 38, 35
MIME = {
    ".csv": "text/csv",
    ".ics": "text/calendar",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".zip": "application/zip",
}


def table(
    rows: Iterable[dict[str, Any]] | pd.DataFrame,
    formats: Mapping[str, str] | None = None,
    widths: Mapping[str, int] | None = None,
    most_rows: int | None = None,
) -> None:
    """Rows as a table.

    formats: by column, how numbers are shown (".2f", "percent"). widths: by column, in pixels. most_rows: as high as
    its rows, but no higher than this many; None leaves the height to Streamlit.
    """
    frame = rows if isinstance(rows, pd.DataFrame) else pd.DataFrame(rows)
    formats, widths = formats or {}, widths or {}
    config: dict[str, Any] = {name: st.column_config.Column(width=width) for name, width in widths.items()}
    for name, form in formats.items():
        shown = f"%{form}" if form.startswith(".") else form
        config[name] = st.column_config.NumberColumn(format=shown, width=widths.get(name))
    st.dataframe(
        frame,
        hide_index=True,
        width="stretch",
        height="auto" if most_rows is None else HEADER_PX + ROW_PX * min(len(frame), most_rows),
        placeholder="",
        column_config=config,
    )


def download(place: Any, label: str, file_name: str, data: str | bytes | Callable[[], bytes]) -> None:
    """A button that downloads a file and does not run the page again. `place` is the page or a column of it."""
    mime = MIME[file_name[file_name.rindex(".") :]]
    place.download_button(label, data=data, file_name=file_name, mime=mime, on_click="ignore")
