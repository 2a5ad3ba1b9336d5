"""What is put on a timetable: tasks of hands, then a machine, then waiting; and when each can begin at best.

All times are whole steps of a grid. Everything that a task holds it holds from its start, so moving a task
to the left only frees what comes later; that is why putting tasks in order of start never worsens a timetable.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from routecost.scheduling.workdays import Workdays


@dataclass(frozen=True)
class Task:
    """Hands are needed at its beginning in one sitting; a machine is held from the start on."""

    span: int
    """From its start until its followers may begin."""
    hands: int = 0
    machine: str = ""
    """One that others want too; a machine of its own needs no name."""
    held: int = 0
    """How long the machine is held, hands included."""
    after: tuple[int, ...] = ()
    """Places in the list of tasks, all before its own."""
    not_before: int = 0
    resumes: bool = False
    """It goes on with what the task before it in the list was laid down from."""


@dataclass(frozen=True)
class TaskNetwork:
    """Tasks with what they share: the windows of hands, and how many there are of each machine."""

    tasks: tuple[Task, ...]
    workdays: Workdays
    capacity: Mapping[str, int]
    """Of every machine that a task names."""
    due: Mapping[int, int] = field(default_factory=dict)
    """By place in the list of tasks: when a task should be over."""

    def lateness(self, starts: Sequence[int]) -> int:
        """Steps by which tasks are over after they are due, all together."""
        return sum(max(0, starts[i] + self.tasks[i].span - due) for i, due in self.due.items())

    def finish(self, starts: Sequence[int]) -> int:
        return max((s + task.span for s, task in zip(starts, self.tasks, strict=True)), default=0)


def earliest_starts(network: TaskNetwork) -> list[int]:
    """When each task can begin if nothing is ever busy: critical paths from the front. Raises TooLong."""
    found: list[int] = []
    for task in network.tasks:
        at = max((found[i] + network.tasks[i].span for i in task.after), default=0)
        at = max(at, task.not_before)
        found.append(network.workdays.earliest(at, task.hands) if task.hands else at)
    return found


def latest_starts(network: TaskNetwork, finish: int, due: Mapping[int, int] | None = None) -> list[int]:
    """When each task must begin for all to end by `finish`, and some when they are due, if nothing is ever busy;
    below 0: it cannot."""
    found = [min(finish, (due or {}).get(i, finish)) - task.span for i, task in enumerate(network.tasks)]
    for i in range(len(network.tasks) - 1, -1, -1):
        task = network.tasks[i]
        if task.hands:
            found[i] = network.workdays.latest(found[i], task.hands)
        for before in task.after:
            found[before] = min(found[before], found[i] - network.tasks[before].span)
    return found
