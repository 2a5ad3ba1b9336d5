"""From rows of the parts table to parts: demands, directions, meshes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from routecost.builds.build_tables import PartRow
from routecost.builds.size_check import PartSize
from routecost.core.arrays import Vector
from routecost.core.cache.store import AnswerCache
from routecost.core.errors import Fault, InputError
from routecost.mesh.measuring.shape import Shape
from routecost.mesh.reading.reading_cache import CachedReading, cached_reading
from routecost.routes.process.part import Demands, Part
from routecost.shop.table_reader import Placed

_AXES: dict[str, Vector] = {
    f"{sign}{axis}": (
        (-1.0 if sign == "-" else 1.0) * (axis == "x") + 0.0,
        (-1.0 if sign == "-" else 1.0) * (axis == "y") + 0.0,
        (-1.0 if sign == "-" else 1.0) * (axis == "z") + 0.0,
    )
    for sign in ("", "+", "-")
    for axis in "xyz"
}


@dataclass(frozen=True, eq=False)
class ReadPart:
    """A part and what was found when its mesh was read."""

    part: Part
    reading: CachedReading | None

    @property
    def size(self) -> PartSize | None:
        """None for a part without a mesh."""
        if self.reading is None or self.part.shape is None:
            return None
        notes = self.reading.notes
        return PartSize(
            part=self.part.id,
            extents_mm=self.part.shape.solid.extents_mm,
            unit=notes.unit,
            is_stated=notes.unit_source in ("file", "given"),
        )


def direction(text: str) -> Vector:
    """A direction as a person writes it.

    >>> direction("-z"), direction("0 3 4")
    ((0.0, 0.0, -1.0), (0.0, 0.6, 0.8))
    """
    plain = text.strip().lower()
    if plain in _AXES:
        return _AXES[plain]
    try:
        x, y, z = (float(word) for word in plain.replace(",", " ").split())
    except ValueError:
        raise ValueError(f"{text!r} is not a direction") from None
    length = math.sqrt(x * x + y * y + z * z)
    if not (length > 0.0 and math.isfinite(length)):
        raise ValueError(f"{text!r} has no length")
    return (x / length, y / length, z / length)


def part_of(
    placed: Placed[PartRow],
    folder: Path,
    default_unit: str,
    kept: AnswerCache,
    known_routes: set[str],
    known_resources: set[str],
    faults: list[Fault],
    on_read: Callable[[str], None] | None = None,
) -> ReadPart | None:
    """One part with its mesh read; what is wrong is added to `faults`."""
    row = placed.row
    before = len(faults)
    load_direction = _direction(placed, "load_direction", row.load_direction, faults)
    up = _direction(placed, "up", row.up, faults) if row.up else None
    routes = tuple(row.routes.replace(",", " ").split())
    for route in routes:
        if route not in known_routes:
            mend = "the routes are " + ", ".join(sorted(known_routes))
            faults.append(placed.fault("routes", f"unknown route {route!r}", mend))
    if row.buy and row.buy not in known_resources:
        mend = "declare it in resources.csv and give it a price in prices.csv"
        faults.append(placed.fault("buy", f"unknown resource {row.buy!r}", mend))
    if not row.mesh and not row.buy:
        mend = "name a mesh file, or a resource in the column buy"
        faults.append(placed.fault("mesh", "there is nothing to make and nothing to buy", mend))
    if row.done > row.copies + row.spares:
        what = f"{row.done} are done of {row.copies + row.spares}"
        faults.append(placed.fault("done", what, "count the copies and spares that are done"))
    if row.opaque and row.clarity != "any":
        mend = "keep one of the two columns"
        faults.append(placed.fault("opaque", f"a part cannot be both opaque and {row.clarity}", mend))
    reading = _mesh(placed, folder, default_unit, kept, faults)
    if on_read is not None:
        on_read(row.part)
    if len(faults) > before:
        return None
    assert load_direction is not None
    part = Part(
        id=row.part,
        description=row.description or row.part,
        copies=row.copies + row.spares,
        done=row.done,
        demands=Demands(
            clarity=row.clarity,  # type: ignore[arg-type]
            finish=row.finish,  # type: ignore[arg-type]
            finish_share=row.finish_share,
            load_n=row.load_n,
            load_direction=load_direction,
            holds_liquid=row.holds_liquid,
            service_degc=row.service_degc,
            tolerance_mm=row.tolerance_mm,
            largest_seam_mm=row.largest_seam_mm,
            opaque=row.opaque,
            needed_by=row.needed_by,
        ),
        shape=Shape(reading.source, kept) if reading is not None else None,
        buy=row.buy,
        routes=routes,
        up=up,
    )
    return ReadPart(part, reading)


def _direction(placed: Placed[PartRow], header: str, text: str, faults: list[Fault]) -> Vector | None:
    try:
        return direction(text)
    except ValueError as error:
        faults.append(
            placed.fault(header, str(error), "write an axis such as z or -x, or three numbers: 0 0 1")
        )
        return None


def _mesh(
    placed: Placed[PartRow], folder: Path, default_unit: str, kept: AnswerCache, faults: list[Fault]
) -> CachedReading | None:
    row = placed.row
    if not row.mesh:
        return None
    meshes = folder / "meshes"
    path = meshes / row.mesh
    if not path.resolve().is_relative_to(folder.resolve()):
        faults.append(placed.fault("mesh", f"{row.mesh!r} lies outside the build", "copy it into meshes/"))
        return None
    if not path.exists():
        there = sorted(p.name for p in meshes.iterdir()) if meshes.is_dir() else []
        mend = "in meshes/ there are " + ", ".join(there[:8]) if there else "put it into the folder meshes/"
        faults.append(placed.fault("mesh", f"meshes/{row.mesh} is missing", mend))
        return None
    try:
        return cached_reading(path, kept, unit=row.unit or None, default_unit=default_unit)
    except InputError as error:
        faults += [Fault(f"meshes/{row.mesh}", f.where, f.what, f.mend) for f in error.faults]
        return None
