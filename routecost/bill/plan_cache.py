"""A part that is planned as before is not planned again: its plans are kept beside its measures.

    FOLDER / plans / part / key.json

The key covers all that plans rest on: the sources of the program, the part with its mesh, the shop. Prices are
not among it. Routes of the user's own may rest on anything: they are asked every time.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from routecost.core.cache.store import hash_of_sources, read_checked, write_checked
from routecost.costing.plan_codec import plans_of_text, text_of
from routecost.costing.ranking import plans_of
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.operation import ProcessPlan, Route
from routecost.routes.process.part import Part
from routecost.routes.registry import own_routes
from routecost.shop.shop import Shop

MOST = 4
"""So many sets of plans of a part are kept, such as for other copies: about 150 kB each."""


def planned(part: Part, shop: Shop, routes: Sequence[Route]) -> list[ProcessPlan]:
    """The same as `plans_of`, with the plans of the program's own routes from what is kept."""
    ours = own_routes()
    if part.shape is None or tuple(routes[: len(ours)]) != ours:
        return plans_of(part, shop, routes)
    return [*_planned(part, part.shape, shop), *plans_of(part, shop, routes[len(ours) :])]


def _planned(part: Part, shape: Shape, shop: Shop) -> list[ProcessPlan]:
    # a shape of another class may answer from something else than its mesh
    if shape.kept.folder is None or type(shape) is not Shape:
        return plans_of(part, shop, own_routes())
    name = hashlib.sha256(part.id.encode()).hexdigest()[:16]
    file = shape.kept.folder / "plans" / name / f"{key_of(part, shape, shop)}.json"
    plans = _read(file)
    if plans is None:
        # through the text even when just planned: both runs then see the very same plans
        text = text_of(plans_of(part, shop, own_routes()))
        write_checked(file, text)
        _drop_oldest_beside(file)
        plans = plans_of_text(text)
    return plans


def _read(file: Path) -> list[ProcessPlan] | None:
    try:
        text = read_checked(file)
        return None if text is None else plans_of_text(text)
    except (ValueError, TypeError, LookupError, AttributeError):
        return None  # something else in its place: to be planned anew


def key_of(part: Part, shape: Shape, shop: Shop) -> str:
    """32 hex digits that change with anything that plans rest on."""
    # fields that are added later are covered, as repr shows all of them
    rests_on = (hash_of_sources(), replace(part, shape=None), shape.mesh.content_hash, shop.fingerprint)
    return hashlib.sha256(repr(rests_on).encode()).hexdigest()[:32]


def _drop_oldest_beside(file: Path) -> None:
    with suppress(OSError):  # another process may be at it, too
        others = [other for other in file.parent.glob("*.json") if other != file]
        for other in sorted(others, key=lambda other: -other.stat().st_mtime_ns)[MOST - 1 :]:
            other.unlink()
