"""Reasons in numbers that every route shares."""

from __future__ import annotations

import pytest

from routecost.routes.process.part import Demands, Part
from routecost.routes.steps.verdicts import tolerance_reason
from tests.routes.printing.printed_shape import PrintedShape
from tests.routes.stated import shipped_shop


@pytest.mark.parametrize(
    ("longest_mm", "wanted_mm", "level", "text"),
    [
        # up to 100 mm what is stated for 100 mm holds
        (50.0, 0.2, "suits", "±0.2 mm is within ±0.2 mm"),
        (50.0, 0.19, "changes", "holds about ±0.2 mm on 50 mm"),
        # beyond it errors grow with the length: three times 0.2 mm on 300 mm
        (300.0, 0.61, "suits", "±0.6 mm is within ±0.61 mm"),
        (300.0, 0.5, "changes", "holds about ±0.6 mm on 300 mm; leave stock and fit by hand"),
        (300.0, 0.29, "ruled out", "holds about ±0.6 mm on 300 mm"),
    ],
)
def test_tolerance_grows_with_length_beyond_100_mm(
    longest_mm: float, wanted_mm: float, level: str, text: str
) -> None:
    """In proportion to length: common practice, no source (ISO 2768-1 grows more slowly, so this is the safe side)."""
    shape = PrintedShape(extents_mm=(20.0, longest_mm, 30.0))
    reason = tolerance_reason(
        Part("bar", "a bar", 1, Demands(tolerance_mm=wanted_mm), shape), 0.2, "a printer", shipped_shop()
    )
    assert reason is not None
    assert (reason.level, text in reason.text) == (level, True), reason.text
