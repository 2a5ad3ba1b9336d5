"""All plates of one body on one printer with one filament: hours, starts, grams and clean-up.

Body      what is printed once for each copy, in one pose
PrintRun  its plates; a print fails by the hour, all on the plate is lost, and it starts anew
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from routecost.mesh.geometry.fitting import can_turn_into
from routecost.mesh.measuring.measures import Deposit, Pose
from routecost.routes.physics.attempts import (
    expected_machine_h,
    expected_material_factor,
    expected_restart_starts,
)
from routecost.routes.physics.packing import fit_count
from routecost.routes.printing.motion import PrintSettings, PrintTime, print_time
from routecost.shop.machines import Printer
from routecost.shop.materials import Filament
from routecost.shop.standards import PrintingStandards


@dataclass(frozen=True, eq=False)
class Body:
    """What is printed once for each copy, as often as `number` says."""

    pose: Pose
    deposit: Deposit
    infill_share: float
    what: str = ""
    """Names it in the operations: `shell`, `master`, `piece 2 of 3`; empty for the part itself."""
    number: int = 1
    amount: float = 1.0
    """How much of the measured volumes and paths it is: the cube of an enlargement, or a share of the whole."""
    supports: float = 1.0
    """The same for the pose's support columns and contact."""
    lengths: float = 1.0
    """The same for height and footprint."""
    inner_support_mm3: float = 0.0
    """Columns that stay inside for good: they cost filament and time, but are never removed."""
    unreached_share: float = 0.0
    """Of the support contact: where no finger reaches."""

    @property
    def height_mm(self) -> float:
        return self.pose.height_mm * self.lengths

    @property
    def footprint_mm(self) -> tuple[float, float]:
        short, long = self.pose.footprint_mm
        return short * self.lengths, long * self.lengths

    @property
    def support_columns_mm3(self) -> float:
        """Of one; both those that come off and those that stay."""
        return self.pose.support_volume_mm3 * self.supports + self.inner_support_mm3

    @property
    def contact_cm2(self) -> float:
        """Of one: where supports have to come off."""
        return self.pose.contact_area_mm2 * self.supports / 100.0

    @property
    def slenderness(self) -> float:
        """Height over the short side of the footprint."""
        return self.height_mm / self.footprint_mm[0]


@lru_cache(maxsize=1024)  # every filament asks the same
def copies_on_plate(
    height_mm: float, footprint_mm: tuple[float, float], printer: Printer, gap_mm: float, enough: int
) -> int:
    """How many stand on one plate with a gap between them and to the edge, up to `enough`; 0 if none fits.

    A single one may use the plate to its edge, and lie across it.
    """
    if height_mm > printer.height_mm + 1e-6:  # rounding, no more
        return 0
    short, long = footprint_mm
    width, depth = printer.width_mm - 2.0 * gap_mm, printer.depth_mm - 2.0 * gap_mm
    packed = fit_count(width, depth, short, long, gap_mm, enough) if min(width, depth) > 0 else 0
    if packed:
        return packed
    outline = np.array([[0.0, 0.0], [long, 0.0], [long, short], [0.0, short]])
    return int(can_turn_into(outline, printer.width_mm, printer.depth_mm))


@lru_cache(maxsize=1024)  # filaments that flow alike share their times
def _time(body: Body, settings: PrintSettings, bodies: int) -> PrintTime:
    t = print_time(body.deposit, body.support_columns_mm3, settings, bodies)
    if body.amount == body.lengths == 1.0:
        return t
    return replace(
        t,
        walls_min=t.walls_min * body.amount,
        skins_min=t.skins_min * body.amount,
        infill_min=t.infill_min * body.amount,
        travel_min=t.travel_min * body.amount,
        layer_changes_min=t.layer_changes_min * body.lengths,
        part_mm3=t.part_mm3 * body.amount,
    )


@dataclass(frozen=True)
class PrintJob:
    """Plates that are alike."""

    plates: int
    bodies: int
    """On one of them."""
    hours: float
    """Of one of them, undisturbed."""


