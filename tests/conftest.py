"""One hypothesis profile for all tests: the same examples every run, and no deadline on a busy machine."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
