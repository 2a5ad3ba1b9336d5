"""Mixed-integer rounding cuts on the cover inequalities of packs.

In packs of size D, with one option of each part as a reference, a resource's cover reads
Σ (Q_k / D) n_k + Σ ((q_ref − q_j) / D) x_j >= (Σ q_ref − stock) / D. Rounding its right side up and its
coefficients as mixed-integer rounding does (Nemhauser and Wolsey, *Integer and Combinatorial Optimization*,
1988, II.1.7) cuts off fractional solutions, never a plan.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routecost.core.arrays import Floats
from routecost.planning.choosing.problem import Problem

_WHOLE = 1e-9
"""Nearer than this to a whole number is a whole number: sums of draws are right to about 1e-15."""
_LEAST_GAIN = 1e-3
"""Cuts that are violated by less than this of a pack are not worth a row."""
_DENOMINATORS = (1e-3, 1.0 - 1e-6)
"""Fractions of the right side between which rounding is numerically safe and gains something."""


@dataclass(frozen=True, eq=False)
class Cut:
    """coefficients @ v >= least, over all variables of the model."""

    coefficients: Floats
    least: float


def rounding_cut(
    usages: Floats,
    part_of: NDArray[np.int64],
    reference: NDArray[np.int64],
    packs: Floats,
    stock: float,
    size: float,
) -> tuple[Floats, Floats, float] | None:
    """Coefficients of the options (options,) and of the packs (offers,), and the right side; None where
    rounding gains nothing.

    `reference` (parts,) is an option of each part, `packs` (offers,) what each offer holds, `size` the D above.

    >>> usages, part_of = np.array([0.0, 0.6, 0.0, 0.6]), np.array([0, 0, 1, 1])
    >>> rounding_cut(usages, part_of, np.array([1, 3]), np.array([1.0]), 0.0, 1.0)
    (array([1., 0., 1., 0.]), array([1.]), 2.0)
    """
    wanted = usages[reference]
    right = (float(wanted.sum()) - stock) / size
    fraction = right - np.floor(right)
    if not _DENOMINATORS[0] < fraction < _DENOMINATORS[1]:
        return None

    def up(values: Floats) -> Floats:
        below = np.floor(values + _WHOLE)
        return np.asarray(below + np.minimum(np.maximum(values - below, 0.0) / fraction, 1.0))

    return up((wanted[part_of] - usages) / size), up(packs / size), float(np.ceil(right))


def violated_cuts(problem: Problem, relaxed: Floats, first_pack: int) -> list[Cut]:
    """For each resource and size of pack the cut that a solution of the relaxation violates most, found by local search
    over the parts' reference options. `relaxed` (variables,) holds packs from `first_pack` on.
    """
    p, found = problem, list[Cut]()
    share = relaxed[: len(p.options)]
    taken = [np.flatnonzero((p.part_of == i) & (share > _WHOLE)) for i in range(len(p.parts))]
    start = np.array([options[np.argmax(share[options])] for options in taken], dtype=np.int64)
    column = first_pack
    for r, offers in enumerate(p.offers):
        columns = slice(column, column + len(offers))
        column += len(offers)
        packs = np.array([o.pack_quantity for o in offers])
        for size in np.unique(packs).tolist():
            cut = _most_violated(p, r, relaxed, start, taken, packs, columns, size)
            if cut is not None:
                found.append(cut)
    return found


def _most_violated(
    p: Problem,
    r: int,
    relaxed: Floats,
    start: NDArray[np.int64],
    taken: list[NDArray[np.int64]],
    packs: Floats,
    columns: slice,
    size: float,
) -> Cut | None:
    usages, stock = p.usages[:, r], float(p.stock[r])
    used = np.concatenate(taken)

    def violation(reference: NDArray[np.int64]) -> float:
        row = rounding_cut_used(reference)
        if row is None:
            return 0.0
        of_options, of_packs, least = row
        return least - float(of_options @ relaxed[used] + of_packs @ relaxed[columns])

    def rounding_cut_used(reference: NDArray[np.int64]) -> tuple[Floats, Floats, float] | None:
        # only variables that are not 0 in the relaxation count for the violation
        position = np.searchsorted(used, reference)
        return rounding_cut(usages[used], p.part_of[used], position, packs, stock, size)

    used = np.sort(used)
    reference, most = start.copy(), violation(start)
    better = True
    while better:
        better = False
        for part, options in enumerate(taken):
            for option in options.tolist():
                if usages[option] == usages[reference[part]]:
                    continue
                tried = reference.copy()
                tried[part] = option
                by = violation(tried)
                if by > most + _LEAST_GAIN:
                    reference, most, better = tried, by, True
    row = rounding_cut(usages, p.part_of, reference, packs, stock, size)
    if row is None or most < _LEAST_GAIN:
        return None
    coefficients = np.zeros(len(relaxed))
    coefficients[: len(usages)], coefficients[columns], least = row
    return Cut(coefficients, least)
