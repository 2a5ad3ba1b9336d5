"""What the pages share: the build in view, the day, the figure to rank by, copies tried out."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import Any

import streamlit as st

from routecost.bill.rank_bill import rank
from routecost.builds.build import CACHE_FOLDER, Build, load_build
from routecost.core.errors import InputError
from routecost.costing.ranking import Ranking
from routecost.costing.views import By


def folder() -> Path:
    """The build in view: what this session uploaded, else what the command line names, else the demo."""
    if "folder" not in st.session_state:
        named = sys.argv[1] if len(sys.argv) > 1 else None
        st.session_state["folder"] = str(named or _demo())
    return Path(st.session_state["folder"])


def _demo() -> Path:
    from routecost.core.cache.store import user_folder
    from routecost.demo.demo_build import write_demo

    home = user_folder() / "demo" / "ant-habitat"
    write_demo(home)
    return home


def show_folder(path: Path) -> None:
    """Turn all pages to another build."""
    st.session_state["folder"] = str(path)
    st.session_state["copies"] = {}


def signature(root: Path) -> tuple[tuple[str, int, int], ...]:
    """Names, sizes and times of a build's files: when it changes, the build is read again."""
    found = []
    for path in sorted(root.rglob("*")):
        if CACHE_FOLDER not in path.parts and path.is_file():
            stat = path.stat()
            found.append((str(path.relative_to(root)), stat.st_size, stat.st_mtime_ns))
    return tuple(found)


@st.cache_resource(max_entries=8, show_spinner="Reading the build")
def _load(root: str, _signature: Any, key: str) -> Build:
    return load_build(root)


def build() -> Build:
    """The build in view; where it has faults the page tells all of them and stops."""
    root = folder()
    sign = signature(root)
    try:
        return _load(str(root), sign, repr(sign))
    except InputError as error:
        tell(error)
        st.stop()


def tell(error: InputError) -> None:
    """Everything that is wrong, with its place and its mend."""
    for fault in error.faults:
        where = f"{fault.file}, {fault.where}" if fault.where else fault.file
        st.error(f"**{where}**: {fault.what}" + (f". To mend it: {fault.mend}." if fault.mend else "."))


def tried_copies() -> dict[str, int]:
    """Copies that this session tries instead of those of the parts table."""
    found: dict[str, int] = st.session_state.setdefault("copies", {})
    return found


def day() -> dt.date:
    chosen = st.session_state.get("day_kept")
    return chosen if isinstance(chosen, dt.date) else build().day


def by() -> By:
    found: By = st.session_state.get("by_kept", "full")
    return found


@st.cache_resource(max_entries=64, show_spinner="Measuring and ranking: the first time takes a while")
def _rank(
    root: str, key: str, copies: tuple[tuple[str, int], ...], by_: By, day_: dt.date, _build: Build
) -> Ranking:
    return rank(_build, copies=dict(copies), by=by_, as_of=day_)


def ranking() -> Ranking:
    """The ranking as the inputs stand; missing prices and the like are told, and the page stops."""
    b = build()
    root = folder()
    try:
        return _rank(str(root), repr(signature(root)), tuple(sorted(tried_copies().items())), by(), day(), b)
    except InputError as error:
        tell(error)
        st.stop()


@st.cache_data(max_entries=256, show_spinner=False)
def thumbnail(content_hash: str, _mesh: Any, size_px: int) -> bytes:
    """A part's picture, drawn once for each geometry."""
    from routecost.mesh.rendering.pictures import picture

    return picture(_mesh, size_px=size_px)
