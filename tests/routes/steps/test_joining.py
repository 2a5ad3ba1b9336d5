"""Bonding, sealing and trials: by hand, and what must hold for any joint."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.mesh.geometry.mesh import Mesh
from routecost.mesh.measuring.measures import Fit
from routecost.mesh.measuring.splitting import measure_fit
from routecost.routes.process.operation import OWN_HOUR, Operation
from routecost.routes.process.part import Demands, Part
from routecost.routes.steps.joining import (
    Joint,
    bond_operations,
    bond_reason,
    fill_test,
    proof_load,
    seal_inside,
    seal_operation,
    sealing_coats,
    seam_reason,
    trials,
)
from tests.mesh import shapes
from tests.routes.printing.printed_shape import SEAL, PrintedShape, print_shop
from tests.routes.stated import shipped_shop, shop_with

SHOP = print_shop()
PIECES = Joint(pieces=3, area_mm2=2000.0, seam_mm=500.0)


def part(copies: int = 2, **demands: object) -> Part:
    return Part("dish", "a dish", copies, Demands(**demands), PrintedShape())  # type: ignore[arg-type]


def drawn(*operations: Operation) -> dict[str, float]:
    found: dict[str, float] = {}
    for operation in operations:
        for draw in operation.usages:
            found[draw.resource] = found.get(draw.resource, 0.0) + draw.quantity
    return found


def test_two_copies_in_three_pieces_by_hand() -> None:
    """2 copies x 2 bonds, 40 cm² and 100 cm of seam together."""
    glue, dress = bond_operations(SHOP, 2, PIECES)
    glue_min = 4 * 12 + 40 * 0.3
    assert drawn(glue) == pytest.approx(
        {
            OWN_HOUR: glue_min / 60,
            "pins": 8,
            "adhesive": 40 * 0.05,
            "isopropanol": 40 * 0.1,
            "wipe": 4,
            "tape": 150,
            "gloves": 2 * glue_min / 60,
        }
    )
    assert glue.waiting_min == 2 * 6 * 60  # a pair, then the third piece
    assert glue.runs == 2
    dress_min = 100 * 0.8
    assert drawn(dress) == pytest.approx(
        {
            OWN_HOUR: dress_min / 60,
            "seam-filler": 15,
            # the paper nearest to 82 µm in the stock is P220 of 68 µm; a strip of 2 cm, 300 cm² a sheet
            "paper-p220": 200 / 300,
            "gloves": 2 * dress_min / 60,
            "mask-cartridges": dress_min / 60 / 30,
        }
    )


def test_sealing_by_hand() -> None:
    """Two dishes of 180 cm², half of it inside, two coats."""
    seal = seal_inside(SHOP, part(), SEAL)
    minutes = 180 * 2 * 0.08 + 2 * 5
    assert drawn(seal) == pytest.approx(
        {
            OWN_HOUR: minutes / 60,
            "sealing-epoxy": 180 * 2 * 0.02,
            "brush": 2,
            "mix-cup": 2,
            "wipe": 4,
            "isopropanol": 30,
            "resin-waste": 40,
            "gloves": minutes / 60 * 2,
            "mask-cartridges": minutes / 60 / 30,
        }
    )
    assert seal.waiting_min == 2 * 8 * 60
    assert seal.runs == 2


def test_trials_are_those_the_demands_ask_for() -> None:
    assert trials(SHOP, part()) == ()
    both = trials(SHOP, part(holds_liquid=True, load_n=50.0))
    assert both == (fill_test(SHOP, 2), proof_load(SHOP, part(load_n=50.0)))
    assert [op.hands_on_min for op in both] == pytest.approx([30, 40])
    assert [op.waiting_min for op in both] == [24 * 60, 24 * 60]
    assert "liquid" in both[0].cautions
    assert "proof-load" in both[1].cautions


@given(pieces=st.integers(2, 500))
def test_rounds_double_what_is_bonded(pieces: int) -> None:
    """n rounds bond up to 2^n pieces, and one round fewer would not."""
    rounds = Joint(pieces, 1.0, 1.0).rounds
    assert 2 ** (rounds - 1) < pieces <= 2**rounds


def test_one_piece_has_nothing_to_bond() -> None:
    whole = Joint(1, 0.0, 0.0)
    assert bond_operations(SHOP, 4, whole) == ()
    assert seam_reason(part(), whole) is None
    assert bond_reason(part(load_n=1e9), whole, 50.0, SHOP) is None
    assert whole.rounds == 0


@given(
    copies=st.integers(1, 20),
    pieces=st.integers(2, 20),
    area=st.floats(1, 1e5),
    seam=st.floats(1, 1e4),
    more=st.floats(1, 100),
)
def test_more_to_bond_never_takes_less(
    copies: int, pieces: int, area: float, seam: float, more: float
) -> None:
    base = bond_operations(SHOP, copies, Joint(pieces, area, seam))
    for worse in (
        bond_operations(SHOP, copies + 1, Joint(pieces, area, seam)),
        bond_operations(SHOP, copies, Joint(pieces + 1, area, seam)),
        bond_operations(SHOP, copies, Joint(pieces, area + more, seam)),
        bond_operations(SHOP, copies, Joint(pieces, area, seam + more)),
    ):
        larger = drawn(*worse)
        assert all(q <= larger[r] * (1 + 1e-12) for r, q in drawn(*base).items())
        assert sum(op.waiting_min for op in worse) >= sum(op.waiting_min for op in base)


def test_a_bond_bears_its_share_of_the_strength() -> None:
    """50 MPa x 0.4 / 4 = 5 MPa on a bond of 1000 mm²: 5000 N, no more."""
    assert bond_reason(part(load_n=4999.0), PIECES, 50.0, SHOP).level == "suits"  # type: ignore[union-attr]
    beyond = bond_reason(part(load_n=5001.0), PIECES, 50.0, SHOP)
    assert beyond is not None
    assert beyond.level == "ruled out"
    assert "on a bond of 1000 mm²" in beyond.text
    assert bond_reason(part(load_n=1.0), replace(PIECES, area_mm2=0.0), 50.0, SHOP).level == "ruled out"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("demands", "level"),
    [
        ({}, "changes"),
        ({"clarity": "translucent"}, "changes"),
        ({"clarity": "clear"}, "ruled out"),
        ({"clarity": "optical"}, "ruled out"),
        ({"largest_seam_mm": 0.0}, "ruled out"),
        ({"largest_seam_mm": 499.0}, "ruled out"),
        ({"largest_seam_mm": 501.0}, "changes"),
    ],
)
def test_seams(demands: dict[str, object], level: str) -> None:
    found = seam_reason(part(**demands), PIECES)
    assert found is not None
    assert found.level == level
    assert "500 mm of seam" in found.text


def test_a_joint_takes_its_numbers_from_the_fit() -> None:
    fit = Fit((1.0, 1.0, 1.0), False, (0.0, 0.0, 1.0), 3, 2000.0, 500.0, (), ())
    assert Joint.of(fit) == replace(PIECES, joints=2)
    assert Joint.of(fit).bonds == PIECES.bonds


def split(mesh: Mesh) -> Joint:
    return Joint.of(measure_fit(mesh, (220.0, 220.0, 220.0)))


def test_a_ring_is_bonded_in_two_places_and_a_bar_in_one() -> None:
    """Both in two pieces; the halves of the ring meet twice, in one round of clamping. 2 x 12 min of fitting."""
    ring, bar = split(shapes.tube(140.0, 120.0, 20.0)), split(shapes.box(400.0, 20.0, 20.0))
    assert [(j.pieces, j.bonds, j.rounds) for j in (ring, bar)] == [(2, 2, 1), (2, 1, 1)]
    assert (
        drawn(bond_operations(SHOP, 1, ring)[0])["pins"]
        == 2 * drawn(bond_operations(SHOP, 1, bar)[0])["pins"]
    )
    # half the ring's bonds bear 40 N/mm² x 0.4 / 4 on 20 x 20 mm each, as the bar's one does
    for joint in (ring, bar):
        assert bond_reason(part(load_n=0.99 * 4 * 400), joint, 40.0, SHOP).level == "suits"  # type: ignore[union-attr]
        assert bond_reason(part(load_n=1.01 * 4 * 400), joint, 40.0, SHOP).level == "ruled out"  # type: ignore[union-attr]


def test_bodies_that_lie_apart_are_not_bonded_to_each_other() -> None:
    bar = shapes.box(400.0, 20.0, 20.0)
    two = split(shapes.beside(bar, shapes.moved(bar, (0.0, 60.0, 0.0))))
    assert (two.pieces, two.bonds) == (4, 2)
    short = shapes.box(100.0, 20.0, 20.0)
    loose = split(shapes.beside(short, shapes.moved(short, (400.0, 0.0, 0.0))))
    assert (loose.pieces, loose.bonds, loose.rounds) == (2, 0, 0)
    assert bond_operations(SHOP, 3, loose) == ()
    assert seam_reason(part(), loose) is None


def test_a_shop_without_abrasives_or_coats_still_plans() -> None:
    bare = shop_with(SHOP)
    bare = replace(
        bare, things={k: v for k, v in bare.things.items() if k.__name__ not in ("Abrasive", "Coating")}
    )
    assert sealing_coats(bare) == ()
    _, dress = bond_operations(bare, 1, PIECES)
    assert not any(name.startswith("paper") for name in drawn(dress))


def test_everything_named_is_declared_in_the_shipped_tables() -> None:
    shop = shipped_shop()
    (coat, *_) = sealing_coats(shop)
    steps = (
        *bond_operations(shop, 2, PIECES),
        seal_operation(shop, 2, 100.0, coat, "the seams"),
        *trials(shop, part(holds_liquid=True, load_n=1.0)),
    )
    for op in steps:
        assert set(op.cautions) <= set(shop.cautions)
        for draw in op.usages:
            assert draw.resource == OWN_HOUR or draw.resource in shop.resources
            assert set(draw.facts) <= set(shop.facts)
