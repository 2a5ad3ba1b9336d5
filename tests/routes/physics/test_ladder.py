from functools import partial
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.routes.physics import ladder as ladders
from routecost.routes.physics.ladder import Grit
from routecost.routes.physics.optics import rq_for_haze_um

# FEPA 43 / ISO 6344, read in reprints
MEAN_GRAIN_UM = {
    "P40": 425,
    "P60": 269,
    "P80": 201,
    "P100": 162,
    "P120": 125,
    "P150": 100,
    "P180": 82,
    "P220": 68,
    "P240": 58.5,
    "P280": 52.2,
    "P320": 46.2,
    "P360": 40.5,
    "P400": 35.0,
    "P500": 30.2,
    "P600": 25.8,
    "P800": 21.8,
    "P1000": 18.3,
    "P1200": 15.3,
    "P1500": 12.6,
    "P2000": 10.3,
    "P2500": 8.4,
}
SCRATCH_SHARE = 0.02  # Rq that hand sanding leaves over the grain: 0.012 to 0.035, common practice, no source
# common practice, no source; low and high in standards.csv
plan_ladder = partial(ladders.plan_ladder, grain_factor=2.0, ridge_share=0.15, compound_span=4.5)


def paper(name: str, grain_um: float, scratch_share: float = SCRATCH_SHARE) -> Grit:
    return Grit(name, "paper", grain_um, scratch_share * grain_um)


PAPERS = [paper(name, grain) for name, grain in MEAN_GRAIN_UM.items()]
COMPOUNDS = [Grit("cutting", "compound", 3.0, 0.08), Grit("fine", "compound", 0.8, 0.018)]
STOCK = [*PAPERS, *COMPOUNDS]
CLEAR, OPTICAL = rq_for_haze_um(10), rq_for_haze_um(3)

starts = st.floats(0.01, 60.0)
needs = st.floats(0.0, 30.0)
stocks = st.lists(
    st.builds(
        lambda kind, grain, share: Grit(f"{kind} {grain:g}", kind, grain, grain * share),
        st.sampled_from(["paper", "compound"]),
        st.floats(0.5, 300.0),
        st.floats(0.01, 0.05),
    ),
    max_size=12,
)


@given(starts, needs, stocks)
def test_each_stage_goes_on_from_the_last_and_is_finer(start, need, stock):
    ladder = plan_ladder(start, need, stock)
    rq = start
    for stage in ladder.stages:
        assert stage.rq_before_um == rq > stage.rq_after_um
        assert stage.passes >= 1.0
        rq = stage.rq_after_um
    assert ladder.rq_um == rq
    assert ladder.reaches == (rq <= need)
    # a ladder that falls short has used the finest there is
    if not ladder.reaches:
        assert rq <= min((g.rq_um for g in stock), default=start)
    # no stage is done once the need is met
    assert all(stage.rq_before_um > need for stage in ladder.stages)


@given(starts, needs, needs, stocks)
def test_a_finer_target_never_takes_fewer_stages(start, n1, n2, stock):
    fine, coarse = sorted((n1, n2))
    assert len(plan_ladder(start, fine, stock).stages) >= len(plan_ladder(start, coarse, stock).stages)


@given(starts, starts, needs, stocks)
def test_a_rougher_start_never_takes_fewer_stages(s1, s2, need, stock):
    smooth, rough = sorted((s1, s2))
    assert len(plan_ladder(rough, need, stock).stages) >= len(plan_ladder(smooth, need, stock).stages)


@given(starts, needs, stocks, st.randoms())
def test_the_order_of_the_stock_does_not_matter(start, need, stock, random):
    shuffled = random.sample(stock, len(stock))
    assert plan_ladder(start, need, shuffled) == plan_ladder(start, need, stock)


@given(st.floats(1.0, 60.0), st.floats(0.0, 5.0))
def test_no_step_of_paper_skips_more_than_a_factor_of_two_in_grain(start, need):
    grains = [s.grain_um for s in plan_ladder(start, need, PAPERS).stages]
    assert all(a / b <= 2.0 + 1e-9 for a, b in pairwise(grains))


