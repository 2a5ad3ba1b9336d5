"""How long it takes to choose for a whole bill, by the number of parts, and how long the bare solver takes.

    python tests/bench/bench_planning.py [SECONDS] [PARTS ...]

Nothing is asserted: times hang on the machine. Bills are made up from a seed. `ours` is `choose`; `bare` is the
mixed-integer program without the rows that only help to prove, given to scipy as it is. Both shall prove a gap
of 1 % within SECONDS (60); a time with + is the limit. `growth` is how often the time doubles when the parts do.
"""

from __future__ import annotations

import math
import os
import sys
from pathlib import Path
from time import perf_counter

os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from scipy.optimize import Bounds, LinearConstraint, milp

from routecost.buying.options import options_of
from routecost.planning.choosing.choice import bill_problem, choose
from routecost.planning.choosing.limits import Limits, Objective
from routecost.planning.choosing.model import model_of
from routecost.planning.choosing.problem import Problem
from routecost.planning.choosing.solver import objective as vector
from tests.planning.made_bills import made_bill

SIZES = (17, 50, 200)
GAP = 0.01
OBJECTIVES = (Objective("outlay"), Objective("full"))
Result = tuple[float, str, float, float]
"""Seconds, status, value and gap."""


def ours(problem: Problem, objective: Objective, seconds: float) -> Result:
    start = perf_counter()
    found = choose(problem, objective, Limits(), gap=GAP, seconds=seconds)
    return perf_counter() - start, found.status, found.value, found.gap


def bare(problem: Problem, objective: Objective, seconds: float) -> Result:
    model = model_of(problem, bare=True)
    start = perf_counter()
    found = milp(
        vector(model, objective.weights(problem.shop.tariff.own_rate)),
        integrality=model.whole,
        bounds=Bounds(0.0, model.upper),
        constraints=LinearConstraint(model.matrix, model.low, model.high),
        options={"mip_rel_gap": GAP, "time_limit": seconds},
    )
    took = perf_counter() - start
    status = {0: "solved", 1: "time out"}.get(found.status, f"status {found.status}")
    if found.x is None:
        return took, status, math.inf, math.inf
    return took, status, float(found.fun), float(found.mip_gap)


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    sizes = [int(n) for n in sys.argv[2:]] or list(SIZES)
    head = f"{'s':>6} {'status':<9}{'value':>9} {'gap':>6} {'growth':>6}"
    print(f"{'parts':>5} {'ways':>6} {'kept':>5} {'objective':<9}|{'ours: ' + head} |{'bare: ' + head}")
    before: dict[tuple[str, str], tuple[int, float]] = {}
    for count in sizes:
        parts, plans, shop = made_bill(count)
        problem = bill_problem(parts, options_of(plans, shop), shop)
        for objective in OBJECTIVES:
            line = f"{count:>5} {len(plans):>6} {len(problem.options):>5} {objective.name:<9}"
            for name, solve in (("ours", ours), ("bare", bare)):
                took, status, value, gap = solve(problem, objective, seconds)
                n, earlier = before.get((name, objective.name), (count, took))
                growth = f"{math.log(took / earlier) / math.log(count / n):.1f}" if count != n else ""
                before[name, objective.name] = (count, took)
                late = "+" if took >= seconds else ""
                line += f"|{'':6}{f'{took:.1f}{late}':>6} {status:<9}{value:>9.2f} {gap:>6.2%} {growth:>6} "
            print(line, flush=True)


if __name__ == "__main__":
    main()
