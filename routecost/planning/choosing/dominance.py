"""Dominated options: another option of the same part takes no more of anything, so they are in no optimal plan that
is needed."""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Bools, Floats
from routecost.planning.choosing.problem import Problem

# quantities are sums of products, right to about 1e-15: what differs by less is the same
_SAME = 1e-12


def undominated(problem: Problem) -> Problem:
    """The problem without dominated options: those that another of the same part equals or betters in usages, tools,
    orders, money, hours and days.

    Limits and objectives do not decrease in any of these, so for each plan there is one without dominated options
    that is as good. A resource of which the stock or a single purchase suffices for any choice counts only by whether
    it is used. Of equals the first stays.
    """
    while True:
        keep = _keep(problem)
        if keep.all():
            return problem
        # with fewer options a purchase may last that did not before
        problem = problem.only(keep)


def _keep(problem: Problem) -> Bools:
    takes = _takes(problem)
    keep = np.ones(len(problem.options), dtype=bool)
    for part in range(len(problem.parts)):
        rows = np.flatnonzero(problem.part_of == part)
        keep[rows] = _minimal(takes[rows])
    return keep


def _takes(problem: Problem) -> Floats:
    """(options, columns): what no objective or limit improves with."""
    most = problem.most_usages().sum(axis=0)
    usages = problem.usages.copy()
    for r in range(len(problem.resources)):
        if problem.stock[r] >= most[r]:
            usages[:, r] = 0.0
        elif problem.stock[r] == 0.0:
            smallest = float(np.min(usages[:, r], where=usages[:, r] > 0.0, initial=np.inf))
            if problem.pack_cost(r, smallest) == problem.pack_cost(r, float(most[r])):
                usages[:, r] = usages[:, r] > 0.0
    columns = (
        usages,
        problem.needs_tool,
        problem.needs_order,
        problem.charges,
        *(a[:, None] for a in (problem.as_used, problem.wear, problem.own_hours)),
        *(a[:, None] for a in (problem.printer_hours, problem.lead_days, problem.booked_hours)),
    )
    return np.hstack([np.asarray(c, dtype=float) for c in columns])


def _minimal(takes: Floats) -> Bools:
    """The Pareto-minimal rows; of equal rows the first.

    >>> _minimal(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]])).tolist()
    [True, True, False, False]
    """
    takes = takes[:, takes.max(axis=0, initial=0.0) > takes.min(axis=0, initial=np.inf)]
    slack = _SAME * np.abs(takes).max(axis=0, initial=0.0)
    keep = np.ones(len(takes), dtype=bool)
    # a row that is no greater than another has no greater sum, so it is looked at before
    order = np.argsort((takes / takes.max(axis=0, initial=0.0)).sum(axis=1), kind="stable")
    kept: list[int] = []
    for i in order.tolist():
        if kept and bool((takes[kept] <= takes[i] + slack).all(axis=1).any()):
            keep[i] = False
        else:
            kept.append(i)
    return keep