@dataclass(frozen=True, eq=False)
class PrintRun:
    """All plates of one body for all copies: full plates, and a last one with what remains.

    A print fails at a constant rate by the hour, all on the plate is lost, and it starts anew.
    """

    body: Body
    printer: Printer
    filament: Filament
    standards: PrintingStandards
    bodies: int
    """To come out well."""
    per_plate: int

    def time(self, bodies: int) -> PrintTime:
        """The undisturbed time of one plate with so many bodies."""
        b, s, p = self.body, self.standards, self.printer
        settings = PrintSettings(
            infill_share=b.infill_share,
            wall_speed_mm_s=p.wall_speed_mm_s,
            skin_speed_mm_s=p.skin_speed_mm_s,
            infill_speed_mm_s=p.infill_speed_mm_s,
            support_speed_mm_s=p.infill_speed_mm_s,
            travel_speed_mm_s=p.travel_speed_mm_s,
            accel_mm_s2=p.accel_mm_s2,
            volumetric_mm3_s=min(p.flow_mm3_s, self.filament.max_flow_mm3_s),
            shortest_layer_s=p.shortest_layer_s,
            layer_change_s=p.layer_change_s,
            warm_up_min=p.warm_up_min,
            support_share=s.support_share,
        )
        return _time(b, settings, bodies)

    @cached_property
    def jobs(self) -> tuple[PrintJob, ...]:
        sizes = ((self.bodies // self.per_plate, self.per_plate), (1, self.bodies % self.per_plate))
        return tuple(PrintJob(n, k, self.time(k).total_min / 60.0) for n, k in sizes if n and k)

    @property
    def most_on_a_plate(self) -> int:
        return min(self.per_plate, self.bodies)

    @property
    def plates(self) -> int:
        return sum(job.plates for job in self.jobs)

    @property
    def undisturbed_h(self) -> float:
        return sum(job.plates * job.hours for job in self.jobs)

    @cached_property
    def machine_h(self) -> float:
        """Expected, failed prints included."""
        rate = self.printer.failure_per_h
        return sum(job.plates * expected_machine_h(job.hours, rate) for job in self.jobs)

    @cached_property
    def starts(self) -> float:
        """Expected."""
        rate = self.printer.failure_per_h
        return sum(job.plates * expected_restart_starts(job.hours, rate) for job in self.jobs)

    @property
    def failures(self) -> float:
        """Expected in the worst single job: beyond a few it is not worth starting."""
        return self.printer.failure_per_h * max(job.hours for job in self.jobs)

    def _grams(self, mm3: float) -> float:
        return mm3 / 1000.0 * self.filament.density_g_cm3

    @property
    def shell_g(self) -> float:
        """Walls and skins of one."""
        d = self.body.deposit
        return self._grams((d.wall_volume_mm3 + d.skin_volume_mm3) * self.body.amount)

    @property
    def infill_g(self) -> float:
        """Of one."""
        return self._grams(self.body.deposit.core_volume_mm3 * self.body.amount * self.body.infill_share)

    @property
    def support_g(self) -> float:
        """Of one."""
        return self._grams(self.body.support_columns_mm3 * self.standards.support_share)

    @property
    def inner_support_g(self) -> float:
        """Of one: what of it stays inside."""
        return self._grams(self.body.inner_support_mm3 * self.standards.support_share)

    @property
    def one_g(self) -> float:
        """Mass of one body as it is when its supports are off."""
        return self.shell_g + self.infill_g + self.inner_support_g

    @cached_property
    def lost_g(self) -> float:
        """Filament in failed prints, expected: it leaves the nozzle for as long as the machine runs."""
        rate, each, purge = self.printer.failure_per_h, self.shell_g + self.infill_g, self.standards.purge_g
        return sum(
            job.plates
            * (job.bodies * (each + self.support_g) + purge)
            * (expected_material_factor(job.hours, rate) - 1.0)
            for job in self.jobs
        )

    @property
    def filament_g(self) -> float:
        """All that leaves the nozzle, expected."""
        laid = self.bodies * (self.shell_g + self.infill_g + self.support_g)
        return laid + self.plates * self.standards.purge_g + self.lost_g

    @property
    def clean_up_min(self) -> float:
        """Hands-on once the plates are done: take off, supports, strings; of all bodies."""
        s = self.standards
        return self.bodies * (s.remove_copy_min + s.clean_up_copy_min + self.support_removal_min)

    @property
    def support_removal_min(self) -> float:
        """Of one: by contact area, slower where no finger reaches."""
        s, hidden = self.standards, self.body.unreached_share
        slower = 1.0 + hidden * (s.support_unreached_factor - 1.0)
        return self.body.contact_cm2 * s.support_min_per_cm2 * slower

    @property
    def amounts(self) -> tuple[float, ...]:
        """All that its draws are proportional to: less of each is cheaper at any prices."""
        return self.filament_g, self.machine_h, self.starts, self.clean_up_min


def strength_share_at(across_layers_share: float, cosine: float) -> float:
    """Strength of a print pulled at an angle to its layers, over its strength along them.

    `cosine` of the angle between load and up. Hankinson's formula for wood across its grain (1921; in timber
    standards since), σ = σ∥ σ⊥ / (σ∥ cos² + σ⊥ sin²): exact at both ends, and below a straight line between.

    >>> strength_share_at(0.5, 1.0), strength_share_at(0.5, 0.0), round(strength_share_at(0.5, 0.5**0.5), 4)
    (0.5, 1.0, 0.6667)
    """
    square = min(1.0, cosine * cosine)
    if across_layers_share <= 0.0:
        return 0.0 if square > 0.0 else 1.0
    return across_layers_share / (square + across_layers_share * (1.0 - square))
