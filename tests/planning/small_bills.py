"""Small bills in which everything occurs that parts can share, and what each plan of them comes to by trying
every combination of packs. Nothing here uses the code that it checks beyond the plans and prices themselves."""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from random import Random

from routecost.buying.options import Option, Workshop, options_of
from routecost.core.errors import Fault
from routecost.costing.tariff import Tariff
from routecost.planning.choosing.limits import Limits, Objective
from routecost.routes.process.operation import OWN_HOUR, Operation, ProcessPlan, Usage, Verdict, own_time
from routecost.shop.price_log import PriceRow, price_list
from routecost.shop.resources import Resource
from routecost.shop.table_reader import Placed

DAY = dt.date(2026, 3, 1)
PACKED = ("resin", "silicone", "paper")
PARTS_PER_ORDER = 4.0
ORDER_MIN = 20.0
OWN_RATE = 11.0
Units = Mapping[str, tuple[str, str]]
"""By resource: its unit and its kind."""
UNITS: Units = {
    "resin": ("g", "material"),
    "silicone": ("g", "material"),
    "paper": ("each", "consumable"),
    "electricity": ("kWh", "energy"),
    "pot": ("each", "tool"),
    "printer": ("each", "tool"),
    "lab volume": ("cm^3", "service"),
    "lab minimum-part": ("each", "service"),
    "lab minimum-order": ("each", "service"),
    "lab shipping-order": ("each", "service"),
}
Offers = Mapping[str, Sequence[tuple[int, float]]]
"""By resource: packs of so much at such a price."""


def tariff(
    offers: Offers,
    own_rate: float = OWN_RATE,
    spread: tuple[float, float] = (1.0, 1.0),
    units: Units = UNITS,
) -> Tariff:
    """Prices made the way the program makes them; each pack of a resource comes from a supplier of its own.

    `spread` is the low and the high of every price over the price.
    """
    resources = {
        name: Resource(resource=name, description=name, unit=unit, kind=kind)  # type: ignore[arg-type]
        for name, (unit, kind) in units.items()
    }
    rows = [
        Placed(
            PriceRow(
                resource=name,
                pack=f"{size} {units[name][0]}",
                price=price,
                currency="EUR",
                low=price * spread[0],
                high=price * spread[1],
                as_of=DAY,
                supplier=f"supplier {i}",
                source="test",
            ),
            "prices.csv",
            number,
        )
        for number, (name, i, (size, price)) in enumerate(
            ((name, i, pack) for name, packs in offers.items() for i, pack in enumerate(packs)), start=2
        )
    ]
    faults: list[Fault] = []
    found = price_list(rows, [], resources, DAY, "EUR", faults)
    assert not faults
    return Tariff(found, resources, own_rate, frozenset({"printer"}))


def ordered_part(volume: float) -> Operation:
    """A part from the lab, with its share of an order."""
    share = ("lab.parts_per_order",)
    usages = (
        own_time(ORDER_MIN / PARTS_PER_ORDER, "share of preparing the order", share),
        own_time(6.0, "specify the part"),
        Usage("lab shipping-order", 1.0 / PARTS_PER_ORDER, "share of shipping", share),
    )
    return Operation("order", usages)


def printed_by_lab(volume: float, days: float) -> Operation:
    return Operation(
        "printed by lab",
        (Usage("lab volume", volume, "by volume"),),
        waiting_min=days * 24 * 60,
        floor=Usage("lab minimum-part", 1.0, "least price of a part"),
    )


def plan(part: str, route: str, operations: Sequence[Operation], tools: Sequence[str] = ()) -> ProcessPlan:
    return ProcessPlan(route, part, 1, route, tuple(operations), Verdict(), 1.0, frozenset(tools))


def random_plan(part: str, route: int, random: Random) -> ProcessPlan:
    """A way of making that draws on some of everything."""
    usages = [Usage(r, float(random.randint(1, 90)), "any") for r in PACKED if random.random() < 0.6]
    usages.append(own_time(random.randint(0, 600), "work"))
    if random.random() < 0.5:
        usages.append(Usage("electricity", random.randint(1, 40) / 10.0, "any"))
    steps = [Operation("work", tuple(usages), waiting_min=60.0 * random.randint(0, 300))]
    tools = []
    if random.random() < 0.4:
        minutes = 30.0 * random.randint(1, 20)
        wear = Usage("printer", minutes / 1e5, "wear")
        steps.append(Operation("print", (wear,), machine="printer", machine_min=minutes))
        tools.append("printer")
    if random.random() < 0.3:
        steps.append(Operation("cure", (Usage("pot", 0.01, "wear"),)))
        tools.append("pot")
    if random.random() < 0.4:
        volume = float(random.randint(1, 20))
        steps += [ordered_part(volume), printed_by_lab(volume, random.randint(1, 12))]
    return plan(part, f"way-{route}", steps, tools)


@dataclass(frozen=True, eq=False)
class Candidates:
    parts: tuple[str, ...]
    plans: tuple[ProcessPlan, ...]
    offers: Offers
    stock: Mapping[str, float]
    hours_a_day: float = 2.0
    spread: tuple[float, float] = (1.0, 1.0)

    @property
    def shop(self) -> Workshop:
        return Workshop(
            tariff(self.offers, spread=self.spread),
            self.stock,
            {"lab": PARTS_PER_ORDER},
            frozenset({"printer"}),
            self.hours_a_day,
        )

    @property
    def options(self) -> tuple[Option, ...]:
        return options_of(self.plans, self.shop)


