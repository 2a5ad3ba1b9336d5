"""Bills of any size like those of real builds, invented from a seed: printed, filled, cast and ordered parts
that share spools, kits, sheets, gloves, tools and orders."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from random import Random

from routecost.buying.options import Workshop
from routecost.routes.process.operation import Operation, ProcessPlan, Usage, Verdict, own_time
from tests.planning.small_bills import Units, tariff

PARTS_PER_ORDER = 4.0
FILAMENTS = ("pla", "pla-grey", "petg", "abs")
RESINS = ("epoxy-thin", "epoxy-deep", "pu-clear", "pu-tan")
SILICONES = ("silicone-a", "silicone-c")
PAPERS = ("p120", "p220", "p320", "p600", "p1000", "p2000")
FINISHES = ("as made", "sanded", "primed", "coated", "polished")
SERVICES = ("lab-a", "lab-b")

# sizes and prices as a hobby shop lists them; invented
_PACKS: Mapping[str, tuple[str, str, tuple[tuple[int, float], ...]]] = {
    **{
        f: ("g", "material", ((1000, 19.5 + 1.5 * i), (750, 16.57 + 1.2 * i)))
        for i, f in enumerate(FILAMENTS)
    },
    "epoxy-thin": ("g", "material", ((4000, 117.0), (1000, 35.0))),
    "epoxy-deep": ("g", "material", ((6000, 138.0), (1500, 42.0))),
    "pu-clear": ("g", "material", ((5000, 189.0), (1000, 46.0))),
    "pu-tan": ("g", "material", ((4000, 86.0), (907, 24.0))),
    "silicone-a": ("g", "material", ((5000, 149.0), (1000, 36.0))),
    "silicone-c": ("g", "material", ((5000, 98.0), (1000, 24.0))),
    **dict.fromkeys(PAPERS, ("each", "consumable", ((40, 9.0), (10, 3.0)))),
    "filler-primer": ("g", "consumable", ((440, 13.0),)),
    "clear-coat": ("g", "consumable", ((400, 26.0),)),
    "compound": ("g", "consumable", ((250, 12.0),)),
    "gloves": ("each", "consumable", ((50, 9.5), (10, 3.2))),
    "wipes": ("each", "consumable", ((100, 9.0),)),
    "cups": ("each", "consumable", ((50, 14.0),)),
    "alcohol": ("g", "consumable", ((786, 8.5),)),
    "cartridges": ("each", "consumable", ((1, 17.0),)),
    "board": ("cm^2", "consumable", ((7200, 16.0),)),
    "release": ("g", "consumable", ((300, 15.0),)),
    "blades": ("each", "consumable", ((100, 13.0), (10, 2.5))),
    "electricity": ("kWh", "energy", ((1, 0.31),)),
    "printer": ("each", "tool", ((1, 260.0),)),
    "pot": ("each", "tool", ((1, 170.0),)),
    "vacuum": ("each", "tool", ((1, 110.0),)),
    **{f"{s} setup": ("each", "service", ((1, 4.0 + 2.0 * i),)) for i, s in enumerate(SERVICES)},
    **{f"{s} volume": ("cm^3", "service", ((1, 1.15 - 0.4 * i),)) for i, s in enumerate(SERVICES)},
    **{f"{s} minimum-part": ("each", "service", ((1, 14.0 - 6.0 * i),)) for i, s in enumerate(SERVICES)},
    **{f"{s} minimum-order": ("each", "service", ((1, 60.0),)) for s in SERVICES},
    **{f"{s} shipping-order": ("each", "service", ((1, 9.0),)) for s in SERVICES},
}
_UNITS: Units = {name: (unit, kind) for name, (unit, kind, _packs) in _PACKS.items()}


def made_bill(parts: int, seed: int = 1) -> tuple[tuple[str, ...], list[ProcessPlan], Workshop]:
    """Parts, some dozens of ways to make each, and a shop with a few things on the shelf."""
    random = Random(seed)
    names = tuple(f"part-{i + 1:03}" for i in range(parts))
    plans = [plan for name in names for plan in _ways(name, random)]
    stock = {"gloves": 18.0, "pla-grey": 420.0, "p320": 6.0}
    prices = tariff({name: packs for name, (_unit, _kind, packs) in _PACKS.items()}, units=_UNITS)
    shop = Workshop(prices, stock, dict.fromkeys(SERVICES, PARTS_PER_ORDER), frozenset({"printer"}), 2.0)
    return names, plans, shop


def _ways(part: str, random: Random) -> Iterator[ProcessPlan]:
    """All ways that meet what the part is asked for: any surface, a smooth one, or a clear body."""
    cm3, copies = math.exp(random.gauss(3.3, 1.1)), random.choice((1, 1, 1, 2, 3, 4, 8))
    cm2 = 6.0 * cm3 ** (2.0 / 3.0) * random.uniform(1.0, 2.5)
    asked = random.choices(("any", "smooth", "clear"), (3, 4, 2))[0]
    made = Making(part, cm3, cm2, copies, random.uniform(0.7, 1.6))
    finishes = FINISHES[:1] if asked == "any" else FINISHES[1:]
    if asked != "clear":
        for filament in FILAMENTS:
            for finish in finishes:
                yield made.printed(filament, finish)
    if cm3 > 12.0 and asked != "clear":
        for filament in FILAMENTS:
            for resin in RESINS:
                for finish in finishes[:2]:
                    yield made.filled(filament, resin, finish)
    for silicone in SILICONES:
        for resin in RESINS[:3] if asked == "clear" else RESINS:
            for filament in FILAMENTS[:3]:
                for finish in FINISHES[3:] if asked == "clear" else finishes:
                    yield made.cast(silicone, resin, filament, finish, asked == "clear")
    for service in SERVICES:
        for finish in ("as made", "coated") if asked == "any" else ("sanded", "coated"):
            yield made.ordered(service, finish)


@dataclass(frozen=True)
class Making:
    """One part, and what making it takes."""

    part: str
    cm3: float
    cm2: float
    copies: int
    mess: float
    """Supports, strings and clean-up over those of a usual part."""

    def _plan(
        self, route: str, what: str, *operations: Operation, tools: frozenset[str] = frozenset()
    ) -> ProcessPlan:
        return ProcessPlan(route, self.part, self.copies, what, operations, Verdict(), 1.0, tools)

    def _print(self, filament: str, cm3: float, times: int) -> Operation:
        hours = times * (0.4 + cm3 / 9.0) * self.mess
        usages = (
            Usage(filament, times * cm3 * 1.24 * self.mess + 3.0, ""),
            Usage("printer", hours / 5000.0, ""),
            Usage("electricity", 0.11 * hours, ""),
            Usage("alcohol", 3.0 * math.ceil(times / 4), ""),
            Usage("blades", 0.03 * times * self.mess, ""),
            own_time(18.0 + times * (4.0 + 0.05 * self.cm2 * self.mess), ""),
        )
        return Operation("print", usages, "printer", 60.0 * hours, runs=math.ceil(times / 4))

    def _finish(self, name: str, times: int) -> Operation:
        cm2 = times * self.cm2
        depth = FINISHES.index(name)
        minutes = cm2 * (0.0, 0.5, 0.42, 0.62, 1.2)[depth] + (10.0 if depth else 0.0)
        usages = [Usage(paper, cm2 / 300.0, "") for paper in PAPERS[: (0, 3, 3, 4, 6)[depth]]]
        if name == "primed":
            usages.append(Usage("filler-primer", 0.04 * cm2, ""))
        if name == "coated":
            usages.append(Usage("clear-coat", 0.024 * cm2, ""))
        if name == "polished":
            usages.append(Usage("compound", 0.02 * cm2, ""))
        usages += self._protected(minutes)
        return Operation(name, tuple(usages), waiting_min=480.0 if name in ("primed", "coated") else 0.0)

    def _protected(self, minutes: float) -> list[Usage]:
        hours = minutes / 60.0
        found = [
            own_time(minutes, ""),
            Usage("gloves", 2.0 * hours, ""),
            Usage("cartridges", hours / 30.0, ""),
        ]
        return [draw for draw in found if draw.quantity > 0.0]

    def _pour(
        self, what: str, grams: float, batches: float, minutes: float, machine: str, hours: float
    ) -> Operation:
        usages = (
            Usage(what, 1.05 * grams + 4.0 * batches, ""),
            Usage("cups", batches, ""),
            Usage("wipes", 2.0 * batches, ""),
            Usage("alcohol", 15.0 * batches, ""),
            *self._protected(minutes),
        )
        return Operation(f"pour {what}", usages, machine, 60.0 * hours, runs=max(1, round(batches)))

    def printed(self, filament: str, finish: str) -> ProcessPlan:
        steps = self._print(filament, 0.45 * self.cm3, self.copies), self._finish(finish, self.copies)
        return self._plan("fdm", f"{filament}, {finish}", *steps, tools=frozenset({"printer"}))

    def filled(self, filament: str, resin: str, finish: str) -> ProcessPlan:
        n, deep = self.copies, resin == "epoxy-deep"
        shell = self._print(filament, min(0.5 * self.cm3, 0.12 * self.cm2), n)
        pours = 1 if deep else math.ceil(self.cm3 / 60.0)
        pour = self._pour(resin, n * 0.75 * self.cm3 * 1.1, pours, 20.0 + 9.0 * n * pours, "", 0.0)
        steps = shell, pour, self._finish(finish, n)
        return self._plan("filled", f"{filament}, {resin}, {finish}", *steps, tools=frozenset({"printer"}))

    def cast(self, silicone: str, resin: str, filament: str, finish: str, is_clear: bool) -> ProcessPlan:
        pulls = self.copies / (0.75 if is_clear else 0.9)
        side = self.cm3 ** (1.0 / 3.0) + 2.4
        mold_g = (side**3 * 1.3 - self.cm3) * 1.1
        box = Operation(
            "box",
            (
                Usage("board", 6.0 * side**2, ""),
                Usage("release", 0.01 * self.cm2 * (1 + pulls), ""),
                own_time(45.0 + pulls * 12.0, ""),
            ),
        )
        under = {"pu-clear": "pot", "epoxy-thin": "vacuum"}.get(resin, "") if is_clear else ""
        steps = (
            self._print(filament, 0.45 * self.cm3, 1),
            self._finish(finish, 1),
            box,
            self._pour(silicone, mold_g, math.ceil(mold_g / 900.0), 25.0, "mold box", 16.0),
            self._pour(resin, pulls * self.cm3 * 1.12, pulls, pulls * 14.0, under or "mold", pulls * 14.0),
        )
        tools = frozenset({"printer", under} - {""})
        wear = (Operation("wear", (Usage(under, pulls / 1000.0, ""),)),) if under else ()
        return self._plan("cast", f"{silicone}, {resin}, {filament}, {finish}", *steps, *wear, tools=tools)

    def ordered(self, service: str, finish: str) -> ProcessPlan:
        n, share = self.copies, (f"{service}.parts_per_order",)
        factor = n * {"as made": 1.0, "sanded": 1.0, "coated": 1.7}[finish]
        order = Operation(
            "order",
            (
                own_time(20.0 / PARTS_PER_ORDER, "", share),
                own_time(6.0 + 4.0 * n, ""),
                Usage(f"{service} shipping-order", 1.0 / PARTS_PER_ORDER, "", share),
            ),
        )
        law = Operation(
            "printed by the service",
            (Usage(f"{service} setup", factor, ""), Usage(f"{service} volume", factor * self.cm3, "")),
            waiting_min=(6.0 if service == "lab-a" else 10.0) * 24 * 60,
            floor=Usage(f"{service} minimum-part", factor, ""),
        )
        at_home = self._finish("sanded" if finish == "sanded" else "as made", n)
        return self._plan("ordered", f"{service}, {finish}", order, law, at_home)
