"""Orders against numpy's own stable sort."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routecost.mesh.geometry.stable_order import stable_order


@given(st.lists(st.integers(0, 20), max_size=200), st.sampled_from([0, 30, 52, 58]))
@settings(max_examples=60, deadline=None)
def test_equals_stay_in_place_whatever_the_size_of_the_keys(small: list[int], shift: int) -> None:
    """The largest keys leave no room for a place beside them."""
    key = np.array(small, dtype=np.int64) << shift
    assert stable_order(key).tolist() == np.argsort(key, kind="stable").tolist()


@pytest.mark.parametrize("bits", [54, 55, 56, 62])
def test_keys_up_to_the_last_bit(bits: int) -> None:
    key = np.array([2**bits, 2**bits - 1, 0, 2**bits] * 60)
    assert stable_order(key).tolist() == np.argsort(key, kind="stable").tolist()