def random_bill(seed: int, parts: int = 4, ways: int = 4) -> Candidates:
    random = Random(seed)
    names = tuple(f"part-{i}" for i in range(random.randint(2, parts)))
    plans = [random_plan(part, i, random) for part in names for i in range(random.randint(1, ways))]

    def packs(most: int) -> list[tuple[int, float]]:
        sizes = random.sample(range(5, 120), random.randint(1, most))
        return [
            (size, round(size * random.uniform(0.1, 0.5) + random.uniform(0.0, 9.0), 2)) for size in sizes
        ]

    offers: dict[str, list[tuple[int, float]]] = {r: packs(3) for r in PACKED}
    offers |= {
        "electricity": [(1, 0.31)],
        "pot": [(1, float(random.randint(5, 60)))],
        "printer": [(1, 260.0)],
        "lab volume": [(1, round(random.uniform(0.5, 3.0), 2))],
        "lab minimum-part": [(1, float(random.randint(2, 30)))],
        "lab minimum-order": [(1, float(random.randint(10, 90)))],
        "lab shipping-order": [(1, float(random.randint(3, 20)))],
    }
    stock = {r: float(random.randint(1, 120)) for r in PACKED if random.random() < 0.4}
    if random.random() < 0.1:
        stock["pot"] = 1.0
    return Candidates(names, tuple(plans), offers, stock)


def random_wish(seed: int, bill: Candidates) -> tuple[Objective, Limits]:
    """An objective, and limits of which some bind and some cannot be kept."""
    random = Random(1000 + seed)
    objective = random.choice(
        [Objective(), Objective("full"), Objective("own-time"), Objective("hour-worth", 4.0)]
    )
    some = [by_hand(bill, combination) for combination in sample_of(bill, random)]

    def maybe(values: Sequence[float]) -> float | None:
        return random.choice(values) * random.uniform(0.8, 1.2) if random.random() < 0.4 else None

    return objective, Limits(
        budget=maybe([s.outlay for s in some]),
        own_hours=maybe([s.own_hours for s in some]),
        printer_hours=maybe([s.printer_hours for s in some]),
        days=maybe([s.lead_days for s in some]),
    )


def sample_of(bill: Candidates, random: Random) -> list[tuple[ProcessPlan, ...]]:
    every = list(combinations(bill))
    return random.sample(every, min(len(every), 5))


def combinations(bill: Candidates) -> itertools.product:
    return itertools.product(*([p for p in bill.plans if p.part == part] for part in bill.parts))


@dataclass(frozen=True)
class ByHand:
    outlay: float
    full: float
    own_hours: float
    printer_hours: float
    lead_days: float

    def of(self, objective: Objective) -> float:
        return {
            "outlay": self.outlay,
            "full": self.full,
            "own-time": self.own_hours,
            "hour-worth": self.outlay + objective.hour_worth * self.own_hours,
        }[objective.name]

    def keeps(self, limits: Limits) -> bool:
        pairs = (
            (round(self.outlay, 2), limits.budget),  # what is paid is whole cents
            (self.own_hours, limits.own_hours),
            (self.printer_hours, limits.printer_hours),
            (self.lead_days, limits.days),
        )
        return all(most is None or value <= most + 1e-9 for value, most in pairs)


def by_hand(bill: Candidates, chosen: Sequence[ProcessPlan]) -> ByHand:
    """What a choice comes to, reckoned from the draws one by one."""
    price = {name: min(p / size for size, p in packs) for name, packs in bill.offers.items()}
    need = dict.fromkeys(PACKED, 0.0)
    paid = hours = printing = wear = of_lab = 0.0
    pot = lab = False
    longest = 0.0
    for way in chosen:
        own = running = 0.0
        for op in way.operations:
            running += op.machine_min + op.waiting_min
            printing += op.machine_min if op.machine == "printer" else 0.0
            charge = 0.0
            for draw in op.usages:
                if draw.resource == OWN_HOUR:
                    own += draw.quantity
                    hours += 0.0 if draw.facts else draw.quantity
                elif draw.resource in need:
                    need[draw.resource] += draw.quantity
                elif draw.resource == "electricity":
                    paid += draw.quantity * price["electricity"]
                elif draw.resource == "printer":
                    wear += draw.quantity * price["printer"]
                elif draw.resource == "lab volume":
                    charge += draw.quantity * price["lab volume"]
            if op.floor is not None:
                charge = max(charge, price["lab minimum-part"])
                lab = True
            of_lab += charge
        pot = pot or "pot" in way.tools
        longest = max(longest, own / bill.hours_a_day + running / 60.0 / 24.0)
    paid += sum(
        cheapest_by_trial(need[r] - bill.stock.get(r, 0.0), bill.offers[r]) for r in need if need[r] > 0.0
    )
    if pot and not bill.stock.get("pot"):
        paid += price["pot"]
    if lab:
        paid += price["lab shipping-order"] + max(of_lab, price["lab minimum-order"])
        hours += ORDER_MIN / 60.0
    return ByHand(paid, paid + OWN_RATE * hours + wear, hours, printing / 60.0, longest)


def cheapest_by_trial(short: float, packs: Sequence[tuple[int, float]]) -> float:
    """The least price of packs that hold so much: every combination is tried."""
    if short <= 1e-9:
        return 0.0
    counts = [range(math.ceil(short / size) + 1) for size, _price in packs]
    return min(
        sum(n * price for n, (_size, price) in zip(tried, packs, strict=True))
        for tried in itertools.product(*counts)
        if sum(n * size for n, (size, _price) in zip(tried, packs, strict=True)) >= short - 1e-9
    )


def best_by_trial(bill: Candidates, objective: Objective, limits: Limits) -> float:
    """The least value of the objective over every choice that keeps the limits; infinite where none does."""
    every = (by_hand(bill, chosen) for chosen in combinations(bill))
    return min((found.of(objective) for found in every if found.keeps(limits)), default=math.inf)
