"""Independent work over several processes, in the order given, without harm when it is broken off."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, nullcontext
from multiprocessing import get_context, spawn
from typing import Any, TypeVar

Task = TypeVar("Task")
Result = TypeVar("Result")

# A worker takes about a second to start and to import the kernels: less work than this is done sooner here.
WORTH_STARTING_S = 3.0


def in_parallel(
    work: Callable[[Task], Result],
    tasks: Sequence[Task],
    *,
    workers: int | None = None,
    expected_s: Callable[[Task], float] | None = None,
    on_done: Callable[[Task, Result], None] | None = None,
) -> list[Result]:
    """`[work(task) for task in tasks]`, over `workers` processes (as many as the machine has cores if None).

    `work` is a function of a module; tasks and results can be pickled. Workers import that module and what the
    tasks are made of, but do not run the user's script. `expected_s` guesses the seconds a task takes: the
    longest go first, and where all together are soon done no process starts. `on_done` is called in this
    process as each result comes in. What `work` raises is raised here; the rest is dropped.

    >>> in_parallel(abs, [-3, 2], workers=1)
    [3, 2]
    """
    workers = min(workers or usable_cores(), len(tasks))
    worth = expected_s is None or sum(map(expected_s, tasks)) > WORTH_STARTING_S
    results: dict[int, Result] = {}

    def keep(index: int, result: Result) -> None:
        results[index] = result
        if on_done is not None:
            on_done(tasks[index], result)

    if workers > 1 and worth:
        order = list(range(len(tasks)))
        if expected_s is not None:
            seconds = [expected_s(task) for task in tasks]
            order.sort(key=lambda index: -seconds[index])
        _over_processes(work, tasks, order, workers, keep)
    for index in range(len(tasks)):
        if index not in results:
            keep(index, work(tasks[index]))
    return [results[index] for index in range(len(tasks))]


def usable_cores() -> int:
    """Cores that this process may use, which in a container can be fewer than the machine has."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _over_processes(
    work: Callable[[Task], Result],
    tasks: Sequence[Task],
    order: Sequence[int],
    workers: int,
    keep: Callable[[int, Result], None],
) -> None:
    """Keep what the workers bring home; what is left when they cannot start or one is killed stays undone."""
    futures: dict[Future[Result], int] = {}
    try:
        # spawned, not forked: a fork copies locks that the page's threads may hold
        pool = ProcessPoolExecutor(workers, get_context("spawn"), _die_quietly_on_a_break)
        with nullcontext() if work.__module__ == "__main__" else _main_left_out():
            for index in order:  # handing in work starts the workers
                futures[pool.submit(work, tasks[index])] = index
    except (OSError, NotImplementedError, ImportError, BrokenProcessPool):
        return  # a system without semaphores, or with no room for another process
    try:
        for future in as_completed(futures):
            keep(futures[future], future.result())
    except BrokenProcessPool:
        return  # a worker was killed, as when memory runs out: one at a time needs less of it
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


_starting = threading.Lock()


@contextmanager
def _main_left_out() -> Iterator[None]:
    """Processes that this thread starts do not run the user's script again to have its `__main__`: a script
    without `if __name__ == "__main__":` would start workers of its own in each worker, and fail."""
    here = threading.get_ident()
    with _starting:
        prepared = spawn.get_preparation_data

        def without_main(name: str) -> dict[str, Any]:
            found = prepared(name)
            if threading.get_ident() == here:
                for key in ("init_main_from_name", "init_main_from_path"):
                    found.pop(key, None)
            return found

        spawn.get_preparation_data = without_main
        try:
            yield
        finally:
            spawn.get_preparation_data = prepared


def _die_quietly_on_a_break() -> None:
    # Ctrl-C reaches every process of the terminal: workers end at once, the parent alone speaks of it
    signal.signal(signal.SIGINT, signal.SIG_DFL)