@given(st.floats(1.0, 60.0), st.floats(0.01, 5.0), st.floats(1.5, 3.0))
def test_no_shorter_ladder_exists(start, need, factor):
    """All ladders of papers by exhaustive search over which grit may follow which."""
    found = plan_ladder(start, need, PAPERS, grain_factor=factor)
    fewest = {rq: 0 for rq in [g.rq_um for g in PAPERS] if rq <= need}
    for grit in sorted(PAPERS, key=lambda g: g.rq_um):
        if grit.rq_um > need:
            follow = [g for g in PAPERS if g.grain_um < grit.grain_um <= factor * g.grain_um * (1 + 1e-9)]
            fewest[grit.rq_um] = 1 + min((fewest[g.rq_um] for g in follow), default=99)
    first = [g for g in PAPERS if g.rq_um < start and max(0.15 * g.grain_um, factor * g.rq_um) >= start]
    best = 1 + min((fewest[g.rq_um] for g in first), default=99)
    if found.reaches and start > need and best < 99:
        assert len(found.stages) == best


def test_where_the_trade_starts():
    # common practice, no source: printed surfaces at P120 to P180, vat photopolymerization at P320 to P400
    shelf = [g for g in PAPERS if g.grain_um <= 125]
    assert plan_ladder(15.0, 0.5, shelf).stages[0].name in {"P120", "P150", "P180"}
    assert plan_ladder(25.0, 0.5, shelf).stages[0].name == "P120"
    assert plan_ladder(25.0, 0.5, shelf).stages[0].passes > 1.0  # rougher than P120 should meet: longer work
    assert plan_ladder(5.0, 0.1, shelf).stages[0].name in {"P320", "P360", "P400"}


@pytest.mark.parametrize("scratch_share", [0.012, SCRATCH_SHARE, 0.035])
@pytest.mark.parametrize("start", [1.0, 5.0, 25.0])
def test_paper_alone_never_makes_a_clear_part(scratch_share, start):
    # two faces, Davies/Bennett form (memory): haze of 10 % needs Rq near 0.04 µm
    papers = [paper(name, grain, scratch_share) for name, grain in MEAN_GRAIN_UM.items()]
    ladder = plan_ladder(start, CLEAR, papers)
    assert not ladder.reaches
    assert ladder.stages[-1].name == "P2500"
    polished = plan_ladder(start, CLEAR, [*papers, *COMPOUNDS])
    assert polished.reaches
    assert polished.stages[-1].kind == "compound"
    # it is the numbers that say so: a paper as fine as a compound would do
    assert plan_ladder(start, CLEAR, [*papers, paper("finer than any", 1.0), paper("between", 3.0)]).reaches


def test_optical_is_polished_too():
    ladder = plan_ladder(25.0, OPTICAL, STOCK)
    assert ladder.reaches
    assert [s.kind for s in ladder.stages[-2:]] == ["compound", "compound"]
    assert all(s.kind == "paper" for s in ladder.stages[:-2])


def test_nothing_to_do():
    assert plan_ladder(0.5, 0.5, STOCK).stages == ()
    assert plan_ladder(5.0, float("inf"), STOCK).reaches
    bare = plan_ladder(5.0, 0.5, [])
    assert bare.stages == ()
    assert not bare.reaches


def test_a_gap_in_the_stock_takes_longer():
    gap = plan_ladder(18.0, 0.21, [paper("P120", 125), paper("P2000", 10.3)])
    assert [s.name for s in gap.stages] == ["P120", "P2000"]
    # scratches of P120 over what P2000 may follow: 125/(2 · 10.3)
    assert gap.stages[1].passes == pytest.approx(125 / 20.6)


def test_bad_input_says_what_to_give():
    with pytest.raises(ValueError, match="starting roughness is 0 µm"):
        plan_ladder(0, 1, STOCK)
    with pytest.raises(ValueError, match="needed roughness is -1 µm"):
        plan_ladder(5, -1, STOCK)
    with pytest.raises(ValueError, match=r"grain factor is 0\.5; give 1 or more"):
        plan_ladder(5, 1, STOCK, grain_factor=0.5)
    with pytest.raises(ValueError, match="say 'paper' or 'compound'"):
        Grit("cloth", "cloth", 3, 1)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="grain of P1 is 0 µm"):
        paper("P1", 0)
