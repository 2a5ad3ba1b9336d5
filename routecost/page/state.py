"""What the pages share: the current build, the date, the figure to rank by, and changed numbers of copies."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import Any

import streamlit as st

from routecost.bill.rank_bill import rank
from routecost.builds.build import CACHE_FOLDER, Build, load_build
from routecost.core.cache.store import user_folder
from routecost.core.errors import InputError
from routecost.costing.ranking import Ranking
from routecost.costing.views import By
from routecost.demo.demo_build import write_demo
from routecost.mesh.rendering.pictures import picture


def folder() -> Path:
    """Folder of the current build: uploaded in this session, or named on the command line, or the demo."""
    if "folder" not in st.session_state:
        named = sys.argv[1] if len(sys.argv) > 1 else None
        st.session_state["folder"] = str(named or _demo())
    return Path(st.session_state["folder"])


def _demo() -> Path:
    home = user_folder() / "demo" / "ant-habitat"
    write_demo(home)
    return home


def show_folder(path: Path) -> None:
    """Show another build on all pages."""
    st.session_state["folder"] = str(path)
    st.session_state["copies"] = {}


def signature(root: Path) -> tuple[tuple[str, int, int], ...]:
    """Names, sizes and times of a build's files: when they change, the build is read again."""
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
    """The current build. Where it has faults, the page lists all of them and stops."""
    root = folder()
    sign = signature(root)
    try:
        return _load(str(root), sign, repr(sign))
    except InputError as error:
        show_faults(error)
        st.stop()


def route_names() -> dict[str, str]:
    """By id, those of the user's own included."""
    return {route.id: route.name for route in build().routes}


def show_faults(error: InputError) -> None:
    """Every fault with its place and how to fix it."""
    for fault in error.faults:
        where = f"{fault.file}, {fault.where}" if fault.where else fault.file
        st.error(f"**{where}**: {fault.what}" + (f". To fix it: {fault.mend}." if fault.mend else "."))


def copies_changed() -> dict[str, int]:
    """Numbers of copies that replace those of the parts table in this session."""
    found: dict[str, int] = st.session_state.setdefault("copies", {})
    return found


def day() -> dt.date:
    chosen = st.session_state.get("day")
    return chosen if isinstance(chosen, dt.date) else build().day


def by() -> By:
    found: By = st.session_state.get("by", "full")
    return found


@st.cache_resource(max_entries=64, show_spinner="Measuring and ranking: this takes longer the first time")
def _rank(
    root: str, key: str, copies: tuple[tuple[str, int], ...], by_: By, day_: dt.date, _build: Build
) -> Ranking:
    return rank(_build, copies=dict(copies), by=by_, as_of=day_)


def ranking() -> Ranking:
    """The ranking for the current inputs. Where prices are missing, the page lists the faults and stops."""
    b = build()
    root = folder()
    try:
        return _rank(
            str(root), repr(signature(root)), tuple(sorted(copies_changed().items())), by(), day(), b
        )
    except InputError as error:
        show_faults(error)
        st.stop()


@st.cache_data(max_entries=256, show_spinner=False)
def thumbnail(content_hash: str, _mesh: Any, size_px: int) -> bytes:
    """A part's picture, rendered once for each geometry."""
    return picture(_mesh, size_px=size_px)
