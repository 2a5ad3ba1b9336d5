"""Fast stable ordering of integer keys: a plain sort of numbers that contain their own index.

numpy sorts integers with vector instructions, ten times as fast as its stable argsort.
"""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Ints


def stable_order(key: Ints) -> Ints:
    """Indices (n,) that sort keys (n,) ≥ 0; equal keys stay in their order.

    >>> stable_order(np.array([7, 0, 7, 3])).tolist()
    [1, 3, 0, 2]
    """
    bits = len(key).bit_length()
    if len(key) and int(key.max()) >> (63 - bits):
        return np.asarray(np.argsort(key, kind="stable"))  # no bits left for the index
    placed = (key << bits) | np.arange(len(key))
    placed.sort()
    return np.asarray(placed & ((1 << bits) - 1))
