"""Plans like those that routes make, invented from a seed: printed, cast, ordered and bought parts."""

from __future__ import annotations

import random

from routecost.routes.process.operation import Operation, ProcessPlan, Usage, Verdict, own_time


def made_plans(n: int, seed: int = 1) -> list[ProcessPlan]:
    """`n` plans: of ten about four cast, three printed, two ordered, one bought."""
    r = random.Random(seed)
    makers = (_cast, _cast, _cast, _cast, _printed, _printed, _printed, _ordered, _ordered, _bought)
    return [r.choice(makers)(f"part-{i + 1:03}", r) for i in range(n)]


def plan(part: str, *operations: Operation, route: str = "made") -> ProcessPlan:
    return ProcessPlan(route, part, 1, "", operations, Verdict(), mass_g=0.0)


def step(
    name: str,
    hands_min: float = 0.0,
    machine: str = "",
    machine_min: float = 0.0,
    waiting_min: float = 0.0,
    uses: str = "",
    runs: int = 1,
    cycle: str = "",
    runs_in_cycle: int = 1,
    unbroken: bool = False,
) -> Operation:
    usages = [own_time(hands_min, "")] if hands_min else []
    if uses:
        usages.append(Usage(uses, 1.0, ""))
    return Operation(
        name,
        tuple(usages),
        machine,
        machine_min,
        waiting_min,
        runs=runs,
        cycle=cycle,
        runs_in_cycle=runs_in_cycle,
        unbroken=unbroken,
    )


def _printed(part: str, r: random.Random) -> ProcessPlan:
    printer = r.choice(("printer-220", "printer-220", "printer-300"))
    return plan(
        part,
        step("prepare the print", 12),
        step("print the part", 6.3, printer, r.uniform(60, 1200), uses="filament"),
        step("take it off, clean up", r.uniform(5, 60)),
        step("wet sand", r.uniform(0, 300), uses="paper"),
        route="printed",
    )


def _cast(part: str, r: random.Random) -> ProcessPlan:
    in_pot = r.random() < 0.4
    return plan(
        part,
        step("prepare the print of the master", 12),
        step("print the master", 6.3, "printer-220", r.uniform(30, 500), uses="filament"),
        step("take the master off", r.uniform(5, 45)),
        step("coat with primer", r.uniform(20, 90), waiting_min=180, uses="primer"),
        step("wet sand the master", r.uniform(30, 240), uses="paper"),
        step("coat with clear coat", r.uniform(20, 90), waiting_min=480, uses="clear-coat"),
        step("build the mold box", 35),
        step("pour silicone", r.uniform(25, 55), "mold box", r.choice((300, 1200)), uses="silicone"),
        step("open the mold", 15),
        step(
            "pour resin",
            r.uniform(30, 150),
            "pressure-pot-10l" if in_pot else "mold",
            r.uniform(300, 1400) if in_pot else r.uniform(1200, 9000),
            r.choice((0, 1320, 2880)),
            uses="resin",
            runs=3,
            cycle="pull",
            unbroken=True,
        ),
        step("demold", r.uniform(6, 60), runs=3, cycle="pull"),
        step("trim and dress", r.uniform(10, 90)),
        route="cast",
    )


def _ordered(part: str, r: random.Random) -> ProcessPlan:
    return plan(
        part,
        step("order", 11),
        step("printed by the service", waiting_min=r.choice((6, 9, 12)) * 24 * 60),
        step("unpack, wash and inspect", r.uniform(5, 60)),
        step("wet sand", r.uniform(20, 300)),
        step("clear coat", r.uniform(40, 110), waiting_min=480),
        route="ordered",
    )


def _bought(part: str, _: random.Random) -> ProcessPlan:
    return plan(part, step("find, order and put away", 8, waiting_min=4 * 24 * 60), route="bought")
