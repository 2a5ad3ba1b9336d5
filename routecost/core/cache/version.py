"""Versions of the computations whose results are cached. They are part of every cache key."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.metadata import PackageNotFoundError, version

MEASURES_VERSION = 1
"""Raise it whenever a change lets a mesh be read differently or any measure come out differently (more than the
last digits), or changes the parameters of a question. Then run `python -m tests.golden`."""

PLANS_VERSION = 1
"""Raise it whenever a change lets a route that comes with the program give other plans for the same part and
shop: other steps, quantities, reasons or texts. Then run `python -m tests.golden`."""

_LIBRARIES = ("numpy", "scipy", "manifold3d", "trimesh")
"""Packages that compute the answers: another version of one of them may give other numbers."""


@cache
def measures_key() -> str:
    """Names the way of measuring: MEASURES_VERSION and the versions of the libraries that compute.

    >>> measures_key().partition("-")[0] == f"m{MEASURES_VERSION}"
    True
    """
    text = " ".join(f"{name} {_installed(name)}" for name in _LIBRARIES)
    return f"m{MEASURES_VERSION}-{hashlib.sha256(text.encode()).hexdigest()[:12]}"


def plans_key() -> str:
    """Names the way of planning, which rests on that of measuring."""
    return f"p{PLANS_VERSION}-{measures_key()}"


def _installed(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:  # put on the path without its metadata
        return "unknown"
