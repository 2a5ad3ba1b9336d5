"""A service's price law from quotes: known laws recovered through the whole way, and rows that put them in force."""

from __future__ import annotations

import datetime as dt
import json
from argparse import Namespace
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from routecost.builds.build import Build, load_build
from routecost.commands.learning_commands import _fit
from routecost.core.errors import InputError
from routecost.costing.estimate import price_plans
from routecost.demo.solids import rounded_block
from routecost.learning.price_law_fit import fit_law
from routecost.learning.quotes_fit import ServiceFit, fit, write_laws
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.mesh_writer import write_mesh
from routecost.reports.json.fit_json import fits_json
from routecost.routes.outsourced_sla import OUTSOURCED_SLA
from routecost.routes.process.operation import Operation
from routecost.routes.process.part import Demands
from routecost.shop.services import QuantityBreak, SlaFinish, SlaService
from routecost.shop.standards import OrderingStandards
from tests.routes.stated import StatedShape
from tests.shop.test_bad_tables import sound_build

A = "sla-service-a"
DAY = dt.date(2026, 3, 1)
TERMS = ("setup", "volume", "area", "box", "height")
LAW = dict(zip(TERMS, (31.0, 2.2, 0.15, 0.07, 0.9), strict=True))
HEADER = "supplier,service,part,copies,price,currency,finish,as_of,valid_until\n"
N = 12


def shapes(n: int = N) -> list[StatedShape]:
    rng = np.random.default_rng(4)
    found = []
    for _ in range(n):
        a, b, c = (float(x) for x in np.sort(rng.uniform(15.0, 120.0, 3)))
        faces = 2.0 * (a * b + a * c + b * c)
        found.append(
            StatedShape(
                extents_mm=(c, b, a),
                volume_mm3=a * b * c * float(rng.uniform(0.15, 0.6)),
                area_mm2=faces * float(rng.uniform(0.8, 1.6)),
            )
        )
    return found


COPIES = (1, 2, 3, 5)
FINISHES = ("as-printed", "sanded", "polished")


def by_hand(
    build: Build, shape: StatedShape, copies: int, grade: str, law: Mapping[str, float]
) -> tuple[float, float]:
    """Price of the law and of shipping, from the shape's numbers and the tables."""
    shop, prices = build.shop(), build.tariff().prices
    finish = next(f for f in shop.all(SlaFinish) if (f.service, f.grade) == (A, grade))
    five = next(b for b in shop.all(QuantityBreak) if b.service == A and b.from_copies == 5)
    service, packing = shop.one(SlaService, A), shop.the(OrderingStandards).packing_share
    low, middle, high = sorted(shape.extents_mm)
    one = {
        "setup": 1.0,
        "volume": shape.volume_mm3 / 1000.0,
        "area": shape.area_mm2 / 100.0,
        "box": low * middle * high / 1000.0,
        "height": low / 10.0,
    }
    share = five.factor if copies == 5 else 1.0
    grams = copies * shape.volume_mm3 / 1000.0 * service.density_g_cm3 * (1.0 + packing)
    shipping = prices.unit_price(f"{A} shipping-order") / service.parts_per_order
    shipping += grams * prices.unit_price(f"{A} shipping-mass")
    return copies * share * finish.price_factor * sum(law[t] * x for t, x in one.items()), shipping


