"""A computation that changes must raise its version, or caches would go on giving the old numbers."""

from __future__ import annotations

import json

import pytest

from routecost.core.cache import version
from tests.golden.golden_numbers import FILE, KINDS, computed, differences

RELATIVE = 1e-9
"""Other processors and builds of the libraries differ in the last digits only."""


@pytest.mark.parametrize("kind", KINDS)
def test_numbers_change_only_with_their_version(kind: str) -> None:
    stored, now = json.loads(FILE.read_text())[kind], computed(kind)
    if stored["version"] != now["version"]:
        pytest.fail(f"{kind} was raised: run `python -m tests.golden` to store new numbers")
    found = differences(stored["numbers"], now["numbers"], RELATIVE)
    if found:
        what = f"{len(found)} numbers changed while {kind} is still {getattr(version, kind)}"
        mend = f"raise {kind} and run `python -m tests.golden` to store new numbers"
        pytest.fail("\n".join([f"{what}: {mend}", *found[:10]]))


def test_differences_are_found_and_last_digits_are_not() -> None:
    one = {"a": [1.0, {"b": 0.0}], "c": "x", "d": True}
    assert differences(one, {"a": [1.0 + 5e-10, {"b": 1e-12}], "c": "x", "d": True}, RELATIVE) == []
    for other in (
        {"a": [1.0 + 3e-9, {"b": 0.0}], "c": "x", "d": True},
        {"a": [1.0], "c": "x", "d": True},
        {"a": [1.0, {"b": 0.0}], "c": "y", "d": True},
        {"a": [1.0, {"b": 0.0}], "c": "x", "d": False},
        {"a": [1.0, {"e": 0.0}], "c": "x", "d": True},
    ):
        assert len(differences(one, other, RELATIVE)) == 1
