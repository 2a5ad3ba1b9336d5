"""Cached plans are those of planning anew, whatever was changed; and prices change none of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import pytest

from routecost.bill import plan_cache, plan_parts
from routecost.bill.plan_cache import MOST, key_of
from routecost.core.cache.store import AnswerCache, write_checked
from routecost.costing.ranking import plans_of
from routecost.mesh.measuring.shape import Shape
from routecost.routes.process.operation import Operation, ProcessPlan, Route, Verdict, own_time
from routecost.routes.process.part import Demands, Part, Quote
from routecost.routes.registry import own_routes
from routecost.shop.materials import Filament
from routecost.shop.shop import Shop
from tests.costing.test_plan_codec import seen
from tests.mesh.shapes import box
from tests.routes.stated import StatedShape, shipped_shop

BLOCK = box(30.0, 20.0, 10.0)
QUOTE = Quote("K", "", "as-printed", 2, "block at K", 9.0)


@pytest.fixture(scope="module")
def measures(tmp_path_factory: pytest.TempPathFactory) -> AnswerCache:
    """What planning the block asks, measured once."""
    kept = AnswerCache.in_folder(tmp_path_factory.mktemp("measures"))
    plans_of(part(kept), shipped_shop(), own_routes())
    return kept


def part(kept: AnswerCache, **other: Any) -> Part:
    return Part("block", "a block", **({"copies": 2, "shape": Shape(BLOCK, kept)} | other))


def in_folder(folder: Path, measures: AnswerCache) -> AnswerCache:
    """An empty folder for plans, with the measures in memory."""
    return AnswerCache(folder, measures._plain)


def files(folder: Path) -> list[Path]:
    return sorted((folder / "plans").rglob("*.json"))


def planned(one: Part, shop: Shop, routes: tuple[Route, ...]) -> list[ProcessPlan]:
    (plans,) = plan_parts.plan_parts([one], shop, routes)
    return plans


@pytest.fixture
def no_planning(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    def refuse(_part: Part, _shop: Shop, routes: tuple[object, ...]) -> list[ProcessPlan]:
        assert not routes, "planned again"
        return []

    return lambda: monkeypatch.setattr(plan_parts, "plans_of", refuse)


def test_the_second_time_gives_the_plans_of_the_first_without_planning(
    tmp_path: Path, measures: AnswerCache, no_planning: Callable[[], None]
) -> None:
    one, shop = part(in_folder(tmp_path, measures)), shipped_shop()
    anew = plans_of(one, shop, own_routes())
    first = planned(one, shop, own_routes())
    no_planning()
    second = planned(part(in_folder(tmp_path, measures)), shop, own_routes())
    assert list(map(seen, first)) == list(map(seen, second)) == list(map(seen, anew))
    assert len(anew) > 20


DEMANDS = {
    "clarity": "clear",
    "finish": "smooth",
    "finish_share": 0.5,
    "load_n": 10.0,
    "load_direction": (1.0, 0.0, 0.0),
    "holds_liquid": True,
    "service_degc": 26.0,
    "tolerance_mm": 0.5,
    "largest_seam_mm": 0.0,
    "opaque": True,
    "needed_by": dt.date(2026, 5, 1),
}
PART = {
    "id": "brick",
    "description": "a brick",
    "copies": 3,
    "demands": Demands(load_n=1.0),
    "shape": Shape(box(30.0, 20.0, 10.000001), AnswerCache.in_memory()),
    "buy": "m4-screw",
    "routes": ("fdm",),
    "up": (0.0, 0.0, 1.0),
    "quotes": (QUOTE,),
    "done": 1,
}
OF_QUOTE = {
    "supplier": "L",
    "service": "sla-service-a",
    "finish": "polished",
    "copies": 3,
    "resource": "block at L",
    "lead_days": 9.5,
}


def test_whatever_is_changed_of_a_part_changes_the_key(tmp_path: Path) -> None:
    assert DEMANDS.keys() == {f.name for f in fields(Demands)}
    assert PART.keys() == {f.name for f in fields(Part)}
    assert OF_QUOTE.keys() == {f.name for f in fields(Quote)}
    plain, shop = part(AnswerCache.in_folder(tmp_path)), shipped_shop()
    parts = [plain, *(replace(plain, **{name: value}) for name, value in PART.items())]  # type: ignore[arg-type]
    parts += [replace(plain, demands=replace(Demands(), **{k: v})) for k, v in DEMANDS.items()]  # type: ignore[arg-type]
    parts += [replace(plain, quotes=(replace(QUOTE, **{k: v}),)) for k, v in OF_QUOTE.items()]  # type: ignore[arg-type]
    keys = {key_of(p, p.shape, shop) for p in parts if p.shape is not None}
    assert len(keys) == len(parts)
    # and the folder in which it is kept does not
    assert key_of(plain, Shape(BLOCK, AnswerCache.in_memory()), shop) in keys


def test_whatever_is_changed_of_the_shop_changes_its_fingerprint() -> None:
    shop = shipped_shop()
    ref, fact = next(iter(shop.facts.items()))
    name, resource = next(iter(shop.resources.items()))
    caution, row = next(iter(shop.cautions.items()))
    filaments = shop.all(Filament)
    changed = {
        "day": shop.day - dt.timedelta(1),
        "things": {**shop.things, Filament: (replace(filaments[0], id="mine"), *filaments[1:])},
        "facts": {**shop.facts, ref: replace(fact, low=-1.0)},
        "resources": {**shop.resources, name: replace(resource, density_g_ml=3.0)},
        "cautions": {**shop.cautions, caution: replace(row, text="mind")},
        "owned": frozenset({"printer-220"}),
    }
    assert changed.keys() == {f.name for f in fields(Shop)}
    shops = [shop, *(replace(shop, **{k: v}) for k, v in changed.items())]  # type: ignore[arg-type]
    # the order of things is the order of alternatives
    shops.append(replace(shop, things={**shop.things, Filament: filaments[::-1]}))
    shops += [
        shop.with_values({ref: f.value * 1.01})
        for ref, f in [*shop.facts.items()][:3]
        if isinstance(f.value, float)
    ]
    assert len({s.fingerprint for s in shops}) == len(shops)
    assert replace(shop).fingerprint == shop.fingerprint


def test_a_fingerprint_is_the_same_in_every_process() -> None:
    """Sets of words come in another order in every process."""
    import subprocess
    import sys

    code = (
        "from tests.routes.stated import shipped_shop\n"
        "print(shipped_shop().with_owned(frozenset('abcdefgh')).fingerprint)"
    )
    runs = [subprocess.run([sys.executable, "-c", code], capture_output=True, check=True) for _ in range(2)]
    mine = shipped_shop().with_owned(frozenset("abcdefgh")).fingerprint
    assert {run.stdout.decode().strip() for run in runs} == {mine}


def test_another_version_plans_anew(
    tmp_path: Path, measures: AnswerCache, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, shop = part(in_folder(tmp_path, measures)), shipped_shop()
    planned(one, shop, own_routes())
    monkeypatch.setattr(plan_cache, "plans_key", lambda: "of a later version")
    monkeypatch.setattr(plan_parts, "plans_of", lambda *_: [])
    assert planned(one, shop, own_routes()) == []
    monkeypatch.undo()
    assert planned(one, shop, own_routes()) == plans_of(one, shop, own_routes())


class Whim:
    """A route that hangs on what nobody can see."""

    id, name = "whim", "as it comes"
    asked = 0

    def plans(self, part: Part, shop: Shop) -> list[ProcessPlan]:
        self.asked += 1
        step = Operation("do", (own_time(self.asked, "by whim"),))
        return [ProcessPlan(self.id, part.id, part.copies, "", (step,), Verdict(), 0.0)]


def test_routes_of_others_are_asked_every_time(
    tmp_path: Path, measures: AnswerCache, no_planning: Callable[[], None]
) -> None:
    one, shop, whim = part(in_folder(tmp_path, measures)), shipped_shop(), Whim()
    ours = planned(one, shop, own_routes())
    found = [planned(one, shop, (*own_routes(), whim)) for _ in range(2)]
    assert [plans[:-1] for plans in found] == [ours, ours]
    assert [plans[-1].operations[0].hands_on_min for plans in found] == pytest.approx([1.0, 2.0])
    assert [p.route for p in planned(one, shop, (whim,))] == ["whim"]
    assert planned(one, shop, (whim, *own_routes()))[0].route == "whim"


def test_damage_and_foreign_files_are_planned_anew(tmp_path: Path, measures: AnswerCache) -> None:
    one, shop = replace(part(in_folder(tmp_path, measures)), routes=("outsourced-sla",)), shipped_shop()
    sound = planned(one, shop, own_routes())
    assert sound
    (file,) = files(tmp_path)
    data = file.read_bytes()
    spots = range(0, len(data), len(data) // 20)
    for damaged in (
        b"",
        b"\xff",
        data[:-1],
        *(data[:i] + bytes([data[i] ^ 1]) + data[i + 1 :] for i in spots),
    ):
        file.write_bytes(damaged)
        assert planned(one, shop, own_routes()) == sound
        assert file.read_bytes() == data  # and kept again
    for foreign in ("", "null", "[]", "{}", '{"Usage":{}}', '{"Usage":[1]}', "1e999", '"text"'):
        write_checked(file, foreign)
        assert planned(one, shop, own_routes()) == sound
        assert file.read_bytes() == data
    file.unlink()
    file.mkdir()
    assert planned(one, shop, own_routes()) == sound


def test_only_a_few_sets_of_plans_are_kept(
    tmp_path: Path, measures: AnswerCache, no_planning: Callable[[], None]
) -> None:
    kept, shop = in_folder(tmp_path, measures), shipped_shop()
    parts = [replace(part(kept, copies=n), routes=("outsourced-sla",)) for n in range(1, 2 * MOST)]
    for one in parts:
        planned(one, shop, own_routes())
        assert len(files(tmp_path)) <= MOST
    planned(replace(parts[0], id="another"), shop, own_routes())
    no_planning()
    for one in parts[-MOST:]:
        assert planned(one, shop, own_routes())


def test_where_nothing_can_be_kept_plans_are_made(tmp_path: Path, measures: AnswerCache) -> None:
    (tmp_path / "file").write_text("in the way")
    shop, ours = shipped_shop(), own_routes()
    for kept in (in_folder(tmp_path / "file" / "below", measures), AnswerCache(None, measures._plain)):
        one = part(kept)
        assert planned(one, shop, ours) == plans_of(one, shop, ours)
    bought = Part("screw", "a screw", 3, buy="m4-screw")
    assert planned(bought, shop, ours) == plans_of(bought, shop, ours)


def test_a_shape_that_states_its_answers_keeps_no_plans(tmp_path: Path) -> None:
    stated = part(
        AnswerCache.in_memory(),
        shape=StatedShape(kept=AnswerCache.in_folder(tmp_path)),
        routes=("outsourced-sla",),
    )
    assert planned(stated, shipped_shop(), own_routes())
    assert not files(tmp_path)
