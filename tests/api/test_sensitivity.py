"""Prices that move, on whole builds: from tables and a price log to what is printed and written as JSON."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
from pathlib import Path

import pytest
from rich.console import Console

from routecost.api.sensitivity import changes, stale, thresholds
from routecost.bill.rank_bill import rank
from routecost.builds.build import Build, load_build
from routecost.builds.price_entry import add_price_texts
from routecost.core.errors import InputError
from routecost.demo.solids import rounded_block
from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.reading.mesh_writer import write_mesh
from routecost.reports.json.changes_json import changes_json
from routecost.reports.json.thresholds_json import thresholds_json
from routecost.reports.text.changes_text import print_changes
from routecost.reports.text.thresholds_text import print_thresholds

ROUTE = """\
from math import ceil
from routecost.routes.process.operation import Usage, Operation, ProcessPlan, Verdict, own_time
from routecost.shop.standards import CastingStandards

class Cast:
    id, name = "cast", "cast here"
    def plans(self, part, shop):
        s = shop.the(CastingStandards)
        pulls = part.copies / s.yield_opaque
        draws = (
            Usage("mold", ceil(pulls / 10), "ten pulls a mold"),
            Usage("resin", 40 * pulls, "40 g a pull", s.ref("yield_opaque")),
        )
        yield ProcessPlan(self.id, part.id, part.copies, "in molds", (Operation("cast", draws),), Verdict(), 1.0)

class Print:
    id, name = "print", "print here"
    def plans(self, part, shop):
        n = part.copies
        draws = (Usage("wire", 60 * n, "60 g each"), own_time(6 * n, "6 min each"))
        yield ProcessPlan(self.id, part.id, n, "in wire", (Operation("print", draws),), Verdict(), 1.0)

