"""Pieces become one part, hold water and carry a load: bonding, sealing and testing, for every route."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log2

from routecost.mesh.measuring.measures import Fit
from routecost.routes.physics.strength import allowable_mpa, stress_mpa
from routecost.routes.process.operation import Level, Operation, Reason, Usage, timed, used
from routecost.routes.process.part import Part
from routecost.routes.steps.running import batch_usages, protection
from routecost.shop.facts import Factor
from routecost.shop.materials import Abrasive, Coating
from routecost.shop.shop import Shop
from routecost.shop.standards import JoiningStandards, PrintingStandards


@dataclass(frozen=True)
class Joint:
    """How the pieces of one copy meet.

    >>> Joint(pieces=3, area_mm2=2000.0, seam_mm=400.0).rounds
    2
    """

    pieces: int
    area_mm2: float
    """All bonds together."""
    seam_mm: float
    joints: int | None = None
    """Bonds, where they are not one fewer than the pieces: a ring cut in half has two."""

    @classmethod
    def of(cls, fit: Fit) -> Joint:
        """Solid pieces: they meet on the whole section."""
        return cls(fit.pieces, fit.bond_area_mm2, fit.seam_mm, fit.joints)

    @property
    def bonds(self) -> int:
        return self.pieces - 1 if self.joints is None else self.joints

    @property
    def rounds(self) -> int:
        """Waits in clamps: pieces are bonded two and two, then pair to pair."""
        # of separate bodies, no more pieces hang together than the bonds can hold; a ring's last bond closes it
        return ceil(log2(min(self.pieces, self.bonds + 1)))


def bond_operations(shop: Shop, copies: int, joint: Joint) -> tuple[Operation, ...]:
    """Pin, glue and clamp the pieces of all copies, then fill and dress the seams; nothing for one piece."""
    if joint.bonds < 1:
        return ()
    s = shop.the(JoiningStandards)
    bonds = (copies * joint.bonds, "bonds")
    area = (copies * joint.area_mm2 / 100, "cm² of bonds")
    seam = (copies * joint.seam_mm / 10, "cm of seam")
    fit, spread = timed(bonds, s.rate("fit_bond_min")), timed(area, s.rate("bond_min_per_cm2"))
    glue = Operation(
        "pin, glue and clamp the pieces",
        (
            fit,
            spread,
            used("pins", bonds, s.rate("pins_per_bond", "pins")),
            used("adhesive", area, s.rate("adhesive_g_per_cm2")),
            used("isopropanol", area, s.rate("degrease_g_per_cm2", "on both faces")),
            used("wipe", bonds),
            used("tape", seam, s.rate("tape_per_seam")),
            *protection(shop, fit, spread),
        ),
        waiting_min=joint.rounds * s.clamp_h * 60,
        runs=max(1, joint.rounds),
        cautions=("sensitiser", "solvent"),
        note=f"{joint.rounds} rounds in clamps, {s.clamp_h:g} h each; all copies side by side",
        unbroken=True,
    )
    work = timed(seam, s.rate("seam_min_per_cm"))
    dress = Operation(
        "fill and dress the seams",
        (
            work,
            used("seam-filler", seam, s.rate("filler_g_per_cm")),
            *_dressing_paper(shop, seam),
            *protection(shop, work, vapour=True),
        ),
        waiting_min=s.filler_set_h * 60,
        cautions=("dust", "solvent"),
    )
    return glue, dress


def _dressing_paper(shop: Shop, seam: tuple[float, str]) -> tuple[Usage, ...]:
    s = shop.the(JoiningStandards)
    paper = paper_near(shop, s.seam_grain_um)
    return (strip_of_paper(paper, seam, s.rate("seam_strip_mm", "wide")),) if paper else ()


def paper_near(shop: Shop, grain_um: float) -> Abrasive | None:
    """The paper whose grain is nearest; None where the tables have no paper."""
    papers = [a for a in shop.all(Abrasive) if a.kind == "paper"]
    return min(papers, key=lambda a: abs(a.grain_um - grain_um), default=None)


def strip_of_paper(paper: Abrasive, length_cm: tuple[float, str] | Factor, width_mm: Factor) -> Usage:
    """Paper that dresses a strip along an edge."""
    mm_a_cm = Factor(10.0, "10 mm a cm", divides=True)
    return used(paper.id, length_cm, width_mm, mm_a_cm, paper.rate("life_cm2", "a sheet"))


def bond_reason(part: Part, joint: Joint, strength_mpa: float, shop: Shop) -> Reason | None:
    """The load on one bond: the whole load passes through each, and the mean bond has to stand it."""
    if joint.bonds < 1 or part.demands.load_n <= 0.0:
        return None
    if joint.area_mm2 <= 0.0:
        return Reason("ruled out", f"carries {part.demands.load_n:g} N over bonds that have no area")
    s, safety = shop.the(JoiningStandards), shop.the(PrintingStandards).safety_factor
    one = joint.area_mm2 / joint.bonds
    stress = stress_mpa(part.demands.load_n, one)
    may = allowable_mpa(strength_mpa, s.bond_strength_share, safety)
    level: Level = "suits" if stress <= may else "ruled out"
    text = (
        f"{part.demands.load_n:g} N on a bond of {one:.0f} mm² is {stress:.2g} MPa; it may bear {may:.2g} MPa"
    )
    return Reason(level, text)


def seam_reason(part: Part, joint: Joint) -> Reason | None:
    """Whether a part may be split at all; None for a part in one piece."""
    if joint.bonds < 1:
        return None
    d, seam = part.demands, f"{joint.seam_mm:.0f} mm of seam"
    if d.clarity in ("clear", "optical"):
        return Reason("ruled out", f"a {d.clarity} part cannot hide {seam} in {joint.pieces} pieces")
    if d.largest_seam_mm is not None and joint.seam_mm > d.largest_seam_mm:
        allowed = f"at most {d.largest_seam_mm:g} mm" if d.largest_seam_mm > 0 else "no seam"
        return Reason("ruled out", f"allows {allowed}; in {joint.pieces} pieces it has {seam}")
    return Reason("changes", f"split in {joint.pieces}: {seam}, {joint.area_mm2 / 100:.1f} cm² of bonds")


def sealing_coats(shop: Shop) -> tuple[Coating, ...]:
    """Coats in the tables that make a printed wall tight."""
    return tuple(c for c in shop.all(Coating) if c.purpose == "seal")


def seal_operation(shop: Shop, copies: int, area_mm2: float, coating: Coating, what: str) -> Operation:
    """Brush a sealing coat over an area of each copy, as often as it takes; one batch a coat."""
    s = shop.the(JoiningStandards)
    area, coats = (copies * area_mm2 / 100, "cm²"), coating.rate("coats", "coats")
    brush, mix = (
        timed(area, coats, s.rate("coat_min_per_cm2")),
        timed(coats, s.rate("mix_coat_min", "to mix")),
    )
    return Operation(
        f"seal {what} with {coating.id}",
        (
            brush,
            mix,
            used(coating.id, area, coats, coating.rate("spread_g_cm2")),
            used("brush", coats),
            *batch_usages(shop, coating.coats),
            *protection(shop, brush, mix, vapour=True),
        ),
        waiting_min=coating.coats * coating.dry_h * 60,
        runs=round(coating.coats),
        cautions=("sensitiser", "solvent", "food"),
        unbroken=True,
    )


def seal_inside(shop: Shop, part: Part, coating: Coating) -> Operation:
    """Sealing for liquids: the inside of a vessel, taken as a share of its whole surface."""
    assert part.shape is not None
    s = shop.the(JoiningStandards)
    return seal_operation(
        shop, part.copies, part.shape.solid.area_mm2 * s.wetted_share, coating, "the inside"
    )


def fill_test(shop: Shop, copies: int) -> Operation:
    """Fill every copy, mark the level, come back after a day."""
    s = shop.the(JoiningStandards)
    return Operation(
        "fill test",
        (
            timed((copies, "copies"), s.rate("fill_test_min")),
            used("wipe", (2, "to dry and look for drops"), (copies, "copies")),
        ),
        waiting_min=s.fill_test_h * 60,
        cautions=("liquid", "food"),
        note=f"all copies side by side for {s.fill_test_h:g} h, over a tray",
    )


def proof_load(shop: Shop, part: Part) -> Operation:
    """Hold the stated load for a day; it is a trial, not a certificate."""
    s = shop.the(JoiningStandards)
    return Operation(
        "proof load",
        (timed((part.copies, "copies"), s.rate("proof_load_min")),),
        waiting_min=s.proof_load_h * 60,
        cautions=("proof-load",),
        note=f"{part.demands.load_n:g} N held for {s.proof_load_h:g} h, all copies side by side; watch for creep",
    )


def trials(shop: Shop, part: Part) -> tuple[Operation, ...]:
    """The trials that the demands ask for."""
    found = []
    if part.demands.holds_liquid:
        found.append(fill_test(shop, part.copies))
    if part.demands.load_n > 0.0:
        found.append(proof_load(shop, part))
    return tuple(found)
