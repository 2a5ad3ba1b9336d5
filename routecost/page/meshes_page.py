"""Import of meshes: upload them, state the requirements, and all pages show the new build."""

from __future__ import annotations

import csv
import io
import tempfile
import zipfile
from pathlib import Path

import streamlit as st

from routecost.builds.build import load_build
from routecost.builds.build_tables import PartRow
from routecost.builds.settings import UNITS
from routecost.builds.starter import start_build
from routecost.core.errors import InputError
from routecost.core.files import write_whole
from routecost.mesh.reading.formats import SUFFIXES
from routecost.page import state
from routecost.page.widgets import download
from routecost.shop.schema import columns_of

CHOICES = {c.header: c.choices for c in columns_of(PartRow) if c.choices}


def meshes_page() -> None:
    st.header("Import meshes")
    st.markdown(
        "Upload the meshes of your parts and state how many you need and what they must withstand. All other pages "
        "then show these parts. No data leaves this computer."
    )
    files = st.file_uploader("Meshes", type=[suffix[1:] for suffix in SUFFIXES], accept_multiple_files=True)
    if not files:
        return
    unit = st.selectbox("Unit for files that do not state one", UNITS)
    rows = []
    with st.form("requirements"):
        for file in files:
            part, copies, clarity, finish, load, liquid = st.columns([3, 1, 2, 2, 2, 1])
            name = Path(file.name).name
            part.markdown(f"**{name}**")
            rows.append(
                {
                    "part": Path(name).stem,
                    "mesh": name,
                    "copies": copies.number_input("copies", 1, 100_000, 1, key=f"n {name}"),
                    "clarity": clarity.selectbox("clarity", CHOICES["clarity"], key=f"c {name}"),
                    "finish": finish.selectbox("finish", CHOICES["finish"], key=f"f {name}"),
                    "load": f"{load.number_input('load, N', 0.0, 1e7, 0.0, key=f'l {name}'):g} N",
                    "holds_liquid": "yes" if liquid.checkbox("holds water", key=f"w {name}") else "no",
                }
            )
        ready = st.form_submit_button("Rank routes")
    if ready:
        try:
            root = _write({Path(f.name).name: f.getvalue() for f in files}, rows, unit)
            load_build(root)
        except InputError as error:
            state.show_faults(error)
            return
        state.show_folder(root)
        st.success("All pages now show your parts. Download the folder to keep it.")
    root = Path(st.session_state.get("folder", ""))
    if root.name.startswith("own-parts"):
        download(st, "Download the build folder", "my-build.zip", _zip(root))


def _write(meshes: dict[str, bytes], rows: list[dict[str, object]], unit: str) -> Path:
    root = Path(tempfile.mkdtemp(prefix="own-parts-"))
    for name, data in meshes.items():
        write_whole(root / "meshes" / name, data)
    start_build(root)
    settings = (root / "build.toml").read_text(encoding="utf-8")
    write_whole(root / "build.toml", settings.replace('unit = "mm"', f'unit = "{unit}"', 1))
    text = io.StringIO()
    table = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    table.writeheader()
    table.writerows(rows)
    write_whole(root / "parts.csv", text.getvalue())
    return root


def _zip(root: Path) -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, _size, _time in state.signature(root):
            archive.write(root / name, name)
    return memory.getvalue()