def quoted(
    folder: Path,
    n: int = N,
    law: Mapping[str, float] = LAW,
    noise: float = 0.0,
    seed: int = 0,
    change: Callable[[int, dict[str, str]], None] = lambda i, row: None,
) -> Build:
    """A build with one quote for each of n parts of stated shapes."""
    if not folder.exists():
        sound_build(folder)
        (folder / "build.toml").write_text(f'name = "q"\nown_rate = 10.0\nas_of = {DAY}\n')
    (folder / "parts.csv").write_text("part,mesh\n" + "".join(f"p{i},cube.stl\n" for i in range(n)))
    (folder / "quotes.csv").write_text(HEADER)
    build, rng = load_build(folder), np.random.default_rng(seed)
    lines = []
    for i, shape in enumerate(shapes(n)):
        copies, grade = COPIES[i % 4], FINISHES[i % 3]
        price, shipping = by_hand(build, shape, copies, grade, law)
        row = {
            "supplier": "workshop",
            "service": A,
            "part": f"p{i}",
            "copies": str(copies),
            "price": repr(price * float(np.exp(rng.normal(0.0, noise))) + shipping),
            "currency": "EUR",
            "finish": grade,
            "as_of": f"2026-02-{i + 1:02}",
            "valid_until": "2026-12-31",
        }
        change(i, row)
        lines.append(",".join(row.values()) + "\n")
    (folder / "quotes.csv").write_text(HEADER + "".join(lines))
    return stated(folder, n)


def stated(folder: Path, n: int = N) -> Build:
    """The folder's build, its parts with stated shapes in place of their meshes."""
    build = load_build(folder)
    made = zip(build.read_parts, shapes(n), strict=True)
    return replace(
        build, read_parts=tuple(replace(r, part=replace(r.part, shape=shape)) for r, shape in made)
    )


def found(build: Build, service: str | None = A) -> ServiceFit:
    (one,) = fit(build, service)
    return one


def coefficients(one: ServiceFit) -> dict[str, float]:
    return {c.driver.removeprefix(f"{A} "): c.value for c in one.law.coefficients}


# ---- truths


def test_an_exact_law_comes_back_from_quotes_of_any_copies_and_finish(tmp_path: Path) -> None:
    one = found(quoted(tmp_path / "b"))
    assert coefficients(one) == pytest.approx(LAW, rel=1e-9)
    assert one.law.rms_error < 1e-9
    assert len(one.lines) == N
    assert one.notes == ()
    # without being asked for a service, the one that has quotes
    assert [f.service for f in fit(stated(tmp_path / "b"))] == [A]


def test_a_law_without_some_terms_comes_back_with_zeros(tmp_path: Path) -> None:
    law = {**LAW, "area": 0.0, "height": 0.0}
    assert coefficients(found(quoted(tmp_path / "b", law=law))) == pytest.approx(law, rel=1e-9, abs=1e-9)


def test_ranges_hold_the_true_law_eight_times_in_ten(tmp_path: Path) -> None:
    """The amounts of real quotes, prices that scatter by 4 %."""
    base = found(quoted(tmp_path / "b"))
    drivers = [c.driver for c in base.law.coefficients]
    amounts = np.array([[line.usages[d] for d in drivers] for line in base.lines])
    true = np.array(list(LAW.values()))
    assert amounts @ true == pytest.approx([line.without_shipping for line in base.lines])
    held, seeds = np.zeros(5), 100
    for seed in range(seeds):
        noise = np.exp(np.random.default_rng(seed).normal(0.0, 0.04, N))
        law = fit_law(drivers, amounts, amounts @ true * noise, np.array(base.tabled))
        held += [c.low <= t <= c.high for c, t in zip(law.coefficients, true, strict=True)]
    assert 0.72 <= held.mean() / seeds <= 0.9


# ---- what counts as a quote


def test_shipping_is_taken_off_as_tabled(tmp_path: Path) -> None:
    build = quoted(tmp_path / "b")
    for line, shape in zip(found(build).lines, shapes(), strict=True):
        assert line.shipping == pytest.approx(by_hand(build, shape, line.copies, line.finish, LAW)[1])


def test_another_currency_goes_through_the_exchange_rate(tmp_path: Path) -> None:
    def dear(i: int, row: dict[str, str]) -> None:
        row["currency"], row["price"] = "XTS", repr(4.0 * float(row["price"]))

    folder = tmp_path / "b"
    quoted(folder)
    (folder / "exchange.csv").write_text(
        "currency,worth,in_currency,as_of,source\nXTS,0.25,EUR,2026-01-01,test\n"
    )
    assert coefficients(found(quoted(folder, change=dear))) == pytest.approx(LAW, rel=1e-9)


