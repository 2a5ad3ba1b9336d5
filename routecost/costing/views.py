"""The figures that a cost can be seen by."""

from __future__ import annotations

from typing import Literal

View = Literal["full", "spend", "own-time"]
"""Everything at its rate; money that leaves the purse; hours of the maker's own."""
By = Literal["full", "spend", "own-time", "lead-time"]
BY: tuple[By, ...] = ("full", "spend", "own-time", "lead-time")
"""What routes can be ranked by."""
