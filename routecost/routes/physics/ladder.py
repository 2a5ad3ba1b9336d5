"""The abrasive ladder: which grits, in what order, take a surface from one roughness to another.

A paper leaves scratches whose roughness is a share of its grain, so that a step in grain is a step in
roughness. Each stage removes the scratches of the one before; it can only do so within a limited step:

- a paper follows scratches up to `grain_factor` times as rough as its own (about 2 in grain size);
- a compound, whose loose grains roll and break down, spans more: `compound_span` times;
- the first stage meets printed or cast ridges instead of scratches, and is worked until they are gone:
  a paper levels ridges of Rq up to `ridge_share` of its grain.

Where the stock has a gap, the next stage works longer: `Stage.passes` says how many times over.
The numbers are the shop's: `FinishingStandards`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from routecost.routes.physics.domain import above_zero

Kind = Literal["paper", "compound"]

_SLACK = 1.0 + 1e-9  # a step of exactly the factor is allowed, whatever the last digit


@dataclass(frozen=True)
class Grit:
    """A paper or compound in stock, and the roughness (Rq) that it leaves."""

    name: str
    kind: Kind
    grain_um: float
    rq_um: float

    def __post_init__(self) -> None:
        above_zero(f"grain of {self.name}", self.grain_um, "µm")
        above_zero(f"roughness that {self.name} leaves", self.rq_um, "µm")
        if self.kind not in ("paper", "compound"):
            raise ValueError(f"{self.name} is of kind {self.kind!r}; say 'paper' or 'compound'")


@dataclass(frozen=True)
class Stage:
    """One step of the ladder: the surface it meets and the surface it leaves."""

    name: str
    kind: Kind
    grain_um: float
    rq_before_um: float
    rq_after_um: float
    passes: float
    """1, or more where the surface is rougher than the grit should meet: the time goes up with it."""


@dataclass(frozen=True)
class Ladder:
    """Stages in order, and the roughness at their end."""

    stages: tuple[Stage, ...]
    start_rq_um: float
    needed_rq_um: float

    @property
    def rq_um(self) -> float:
        """Roughness at the end of the ladder."""
        return self.stages[-1].rq_after_um if self.stages else self.start_rq_um

    @property
    def reaches(self) -> bool:
        """Whether the end is as fine as needed; with what is in stock it may not be."""
        return self.rq_um <= self.needed_rq_um

    def __str__(self) -> str:
        return " → ".join(stage.name for stage in self.stages) or "nothing to sand"


def plan_ladder(
    start_rq_um: float,
    needed_rq_um: float,
    grits: Sequence[Grit],
    *,
    grain_factor: float,
    ridge_share: float,
    compound_span: float,
) -> Ladder:
    """The fewest stages from one roughness (Rq) to another; the last is no finer than asked for.

    Each stage is the finest that may follow the surface at hand. That is also the shortest way: whatever
    may follow a rough surface may follow a smoother one. Start above 0 (infinite is not a surface), need 0
    or more and infinite allowed: then nothing is done. `grits` in any order. If even the finest leaves too
    much, the ladder goes as far as it can and `reaches` is False.

    >>> stock = [Grit(f"P{p}", "paper", um, 0.02 * um) for p, um in ((400, 35), (800, 21.8), (1500, 12.6))]
    >>> numbers = {"grain_factor": 2.0, "ridge_share": 0.15, "compound_span": 4.5}
    >>> print(plan_ladder(5.0, 0.3, stock, **numbers))
    P400 → P800 → P1500
    >>> plan_ladder(5.0, 0.06, stock, **numbers).reaches
    False
    >>> stock.append(Grit("cutting", "compound", 3, 0.056))
    >>> print(plan_ladder(5.0, 0.06, stock, **numbers))
    P400 → P800 → P1500 → cutting
    """
    above_zero("starting roughness", start_rq_um, "µm")
    if not needed_rq_um >= 0.0:
        raise ValueError(f"needed roughness is {needed_rq_um:g} µm; give 0 µm or more")
    above_zero("ridge share", ridge_share)
    for name, factor in (("grain factor", grain_factor), ("compound span", compound_span)):
        if not 1.0 <= factor < float("inf"):
            raise ValueError(f"{name} is {factor:g}; give 1 or more: a step to a finer surface")

    def takes_um(grit: Grit, ridges: bool) -> float:
        scratches = grit.rq_um * (compound_span if grit.kind == "compound" else grain_factor)
        return max(scratches, ridge_share * grit.grain_um) if ridges and grit.kind == "paper" else scratches

    stages: list[Stage] = []
    rq = start_rq_um
    while rq > needed_rq_um:
        first = not stages
        finer = sorted((g for g in grits if g.rq_um < rq), key=lambda g: (g.rq_um, g.grain_um, g.name))
        if not finer:
            break
        fitting = [g for g in finer if takes_um(g, first) * _SLACK >= rq]
        if fitting:
            enough = [g for g in fitting if g.rq_um <= needed_rq_um]
            chosen = enough[-1] if enough else fitting[0]
        else:
            chosen = max(finer, key=lambda g: takes_um(g, first))
        passes = max(1.0, rq / (takes_um(chosen, first) * _SLACK))
        stages.append(Stage(chosen.name, chosen.kind, chosen.grain_um, rq, chosen.rq_um, passes))
        rq = chosen.rq_um
    return Ladder(tuple(stages), start_rq_um, needed_rq_um)