def test_expired_quotes_count_and_later_ones_do_not(tmp_path: Path) -> None:
    def dated(i: int, row: dict[str, str]) -> None:
        if i < 3:
            row["valid_until"] = "2026-02-20"
        if i >= 9:
            row["as_of"], row["price"] = "2026-04-01", "1.00"

    one = found(quoted(tmp_path / "b", change=dated))
    assert len(one.lines) == 9
    assert coefficients(one) == pytest.approx(LAW, rel=1e-9)


def test_the_newer_of_two_quotes_for_the_same_counts(tmp_path: Path) -> None:
    folder = tmp_path / "b"
    quoted(folder)
    text = (folder / "quotes.csv").read_text()
    old = text.splitlines()[3].split(",")
    old[4], old[7] = "999", "2026-01-01"
    (folder / "quotes.csv").write_text(text + ",".join(old) + "\n")
    one = found(stated(folder))
    assert len(one.lines) == N
    assert coefficients(one) == pytest.approx(LAW, rel=1e-9)


def test_a_quote_at_the_least_charge_is_not_used_and_one_below_it_is(tmp_path: Path) -> None:
    """The minimum charge hides the law: max(minimum, law) = minimum."""
    folder = tmp_path / "b"
    build = quoted(folder)
    least = build.tariff().prices.unit_price(f"{A} minimum-part")

    def at_least(factor: float) -> Callable[[int, dict[str, str]], None]:
        def change(i: int, row: dict[str, str]) -> None:
            if i == 0:
                row["price"] = repr(factor * least + by_hand(build, shapes()[0], 1, "as-printed", LAW)[1])

        return change

    one = found(quoted(folder, change=at_least(1.001)))
    assert [(u.quote, "hides the law" in u.why) for u in one.unused] == [("p0, as-printed, x1", True)]
    assert coefficients(one) == pytest.approx(LAW, rel=1e-9)
    below = found(quoted(folder, change=at_least(0.9)))
    assert not below.unused
    assert "below the minimum charge" in below.notes[0]


def test_what_cannot_be_used_is_told(tmp_path: Path) -> None:
    """A price below shipping; a finish that the service does not sell; a part that is bought."""

    def spoilt(i: int, row: dict[str, str]) -> None:
        row["price"] = "0.50" if i == 0 else row["price"]

    build = quoted(tmp_path / "b", change=spoilt)
    sold = tuple(placed for placed in build.tables.facts["services.csv"] if placed.row.thing != f"{A}-sanded")
    build = replace(build, tables=replace(build.tables, facts={**build.tables.facts, "services.csv": sold}))
    bought = replace(build.read_parts[2], part=replace(build.read_parts[2].part, shape=None))
    build = replace(build, read_parts=(*build.read_parts[:2], bought, *build.read_parts[3:]))
    one = found(build)
    why = {u.quote: u.why for u in one.unused}
    assert "shipping alone" in why.pop("p0, as-printed, x1")
    assert "no mesh" in why.pop("p2, polished, x3")
    assert len(why) == 4
    assert all("does not sell" in text for text in why.values())
    assert coefficients(one) == pytest.approx(LAW, rel=1e-6)


@pytest.mark.parametrize(
    ("service", "n", "words"),
    [
        (A, 4, "4 for sla-service-a"),
        (None, 4, "4 for sla-service-a"),
        ("sla-service-b", 12, "0 for sla-service-b"),
        ("sla-service-c", 12, "unknown service"),
    ],
)
def test_too_few_quotes_give_one_clear_error(service: str | None, n: int, words: str, tmp_path: Path) -> None:
    build = quoted(tmp_path / "b", n=n)
    with pytest.raises(InputError, match=words) as error:
        fit(build, service)
    assert len(error.value.faults) == 1


