"""The choice for a whole bill as a mixed-integer program.

Variables: one of each part's options; packs of each offer; tools bought; orders placed, and what tops them up
to their minimum charge. All measures are linear in them: outlay, own hours, printer hours, wear.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Floats
from routecost.planning.choosing.problem import Problem

if TYPE_CHECKING:
    from scipy.sparse import csr_array

_NEGLIGIBLE = 1e-5
"""Usages of a smaller share of a pack are not in the cover inequality: coefficients near the solver's feasibility
tolerance of 1e-6 mislead it. That a pack is needed at all has a row of its own; should the sum matter after all, the
exact totals show it as a gap."""

Measure = Literal["outlay", "own-hours", "printer-hours", "wear", "lateness"]


@dataclass(frozen=True, eq=False)
class Model:
    """Rows `low <= matrix @ v <= high` over variables v, and the measures as vectors over the same."""

    problem: Problem
    matrix: csr_array
    low: Floats
    high: Floats
    upper: Floats
    """(variables,): largest value of each; the least is 0."""
    whole: NDArray[np.int64]
    """(variables,): 1 where only whole numbers are allowed."""
    measures: Mapping[Measure, Floats]


class _Rows:
    """Rows of a sparse matrix as they are written down."""

    def __init__(self) -> None:
        self.at: list[int] = []
        self.columns: list[int] = []
        self.values: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, terms: Sequence[tuple[Sequence[int], Sequence[float]]], low: float, high: float) -> None:
        for columns, values in terms:
            self.at += [len(self.low)] * len(columns)
            self.columns += columns
            self.values += values
        self.low.append(low)
        self.high.append(high)

    def matrix(self, width: int) -> csr_array:
        from scipy.sparse import csr_array

        return csr_array((self.values, (self.at, self.columns)), shape=(len(self.low), width))


def model_of(problem: Problem, due_days: Sequence[float] | None = None, *, bare: bool = False) -> Model:
    """The program for a problem.

    `due_days` (parts,) says when each part is due; lateness is the most by which a part exceeds it, at least 0.
    `bare` leaves out the valid inequalities that only tighten the relaxation.
    """
    p, n = problem, len(problem.options)
    offers = [(r, k) for r, found in enumerate(p.offers) for k in range(len(found))]
    tools, orders = len(p.tools), len(p.orders)
    first_pack = n
    first_tool = first_pack + len(offers)
    first_order = first_tool + tools
    first_top_up = first_order + orders
    late = first_top_up + orders
    width = late + 1
    rows = _Rows()
    packs_of: list[list[int]] = [[] for _ in p.resources]
    for j, (r, _k) in enumerate(offers):
        packs_of[r].append(first_pack + j)
    options_of = [np.flatnonzero(p.part_of == i) for i in range(len(p.parts))]

    for options in options_of:
        rows.add([(options.tolist(), [1.0] * len(options))], 1.0, 1.0)
    most = p.most_usages().sum(axis=0)
    for r, packs in enumerate(packs_of):
        # in packs of the smallest size, so that the solver's tolerance is one of packs
        size = min(offer.pack_quantity for offer in p.offers[r])
        drawing = np.flatnonzero(p.usages[:, r] > _NEGLIGIBLE * size)
        held = [-offer.pack_quantity / size for offer in p.offers[r]]
        terms = [(drawing.tolist(), (p.usages[drawing, r] / size).tolist()), (packs, held)]
        rows.add(terms, -np.inf, float(p.stock[r]) / size)
        if bare and p.stock[r] == 0.0:
            for i in np.flatnonzero((p.usages[:, r] > 0.0) & (p.usages[:, r] <= _NEGLIGIBLE * size)).tolist():
                rows.add([([i], [1.0]), (packs, [-1.0] * len(packs))], -np.inf, 0.0)
    for t in range(tools):
        for options in options_of:
            needing = options[p.needs_tool[options, t]]
            if len(needing):
                rows.add([(needing.tolist(), [1.0] * len(needing)), ([first_tool + t], [-1.0])], -np.inf, 0.0)
    for s, order in enumerate(p.orders):
        for options in options_of:
            needing = options[p.needs_order[options, s]]
            if len(needing):
                terms = [(needing.tolist(), [1.0] * len(needing)), ([first_order + s], [-1.0])]
                rows.add(terms, -np.inf, 0.0)
        charged = np.flatnonzero(p.charges[:, s])
        if order.least > 0.0:
            terms = [
                (charged.tolist(), (p.charges[charged, s] / order.least).tolist()),
                ([first_top_up + s, first_order + s], [1.0 / order.least, -1.0]),
            ]
            rows.add(terms, 0.0, np.inf)
    if due_days is not None:
        for options, due in zip(options_of, due_days, strict=True):
            rows.add([(options.tolist(), p.lead_days[options].tolist()), ([late], [-1.0])], -np.inf, due)
    if not bare:
        _add_cost_rows(rows, p, options_of, packs_of)

    prices = np.array([p.offers[r][k].pack_price for r, k in offers])
    upper = np.ones(width)
    for j, (r, k) in enumerate(offers):
        short = max(0.0, float(most[r] - p.stock[r]))
        upper[first_pack + j] = math.ceil(short / p.offers[r][k].pack_quantity)
    upper[first_top_up:late] = [order.least for order in p.orders]
    upper[late] = np.inf
    whole = np.ones(width, dtype=np.int64)
    whole[first_top_up:] = 0
    nothing = np.zeros(width - n)
    outlay = np.concatenate((p.as_used + p.charges.sum(axis=1), prices, p.tool_prices, nothing))[:width]
    outlay[first_order:first_top_up] = [order.amount for order in p.orders]
    outlay[first_top_up:late] = 1.0
    hours = np.concatenate((p.own_hours, nothing))
    hours[first_order:first_top_up] = [order.own_hours for order in p.orders]
    lateness = np.zeros(width)
    lateness[late] = 1.0
    return Model(
        problem=p,
        matrix=rows.matrix(width),
        low=np.array(rows.low),
        high=np.array(rows.high),
        upper=upper,
        whole=whole,
        measures={
            "outlay": outlay,
            "own-hours": hours,
            "printer-hours": np.concatenate((p.printer_hours, nothing)),
            "wear": np.concatenate((p.wear, nothing)),
            "lateness": lateness,
        },
    )


def _add_cost_rows(
    rows: _Rows, p: Problem, options_of: Sequence[np.ndarray], packs_of: Sequence[Sequence[int]]
) -> None:
    """Valid inequalities: packs of a resource cost at least what the option of any one part needs beside the least
    usage of the others. They tighten the relaxation much.
    """
    least = p.least_usages()
    for r, packs in enumerate(packs_of):
        prices = [offer.pack_price for offer in p.offers[r]]
        others = least[:, r].sum() - least[:, r]
        known: dict[float, float] = {}
        for i, options in enumerate(options_of):
            costs = []
            for q in p.usages[options, r].tolist():
                need = float(others[i]) + q
                if need not in known:
                    known[need] = p.pack_cost(r, need)
                costs.append(known[need])
            paying = [j for j, c in enumerate(costs) if c > 0.0]
            top = max(costs, default=0.0)
            if paying:
                terms = [
                    (options[paying].tolist(), [costs[j] / top for j in paying]),
                    (packs, [-price / top for price in prices]),
                ]
                rows.add(terms, -np.inf, 0.0)
