"""Independent work over several processes: results in the order of the tasks, nothing left behind by a break."""

from __future__ import annotations

import ast
import os
import signal
import sys
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from pathlib import Path
from typing import TypeVar

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
    executor: Executor | None = None,
) -> list[Result]:
    """`[work(task) for task in tasks]`, over `workers` processes (as many as the machine has cores if None).

    `work` is a function of a module; tasks and results can be pickled. `expected_s` guesses the seconds a task
    takes: the longest go first, and where all together are soon done no process starts. `on_done` is called in
    this process as each result comes in. What `work` raises is raised here; the other results are dropped.

    `executor` does the work instead of processes started here; it is not shut down. Without one, a script that
    has no `if __name__ == "__main__":` gets its results from this process alone: each new process would run the
    script again.

    >>> in_parallel(abs, [-3, 2], workers=1)
    [3, 2]
    """
    seconds = [expected_s(task) if expected_s else WORTH_STARTING_S for task in tasks]
    order = sorted(range(len(tasks)), key=lambda index: -seconds[index])
    workers = min(workers or usable_cores(), len(tasks))
    results: dict[int, Result] = {}

    def store(index: int, result: Result) -> None:
        results[index] = result
        if on_done is not None:
            on_done(tasks[index], result)

    if executor is not None:
        _over(executor, work, tasks, order, store)
    elif workers > 1 and sum(seconds) > WORTH_STARTING_S and main_can_be_imported():
        own = _started(workers)
        if own is not None:
            try:
                _over(own, work, tasks, order, store)
            finally:
                own.shutdown(wait=True, cancel_futures=True)
    for index in range(len(tasks)):
        if index not in results:
            store(index, work(tasks[index]))
    return [results[index] for index in range(len(tasks))]


def usable_cores() -> int:
    """Cores that this process may use, which in a container can be fewer than the machine has."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def main_can_be_imported() -> bool:
    """Whether a spawned process may import the program's main file, as it does, without running the program.

    True for a `__main__` module of a package, which is not imported again, for a session without a file, and for
    a file that asks for `__name__`, as the command's own entry script does.
    """
    main = sys.modules["__main__"]
    spec = getattr(main, "__spec__", None)
    if spec is not None and spec.name.rpartition(".")[2] == "__main__":
        return True
    file = getattr(main, "__file__", None)
    if file is None:
        return True
    try:
        tree = ast.parse(Path(file).read_bytes())
    except (OSError, SyntaxError, ValueError):  # not a source file
        return False
    tests = [node.test for node in tree.body if isinstance(node, ast.If)]
    return any(isinstance(name, ast.Name) and name.id == "__name__" for t in tests for name in ast.walk(t))


def _started(workers: int) -> ProcessPoolExecutor | None:
    try:
        # spawned, not forked: a fork copies locks that the page's threads may hold
        return ProcessPoolExecutor(workers, get_context("spawn"), _die_quietly_on_a_break)
    except (OSError, NotImplementedError, ImportError):
        return None  # a system without semaphores


def _over(
    executor: Executor,
    work: Callable[[Task], Result],
    tasks: Sequence[Task],
    order: Sequence[int],
    store: Callable[[int, Result], None],
) -> None:
    """Store what the workers return; what is left when they cannot start or one is killed stays undone."""
    futures: dict[Future[Result], int] = {}
    try:
        for index in order:  # the first submitted starts the workers
            futures[executor.submit(work, tasks[index])] = index
    except (OSError, BrokenProcessPool):
        return  # no room for another process
    try:
        for future in as_completed(futures):
            store(futures[future], future.result())
    except BrokenProcessPool:
        return  # a worker was killed, as when memory runs out: one at a time needs less of it
    finally:
        for future in futures:
            future.cancel()


def _die_quietly_on_a_break() -> None:
    # Ctrl-C reaches every process of the terminal: workers end at once, the parent alone reports it
    signal.signal(signal.SIGINT, signal.SIG_DFL)