def test_five_quotes_of_which_one_tells_nothing_are_too_few(tmp_path: Path) -> None:
    def cheap(i: int, row: dict[str, str]) -> None:
        row["price"] = "0.50" if i == 2 else row["price"]

    build = quoted(tmp_path / "b", n=5, change=cheap)
    with pytest.raises(InputError, match=r"4 quotes.*p2, polished, x3: shipping alone"):
        fit(build, A)


# ---- rows in force


def test_a_written_law_prices_the_quoted_parts_as_quoted(tmp_path: Path) -> None:
    """Round trip: quotes, law, rows of prices.csv, and the price of the route by the law."""
    folder = tmp_path / "b"
    build = quoted(folder)
    (folder / "prices.csv").write_text(
        "resource,pack,price,currency,low,high,as_of,supplier,source\n"
        "pla-grey,1 kg,19,EUR,,,2026-01-01,mine,seen"  # no end of line
    )
    text = (folder / "prices.csv").read_bytes()
    (path,) = write_laws(build, fit(build))
    assert path == folder / "prices.csv"
    assert path.read_bytes().startswith(text + b"\n")
    new = stated(folder)
    tariff, shop = new.tariff(), new.shop()
    assert tariff.unit_price("pla-grey") == pytest.approx(0.019)
    for term, price in LAW.items():
        offer = tariff.prices.offer(f"{A} {term}")
        assert offer.unit_price == pytest.approx(price, rel=1e-5)
        assert offer.low <= offer.unit_price <= offer.high
        assert offer.source.startswith("fitted to 12 quotes of 2026-02-01 to 2026-02-12, leave-one-out error")
    for read, line in zip(new.read_parts, found(new).lines, strict=True):
        part = replace(read.part, copies=line.copies, demands=Demands(finish="smooth"))
        plan = next(
            p
            for p in OUTSOURCED_SLA.plans(part, shop)
            if p.chosen["service"] == A and p.chosen["finish"] == line.finish
        )
        of_service = tuple(
            Operation(op.name, tuple(d for d in op.usages if d.resource.startswith(A)), floor=op.floor)
            for op in plan.operations
        )
        full = price_plans((replace(plan, operations=of_service),), tariff, 2.0).full
        assert float(full[0]) == pytest.approx(line.price, rel=1e-4)


def test_nothing_is_written_unasked_and_nothing_twice(tmp_path: Path) -> None:
    folder = tmp_path / "b"
    build = quoted(folder)
    files = {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}
    laws = fit(build)
    assert {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()} == files
    write_laws(build, laws)
    text = (folder / "prices.csv").read_bytes()
    with pytest.raises(InputError, match="same resource, supplier, pack and day"):
        write_laws(build, laws)
    assert (folder / "prices.csv").read_bytes() == text
    # on a later day the newer rows win
    later = stated(folder)
    (one,) = fit(later, A, as_of=DAY + dt.timedelta(30))
    write_laws(later, [one])
    offer = stated(folder).tariff(DAY + dt.timedelta(31)).prices.offer(f"{A} volume")
    assert offer.as_of == DAY + dt.timedelta(30)
    assert one.tabled == pytest.approx(tuple(LAW.values()), rel=1e-5)


def test_an_own_price_beside_the_law_is_told(tmp_path: Path) -> None:
    folder = tmp_path / "b"
    quoted(folder)
    (folder / "prices.csv").write_text(
        "resource,pack,price,currency,as_of,supplier,source\n"
        f"{A} volume,1 cm^3,1.1,EUR,2026-01-01,their list,seen\n"
    )
    (note,) = found(stated(folder)).notes
    assert "their list" in note