ROUTE = %s()
"""
RESOURCES = """\
resource,description,unit,kind
mold,a mold,each,consumable
resin,resin,g,material
wire,wire,g,material
bolt,a bolt,each,bought
"""
LOG = """\
resource,pack,price,currency,as_of,expires,supplier,source
mold,1 each,20,EUR,2026-02-01,,shop,test
resin,1 kg,30,EUR,2026-02-01,,shop,test
wire,1 kg,20,EUR,2026-02-01,,shop,test
bolt,100 each,9,EUR,2026-02-01,,shop,test
resin,1 kg,60,EUR,2026-05-01,,shop,test
wire,1 kg,24,EUR,2026-04-01,,shop,test
bolt,100 each,11,EUR,2026-04-01,,shop,test
"""


@pytest.fixture
def build(tmp_path: Path) -> Build:
    """Two routes of its own, nothing to measure, and a log of two seasons. A good pull in 0.8."""
    folder = tmp_path / "made"
    folder.mkdir()
    for name in ("Cast", "Print"):
        (folder / f"{name}.py").write_text(ROUTE % name)
    (folder / "build.toml").write_text(
        'name = "made"\nown_rate = 10.0\nas_of = 2026-06-01\n[shop]\nroutes = ["Cast.py", "Print.py"]\n'
    )
    (folder / "resources.csv").write_text(RESOURCES)
    (folder / "prices.csv").write_text(LOG)
    (folder / "standards.csv").write_text(
        "class,thing,property,value,unit,low,high,as_of,source\n"
        "casting,casting,yield_opaque,0.8,,0.7,0.9,2026-01-01,test\n"
    )
    (folder / "parts.csv").write_text("part,copies,buy,routes\nlid,24,bolt,cast print\nbolt,30,bolt,bought\n")
    return load_build(folder)


MARCH, JUNE = dt.date(2026, 3, 1), dt.date(2026, 6, 1)


def test_changes_between_two_days_by_hand(build: Build) -> None:
    """24 lids are 30 pulls: 3 molds and 1200 g of resin, 60 + 36 = 96; printed 28.80 + 24 = 52.80, then
    34.56 + 24 = 58.56. Printing is best on both days: 1440 g x 0.004 = 5.76. Bolts 2.70, then 3.30."""
    c = changes(build, MARCH)
    assert (c.first, c.last) == (MARCH, JUNE)
    lid, bolt = c.parts
    assert (lid.before, lid.after) == (pytest.approx(52.80), pytest.approx(58.56))
    # buying takes own time too, the same on both days
    assert bolt.difference == pytest.approx(0.60)
    assert {s.resource: s.amount for s in c.by_resource} == pytest.approx({"wire": 5.76, "bolt": 0.60})
    assert c.flips == ()
    spent = changes(build, MARCH, by="spend")
    assert (spent.before, spent.after) == (pytest.approx(28.80 + 2.70), pytest.approx(34.56 + 3.30))


def test_a_route_that_flips_and_a_quantity_that_changes(build: Build) -> None:
    """Molds for 2 and wire for 40 a kilogram: casting 6 + 36 = 42, then with resin for 60 a kilogram 78 and
    with a yield of 0.6, 40 pulls: 8 + 96 = 104; printing 57.60 + 24 = 81.60 is best then."""
    row = {"supplier": "shop", "as_of": "2026-02-02"}
    add_price_texts(build.folder, row | {"resource": "mold", "pack": "1 each", "price": "2"})
    add_price_texts(build.folder, row | {"resource": "wire", "pack": "1 kg", "price": "40"})
    add_price_texts(
        build.folder,
        row
        | {"resource": "wire", "pack": "1 kg", "price": "40", "as_of": "2026-04-01", "supplier": "shop b"},
    )
    log = build.folder / "prices.csv"
    log.write_text(log.read_text().replace("wire,1 kg,24,", "wire,1 kg,40,"))
    standards = build.folder / "standards.csv"
    standards.write_text(standards.read_text() + "casting,casting,yield_opaque,0.6,,,,2026-05-15,test\n")
    c = changes(build.folder, MARCH)
    (lid,) = (p for p in c.parts if p.part == "lid")
    assert (lid.before, lid.after) == (pytest.approx(42.0), pytest.approx(81.6))
    assert [(s.resource, s.amount) for s in lid.prices] == [("resin", pytest.approx(36.0))]
    assert lid.quantities == pytest.approx(26.0)
    assert lid.choice == pytest.approx(-22.4)
    assert [p.part for p in c.flips] == ["lid"]
    printed = shown(print_changes, c)
    assert "cast here → print here" in printed
    assert "quantities" in printed


def shown(print_it, found) -> str:
    """What a terminal shows, which must be no wider than 100 columns."""
    out = io.StringIO()
    print_it(found, Console(file=out, width=100), {"cast": "cast here", "print": "print here"})
    assert max(map(len, out.getvalue().splitlines())) <= 100
    return out.getvalue()


def test_what_is_printed_and_written_adds_up(build: Build) -> None:
    c = changes(build, MARCH)
    told = json.loads(json.dumps(changes_json(c)))
    for scope in (told, *told["parts"]):
        terms = sum(s["amount"] for s in scope["prices"]) + scope["quantities"] + scope["choice"]
        assert terms == pytest.approx(scope["after"] - scope["before"], abs=0.005)
        assert scope["difference"] == pytest.approx(terms, abs=0.005)
    text = shown(print_changes, c)
    totals = re.search(r"total +([\d.,]+) +([\d.,]+) +([+\-]?[\d.,]+)", text)
    assert totals is not None
    before, after, difference = (float(x) for x in totals.groups())
    assert after - before == pytest.approx(difference)
    why = text[text.index("Causes") :]
    by_part = [float(x) for x in re.findall(r"^ (?:lid|bolt) .* ([+\-][\d.]+) *$", why, re.M)]
    assert len(by_part) == 2
    assert sum(by_part) == pytest.approx(difference)
    assert float(re.findall(r"all parts +total +([+\-][\d.]+)", why)[0]) == pytest.approx(difference)


def test_days_that_cannot_be_compared(build: Build) -> None:
    for first, last, word in (
        (JUNE, MARCH, "not before"),
        (dt.date(2026, 1, 20), JUNE, "has no price on 2026-01-20"),
        (dt.date(2001, 1, 1), JUNE, "does not reach back to 2001-01-01"),
    ):
        with pytest.raises(InputError, match=word) as caught:
            changes(build, first, last)
        assert len(caught.value.faults) <= 4


def test_thresholds_by_hand(build: Build) -> None:
    """In June 24 lids cost 60 + 72 = 132 cast and 58.56 printed, of which 1440 g of wire and 2.4 h."""
    (lid,) = thresholds(build, "lid").parts
    found = {x.name: x for x in lid.thresholds}
    assert found["wire"].at == pytest.approx((132 - 24) / 1440)
    assert found["own-hour"].at == pytest.approx((132 - 34.56) / 2.4)
    assert found["own-hour"].unit == "EUR/hour"
    # resin: 60 + 1200 p = 58.56 has no solution above nothing; neither has 3 m + 72 = 58.56
    assert set(found) == {"wire", "own-hour"}
    assert [x.name for x in lid.thresholds] == ["wire", "own-hour"]
    march = {x.name: x.at for x in thresholds(build, "lid", as_of=MARCH, replan=False).parts[0].thresholds}
    assert march == pytest.approx(
        {
            "wire": (96 - 24) / 1440,
            "own-hour": (96 - 28.8) / 2.4,
            "mold": (52.8 - 36) / 3,
        }
    )
    spent = thresholds(build, "lid", as_of=MARCH, by="spend").parts[0].thresholds
    assert "own-hour" not in {x.name for x in spent}


def test_the_yield_at_which_casting_becomes_best(build: Build) -> None:
    """Molds for 2, wire for 40, resin for 60 a kilogram: printing 57.60 + 24 = 81.60; casting 2 m + 57.60 / y
    with m molds for 24 / y pulls: 78 at 0.8 with 3 molds, 84.80 at 0.72 with 4, the same between at 0.7619."""
    log = build.folder / "prices.csv"
    log.write_text(log.read_text().replace("1 each,20,", "1 each,2,").replace("1 kg,24,", "1 kg,40,"))
    (lid,) = thresholds(build.folder, "lid").parts
    assert lid.ranked.best is not None
    assert lid.ranked.best.route == "cast"
    (x,) = (x for x in lid.thresholds if x.what == "fact")
    assert (x.name, x.other) == ("casting.yield_opaque", "print")
    # 24 / 0.8 pulls need three molds to the last pull, so any lower yield needs a fourth: 8 + 57.60 / y = 81.60
    assert abs(x.at - 57.6 / 73.6) <= x.within


def test_copies_agree_with_ranking_every_number(build: Build) -> None:
    log = build.folder / "prices.csv"
    log.write_text(log.read_text().replace("1 each,20,", "1 each,9,").replace("1 kg,60,", "1 kg,22,"))
    (lid,) = thresholds(build.folder, "lid", most_copies=90).parts
    assert lid.steps[-1].to_copies == 90
    assert len(lid.steps) > 4
    best = [(n, s.route) for s in lid.steps for n in range(s.from_copies, s.to_copies + 1)]
    again = load_build(build.folder)
    for n, route in best:
        ranked = rank(again, part="lid", copies=n).parts[0].best
        assert ranked is not None
        assert ranked.route == route
    here = {x.at: x.other for x in lid.thresholds if x.what == "copies"}
    below = max(n for n, route in best if n < 24 and route != dict(best)[24])
    above = min(n for n, route in best if n > 24 and route != dict(best)[24])
    assert here == {below: dict(best)[below], above: dict(best)[above]}


def test_thresholds_as_printed_and_written(build: Build) -> None:
    found = thresholds(build)
    text = shown(print_thresholds, found)
    assert "own hourly rate" in text
    assert "wire (1 kg)" in text
    assert "At most one suitable route: bolt" in text
    told = json.loads(json.dumps(thresholds_json(found)))
    lid = told["parts"][0]
    wire = next(x for x in lid["thresholds"] if x["name"] == "wire")
    assert wire["pack_price_at"] == pytest.approx(1000 * (132 - 24) / 1440)
    assert lid["copies_steps"][0]["from_copies"] == 1
    frame = found.frame()
    assert list(frame["name"]) == [x["name"] for p in told["parts"] for x in p["thresholds"]]


def test_old_prices_are_those_that_the_ranking_rests_on(build: Build) -> None:
    found = stale(build, rank(build, as_of=dt.date(2026, 12, 1)))
    # resin of 1 May is 214 days old, wire and bolts of 1 April 244, molds of 1 February 303
    assert [(s.offer.resource, s.age_days) for s in found] == [
        ("mold", 303),
        ("bolt", 244),
        ("wire", 244),
        ("resin", 214),
    ]
    assert "check it" in str(found[0].note)
    assert stale(build, rank(build)) == ()


def test_copies_of_a_measured_part_agree_with_ranking_every_number(tmp_path: Path) -> None:
    """The program's own routes: a few blocks are ordered, more are cast."""
    (tmp_path / "meshes").mkdir()
    write_mesh(Mesh.from_manifold(rounded_block(40, 30, 20, 3)), tmp_path / "meshes" / "block.stl")
    (tmp_path / "build.toml").write_text(
        'name = "block"\nown_rate = 60.0\nas_of = 2026-03-02\n[shop]\nowns = ["printer-220"]\n'
    )
    (tmp_path / "parts.csv").write_text(
        "part,mesh,copies,routes\nblock,block.stl,6,mold-casting outsourced-sla\n"
    )
    build = load_build(tmp_path)
    steps = thresholds(build, most_copies=40).parts[0].steps
    assert (steps[0].from_copies, steps[-1].to_copies) == (1, 40)
    assert [s.route for s in steps] == ["outsourced-sla", "mold-casting"]
    for s in steps:
        for n in range(s.from_copies, s.to_copies + 1):
            best = rank(build, copies=n).parts[0].best
            assert best is not None
            assert best.route == s.route
