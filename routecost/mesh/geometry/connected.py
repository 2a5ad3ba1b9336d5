"""Connected components."""

from __future__ import annotations

import numpy as np

from routecost.core.arrays import Ints


def connected_groups(number: int, a: Ints, b: Ints) -> tuple[int, Ints]:
    """Connected components of a graph of nodes 0 … number − 1 with edges a–b: their number, and that of each node.

    >>> connected_groups(4, np.array([0, 3]), np.array([2, 1]))
    (2, array([0, 1, 0, 1]))
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(a), np.int8), (a, b)), shape=(number, number))
    groups, label = connected_components(graph, directed=False)
    return int(groups), np.asarray(label, dtype=np.int64)
