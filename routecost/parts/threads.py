"""Independent work over a few threads of one process, in the order given.

numpy lets other threads run while it computes on large arrays, so a part that is measured alone uses the cores that
there are. What is computed does not depend on how many threads compute it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from multiprocessing import parent_process
from typing import TypeVar

from routecost.parts.parallel import usable_cores

Task = TypeVar("Task")
Result = TypeVar("Result")

MOST_THREADS = 4
"""Beyond this the threads wait for the interpreter more than they compute."""


def usable_threads() -> int:
    """Threads worth starting here: one a core, but only one in a worker, whose siblings fill the cores."""
    return 1 if parent_process() is not None else min(MOST_THREADS, usable_cores())


def over_threads(work: Callable[[Task], Result], tasks: Iterable[Task]) -> list[Result]:
    """`[work(task) for task in tasks]`; what `work` raises is raised here.

    >>> over_threads(abs, [-3, 2])
    [3, 2]
    """
    tasks = list(tasks)
    threads = min(usable_threads(), len(tasks))
    if threads < 2:
        return [work(task) for task in tasks]
    from concurrent.futures import ThreadPoolExecutor

    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(work, tasks))
