"""The array types that the program passes around, and a direction in space."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Vector = tuple[float, float, float]
"""x, y, z; a unit vector where it says where up is."""
