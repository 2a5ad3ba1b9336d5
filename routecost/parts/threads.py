"""How many threads a question over many points may be spread over.

Only for searches in compiled code, which need no interpreter meanwhile. Threads that each look along a line with
numpy were tried: they wait for the interpreter so often that a second core gains a twentieth.
"""

from __future__ import annotations

from multiprocessing import parent_process

from routecost.parts.parallel import usable_cores

MOST_THREADS = 4
"""More are not worth their start for some thousand points."""


def usable_threads() -> int:
    """One a core, but only one in a worker process, whose siblings fill the cores."""
    return 1 if parent_process() is not None else min(MOST_THREADS, usable_cores())
