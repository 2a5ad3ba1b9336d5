"""A new build: a commented starter, or a parts table made from a folder of meshes."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

from routecost.core.errors import InputError
from routecost.core.files import write_whole
from routecost.mesh.reading.formats import SUFFIXES

BUILD_TOML = """\
# Settings of the whole build. Text after # is a comment.
name = "{name}"
currency = "EUR"        # ISO 4217 code; rows in other currencies go through exchange.csv
unit = "mm"             # unit for meshes whose file and row state none
own_rate = 18.0         # value of an hour of your own time, in the currency
hours_a_day = 2.0       # hours of your own work on a working day
# work_from = "18:00"   # when daily work starts
# days_off = "sunday 2026-12-24/2027-01-02"   # weekdays, dates and date ranges without work
# budget = 400.0        # maximum outlay
# as_of = 2026-03-31    # date of the prices; default today

[shop]
# machines and vessels that you own; add others in machines.csv (see `routecost tables machines.csv`)
owns = ["printer-220"]
# routes = ["my_route.py"]   # routes of your own
"""

PARTS_HEADER = "part,description,mesh,copies,clarity,finish,load,holds_liquid,largest_seam,buy,note\n"
PARTS_STARTER = """\
# One row per part. `routecost tables parts.csv` explains these columns and lists more.
# Remove the # from the examples, or add your own rows below; meshes belong in the folder meshes/.
"""
PARTS_EXAMPLES = """\
# lid,clear lid,lid.stl,2,clear,polished,,no,0 mm,,no visible seam
# foot,load-bearing foot,foot.stl,4,any,as-made,200 N,no,,,
# screw,M4 screw,,24,any,as-made,,no,,m4-screw,needs a row in resources.csv and prices.csv
"""
PRICES = """\
# Your own prices, one row for each; never delete old ones. From the first one of a resource on, they replace its
# example prices. `routecost tables prices.csv` explains the columns.
resource,pack,price,currency,low,high,as_of,expires,supplier,source
"""


def start_build(folder: Path, meshes: Path | None = None) -> list[Path]:
    """Create a build in a folder that holds none, and return the files written.

    Meshes in `folder` itself, in its meshes/, or in the folder `meshes` are listed in the parts table.
    Raises InputError where something would be overwritten.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError.of(str(folder), "", "is a file, not a folder", "name a folder")
    for name in ("build.toml", "parts.csv", "parts.xlsx"):
        if (folder / name).exists():
            what = f"already holds a {name}"
            raise InputError.of(str(folder), "", what, "name another folder; nothing was changed")
    if meshes is not None and not meshes.is_dir():
        raise InputError.of(str(meshes), "", "is not a folder", "name a folder of meshes")
    sources = _meshes_in(meshes) if meshes is not None else _meshes_in(folder)
    if meshes is not None and not sources:
        suffixes = ", ".join(SUFFIXES)
        raise InputError.of(str(meshes), "", "no meshes in this folder", f"supported are {suffixes}")
    try:
        target = folder / "meshes"
        target.mkdir(parents=True, exist_ok=True)
        for source in sources:
            if not (target / source.name).exists():
                shutil.copyfile(source, target / source.name)
        rows = "".join(_part_rows(_meshes_in(target)))
        written = {
            folder / "build.toml": BUILD_TOML.format(name=_plain(folder.resolve().name)),
            folder / "parts.csv": PARTS_STARTER + PARTS_HEADER + (rows or PARTS_EXAMPLES),
        }
        if not (folder / "prices.csv").exists():
            written[folder / "prices.csv"] = PRICES
        for path, text in written.items():
            write_whole(path, text)
    except OSError as error:
        where = str(error.filename or folder)
        raise InputError.of(
            where, "", f"cannot be written ({error.strerror})", "choose another folder"
        ) from None
    return list(written)


def _meshes_in(folder: Path) -> list[Path]:
    places = [folder, folder / "meshes"] if (folder / "meshes").is_dir() else [folder]
    found = [p for place in places if place.is_dir() for p in place.iterdir() if p.suffix.lower() in SUFFIXES]
    return sorted(found, key=lambda p: p.name)


def _part_rows(meshes: list[Path]) -> list[str]:
    rows, seen = [], set[str]()
    for mesh in meshes:
        part = re.sub(r"[^a-z0-9]+", "-", mesh.stem.lower()).strip("-") or "part"
        while part in seen:
            part += "-2"
        seen.add(part)
        name = f'"{mesh.name}"' if "," in mesh.name else mesh.name
        rows.append(f"{part},{part.replace('-', ' ')},{name},1,any,as-made,,no,,,\n")
    return rows


def _plain(text: str) -> str:
    return text.replace("\\", " ").replace('"', "'")
