"""Orders of whole-number keys, quickly: a plain sort of numbers that carry their own place.

numpy sorts whole numbers with vector instructions, ten times as fast as it finds a stable order of them.
"""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Ints


def stable_order(key: Ints) -> Ints:
    """The order (n,) in which keys (n,) ≥ 0 ascend, equals in the order in which they stand.

    >>> stable_order(np.array([7, 0, 7, 3])).tolist()
    [1, 3, 0, 2]
    """
    bits = len(key).bit_length()
    if len(key) and int(key.max()) >> (63 - bits):
        return np.asarray(np.argsort(key, kind="stable"))  # no room for the place
    placed = (key << bits) | np.arange(len(key))
    placed.sort()
    return np.asarray(placed & ((1 << bits) - 1))
