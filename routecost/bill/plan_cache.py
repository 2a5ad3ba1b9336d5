"""A part that is planned as before is not planned again: its plans are stored beside the answers about its mesh.

    FOLDER / plans / part / key.json

The key covers all that the plans of the program's own routes rest on: their version, the part with its mesh, and
the shop. Prices are not among it.
"""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from routecost.core.cache.store import read_checked, write_checked
from routecost.core.cache.version import plans_key
from routecost.costing.plan_codec import plans_of_text
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.operation import ProcessPlan
from routecost.routes.process.part import Part
from routecost.shop.shop import Shop

MOST = 4
"""Sets of plans that are stored of one part, such as for other copies: about 150 kB each."""


def read_plans(part: Part, shape: Shape, shop: Shop) -> list[ProcessPlan] | None:
    """The stored plans of a part; None where there are none."""
    if shape.kept.folder is None:
        return None
    try:
        text = read_checked(_file(shape.kept.folder, part, shape, shop))
        return None if text is None else plans_of_text(text)
    except (ValueError, TypeError, LookupError, AttributeError):
        return None  # something else in its place: to be planned anew


def write_plans(part: Part, shape: Shape, shop: Shop, text: str) -> None:
    """Store the plans of a part as `plan_codec` writes them, and drop the oldest ones."""
    if shape.kept.folder is not None:
        file = _file(shape.kept.folder, part, shape, shop)
        write_checked(file, text)
        _drop_oldest_beside(file)


def key_of(part: Part, shape: Shape, shop: Shop) -> str:
    """32 hex digits that change with anything that plans rest on."""
    # fields that are added later are covered, as repr shows all of them
    rests_on = (plans_key(), replace(part, shape=None), shape.content_hash, shop.fingerprint)
    return hashlib.sha256(repr(rests_on).encode()).hexdigest()[:32]


def _file(folder: Path, part: Part, shape: Shape, shop: Shop) -> Path:
    name = hashlib.sha256(part.id.encode()).hexdigest()[:16]
    return folder / "plans" / name / f"{key_of(part, shape, shop)}.json"


def _drop_oldest_beside(file: Path) -> None:
    with suppress(OSError):  # another process may do the same
        others = [other for other in file.parent.glob("*.json") if other != file]
        for other in sorted(others, key=lambda other: -other.stat().st_mtime_ns)[MOST - 1 :]:
            other.unlink()
