"""How long a printer moves: rest-to-rest moves, and the time of a whole print from what it lays down.

Every straight move starts and ends at rest, as in a trapezoidal speed profile: speed up at a constant
acceleration, cruise, slow down. Facets of a curve that turn by less than 15° go on as one move.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sqrt
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from routecost.mesh.measuring.measures import Deposit, LayerRun, Moves
from routecost.routes.physics import domain


def rest_to_rest_s(distance_mm: ArrayLike, speed_mm_s: ArrayLike, accel_mm_s2: ArrayLike) -> Any:
    """Time (s) of straight moves from standstill to standstill; arrays broadcast, numbers give a number.

    With room to reach the speed (d >= v²/a) it is d/v + v/a, else 2 √(d/a) with a peak of √(a d).

    >>> float(rest_to_rest_s(100, 50, 500))
    2.1
    """
    d, v, a = (np.asarray(value, dtype=np.float64) for value in (distance_mm, speed_mm_s, accel_mm_s2))
    return np.where(d >= v * v / a, d / v + v / a, 2.0 * np.sqrt(d / a))[()]


def mean_chord_mm(area_mm2: float, perimeter_mm: float) -> float:
    """Mean length of straight lines across a plane figure, over all places and directions: π A / P.

    Cauchy–Crofton; for a figure with dents or holes it is the mean of the pieces of each line.

    >>> round(mean_chord_mm(pi * 25, pi * 10) / 10, 6) == round(pi / 4, 6)
    True
    """
    return pi * area_mm2 / perimeter_mm


@dataclass(frozen=True)
class PrintSettings:
    """How a printer is set for one job."""

    infill_share: float
    """0 leaves the core empty, 1 fills it solid."""
    wall_speed_mm_s: float
    skin_speed_mm_s: float
    infill_speed_mm_s: float
    support_speed_mm_s: float
    travel_speed_mm_s: float
    accel_mm_s2: float
    volumetric_mm3_s: float
    """The hot end melts no faster; speeds give way to it."""
    shortest_layer_s: float
    layer_change_s: float
    warm_up_min: float
    """Heating before, cooling after."""
    support_share: float
    """How densely supports are filled."""

    def __post_init__(self) -> None:
        domain.share("infill share", self.infill_share)
        domain.share("support share", self.support_share)
        for name in ("wall", "skin", "infill", "support", "travel"):
            domain.above_zero(f"{name} speed", getattr(self, f"{name}_speed_mm_s"), "mm/s")
        domain.above_zero("acceleration", self.accel_mm_s2, "mm/s²")
        domain.above_zero("volumetric rate", self.volumetric_mm3_s, "mm³/s")
        domain.not_negative("shortest layer", self.shortest_layer_s, "s")
        domain.not_negative("layer change", self.layer_change_s, "s")
        domain.not_negative("warm-up", self.warm_up_min, "min")


@dataclass(frozen=True)
class PrintTime:
    """The time of one plate and what is laid down on it, all copies together."""

    walls_min: float
    skins_min: float
    infill_min: float
    supports_min: float
    travel_min: float
    """All moves without extruding, those between neighbouring lines of a filling included."""
    layer_changes_min: float
    waiting_min: float
    """What short layers wait so that they can cool."""
    warm_up_min: float
    part_mm3: float
    support_mm3: float

    @property
    def by_kind(self) -> Mapping[str, float]:
        """Minutes by kind, in words."""
        return MappingProxyType(
            {
                "walls": self.walls_min,
                "skins": self.skins_min,
                "infill": self.infill_min,
                "supports": self.supports_min,
                "travel": self.travel_min,
                "layer changes": self.layer_changes_min,
                "waiting for short layers to cool": self.waiting_min,
                "heating and cooling": self.warm_up_min,
            }
        )

    @property
    def total_min(self) -> float:
        return sum(self.by_kind.values())

    @property
    def dominant(self) -> str:
        """The kind that takes the most time."""
        return max(self.by_kind, key=self.by_kind.__getitem__)

    @property
    def deposited_mm3(self) -> float:
        return self.part_mm3 + self.support_mm3


def print_time(
    deposit: Deposit, support_volume_mm3: float, settings: PrintSettings, copies: int = 1
) -> PrintTime:
    """The time of a plate with `copies` of a part, each with its supports, printed layer by layer together.

    Layer changes and warm-up are shared by all copies, and so is waiting: while one copy is laid the others
    cool. Waiting is computed without the time of supports, as only some layers have them.

    How a part lies on the plate is not known, so fillings are taken over all directions. A part whose long
    sides lie along the lines is filled faster: an L of 6 mm thick legs, at 500 mm/s², by 9 % of its time.
    """
    seconds = _Seconds.of(deposit, settings)
    supports_s, to_supports_s, support_mm3 = _supports(support_volume_mm3, deposit, settings)
    # one way to each copy and back to the first, in every layer
    ways = copies if copies > 1 else 0
    way_s = ways * float(rest_to_rest_s(deposit.across_mm, settings.travel_speed_mm_s, settings.accel_mm_s2))
    least_s = settings.shortest_layer_s - settings.layer_change_s - way_s
    waiting_s = sum(
        run.layers * max(0.0, least_s - copies * seconds.of_layer(run, deposit)) for run in deposit.runs
    )
    solid_mm3 = deposit.wall_volume_mm3 + deposit.skin_volume_mm3
    travel_s = copies * (seconds.travels + seconds.to_skins + seconds.to_core + to_supports_s)
    return PrintTime(
        walls_min=copies * seconds.walls / 60,
        skins_min=copies * seconds.skins / 60,
        infill_min=copies * seconds.core / 60,
        supports_min=copies * supports_s / 60,
        travel_min=(travel_s + deposit.layers * way_s) / 60,
        layer_changes_min=deposit.layers * settings.layer_change_s / 60,
        waiting_min=waiting_s / 60,
        warm_up_min=settings.warm_up_min,
        part_mm3=copies * (solid_mm3 + settings.infill_share * deposit.core_volume_mm3),
        support_mm3=copies * support_mm3,
    )


@dataclass(frozen=True)
class _Seconds:
    """Seconds by kind for one copy."""

    walls: float
    skins: float
    core: float
    travels: float
    to_skins: float
    to_core: float

    @classmethod
    def of(cls, deposit: Deposit, settings: PrintSettings) -> _Seconds:
        line_mm2 = deposit.line_mm * deposit.layer_mm
        share, accel = settings.infill_share, settings.accel_mm_s2
        wall_mm = deposit.wall_length_mm
        wall_mm2 = deposit.wall_volume_mm3 / wall_mm if wall_mm > 0 else line_mm2

        def laid(moves: Moves, speed: float, bead_mm2: float) -> float:
            return _time_s(moves, min(speed, settings.volumetric_mm3_s / bead_mm2), accel)

        def to_lines(lines: float, pieces: float, volume_mm3: float, apart: float) -> float:
            piece_mm2 = volume_mm3 / deposit.layer_mm / pieces if pieces > 0 else 0.0
            return _to_lines_s(lines, pieces, piece_mm2, apart, settings)

        return cls(
            walls=laid(deposit.walls, settings.wall_speed_mm_s, wall_mm2),
            skins=laid(deposit.skins, settings.skin_speed_mm_s, line_mm2),
            core=share * laid(deposit.core, settings.infill_speed_mm_s, line_mm2),
            travels=_time_s(deposit.travels, settings.travel_speed_mm_s, accel),
            to_skins=to_lines(
                deposit.skins.number, deposit.skin_pieces, deposit.skin_volume_mm3, deposit.line_mm
            ),
            to_core=to_lines(
                share * deposit.core.number,
                deposit.core_pieces,
                deposit.core_volume_mm3,
                min(deposit.line_mm / share, deposit.across_mm) if share > 0 else 0.0,
            ),
        )

    def of_layer(self, run: LayerRun, deposit: Deposit) -> float:
        """One layer of a run: the time of each kind goes over the layers as its path does."""
        return (
            self.walls * _part(run.wall_mm, deposit.wall_length_mm)
            + (self.skins + self.to_skins) * _part(run.skin_mm, deposit.skin_length_mm)
            + (self.core + self.to_core) * _part(run.core_mm, deposit.core_length_at_full_mm)
            + self.travels * _part(run.travels, deposit.travels.number)
        )


def _part(of: float, whole: float) -> float:
    return of / whole if whole > 0 else 0.0


def _time_s(moves: Moves, speed_mm_s: float, accel_mm_s2: float) -> float:
    times = rest_to_rest_s(np.array(moves.length_mm), speed_mm_s, accel_mm_s2)
    return float(np.dot(times, moves.count)) if moves.count else 0.0


def _to_lines_s(
    lines: float, pieces: float, piece_mm2: float, apart_mm: float, settings: PrintSettings
) -> float:
    """Travel that a filling asks: into each of its pieces, and there from line to line.

    Lines lie `apart_mm` apart. They cut a figure P / (π · apart) times by Cauchy–Crofton, and twice as many
    ends stand on its outline P: from end to end it is π/2 · apart. Into a piece it is half its side, as the
    loops around it end anywhere; where lines are so far apart that most miss it, fewer ways are taken.
    """
    entered = min(pieces, lines)
    ways = np.array([0.5 * sqrt(piece_mm2), 0.5 * pi * apart_mm])
    times = rest_to_rest_s(ways, settings.travel_speed_mm_s, settings.accel_mm_s2)
    return float(times @ [entered, lines - entered])


def _supports(volume_mm3: float, deposit: Deposit, settings: PrintSettings) -> tuple[float, float, float]:
    """Seconds extruding and travelling, and the volume laid down.

    Their figure is not known: they are taken as one square tower as high as the part, whose lines are short
    if there is little to support.
    """
    laid_mm3 = volume_mm3 * settings.support_share
    if laid_mm3 <= 0:
        return 0.0, 0.0, 0.0
    line_mm2 = deposit.line_mm * deposit.layer_mm
    area = volume_mm3 / (deposit.layers * deposit.layer_mm)
    chord = mean_chord_mm(area, 4 * sqrt(area))
    lines = laid_mm3 / line_mm2 / chord
    speed = min(settings.support_speed_mm_s, settings.volumetric_mm3_s / line_mm2)
    laying_s = lines * float(rest_to_rest_s(chord, speed, settings.accel_mm_s2))
    apart = deposit.line_mm / settings.support_share
    return laying_s, _to_lines_s(lines, deposit.layers, area, apart, settings), laid_mm3