def test_five_blocks_through_the_command(tmp_path: Path, capsys) -> None:
    """Real meshes of blocks, whose five quotes any law of five terms fits: that is said."""
    folder = sound_build(tmp_path / "b")
    sides = ((20, 20, 20), (30, 20, 10), (60, 25, 8), (40, 40, 30), (80, 12, 12), (50, 30, 20))
    rows, quotes = "part,mesh\n", HEADER
    for i, (x, y, z) in enumerate(sides):
        write_mesh(Mesh.from_manifold(rounded_block(x, y, z, 2)), folder / "meshes" / f"b{i}.stl")
        rows += f"b{i},b{i}.stl\n"
        price = 40.0 + 2.0 * x * y * z / 1000.0 + z / 10.0
        quotes += f"s,{A},b{i},1,{price:.2f},EUR,as-printed,2026-02-01,2026-03-01\n"
    (folder / "build.toml").write_text(f'name = "q"\nown_rate = 10.0\nas_of = {DAY}\n')
    (folder / "parts.csv").write_text(rows)
    (folder / "quotes.csv").write_text(quotes)
    options = Namespace(build=str(folder), service=A, as_of=None, write=False, force=False, json=True)
    assert _fit(options) == 0
    told = json.loads(capsys.readouterr().out)
    (one,) = told["services"]
    assert told["written"] == []
    assert len(one["quotes"]) == 6
    assert one["leave_one_out_rms"] >= 0.0
    assert {c["resource"] for c in one["coefficients"]} == {f"{A} {t}" for t in TERMS}
    for q in one["quotes"]:
        assert q["fitted"] == pytest.approx(q["price"] - q["shipping"], rel=0.02)
    assert _fit(Namespace(**{**vars(options), "json": False, "write": True})) == 0
    text = capsys.readouterr().out
    assert "leave-one-out error" in text
    assert "appended to" in text
    lines = [line for line in text.splitlines() if not line.startswith((A + " ", "resource,"))]
    assert max(len(line) for line in lines) <= 100
    assert load_build(folder).tariff().prices.offer(f"{A} volume").source.startswith("fitted to 6 quotes")


# ---- quotes that contradict the others


def test_a_price_of_one_copy_is_named_and_left_out(tmp_path: Path) -> None:
    """Typed for one copy instead of five: the law stays exact, and the row is asked about."""

    def for_one(i: int, row: dict[str, str]) -> None:
        row["price"] = repr(float(row["price"]) / 5.0) if i == 7 else row["price"]

    one = found(quoted(tmp_path / "b", change=for_one))
    (suspect,) = one.suspects
    assert (suspect.quote, suspect.row) == ("p7, sanded, x5", 9)
    assert suspect.factor == pytest.approx(0.2, rel=0.15)
    assert "price of one copy" in suspect.what
    assert len(one.lines) == N - 1
    assert coefficients(one) == pytest.approx(LAW, rel=1e-9)


def test_a_law_with_a_suspect_quote_is_written_only_by_force(tmp_path: Path) -> None:
    def tenfold(i: int, row: dict[str, str]) -> None:
        row["price"] = repr(10.0 * float(row["price"])) if i == 2 else row["price"]

    folder = tmp_path / "b"
    laws = fit(build := quoted(folder, change=tenfold))
    with pytest.raises(InputError) as error:
        write_laws(build, laws)
    (fault,) = error.value.faults
    assert (fault.file, fault.where) == ("quotes.csv", "row 4, column price")
    assert "decimal point" in fault.what
    assert "--force" in fault.mend
    assert not (folder / "prices.csv").exists()
    write_laws(build, laws, force=True)
    assert stated(folder).tariff().prices.offer(f"{A} volume").source.startswith("fitted to 11 quotes")
    (told,) = fits_json(laws, [])["services"]
    assert [s["row"] for s in told["suspects"]] == [4]
    assert told["notes"][0].startswith("suspect, left out: quotes.csv, row 4")
    assert told["suspects"][0]["expected"] == pytest.approx(laws[0].suspects[0].expected)
