"""Working days on a grid of steps: where a sitting of hands-on work fits, and how much fits before a moment."""

from __future__ import annotations

import datetime as dt
import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import cached_property

from routecost.builds.working_time import DAY_MIN, WorkingTime

HORIZON_DAYS = 3653
"""Ten years: whatever takes longer by hand is not a plan."""


class TooLong(Exception):
    """The work does not end within the horizon."""


@dataclass(frozen=True)
class Workdays:
    """Windows for hands, in steps since the midnight before the first day. Hands work in one window a day."""

    days: tuple[int, ...]
    """Days that are worked, counted from the first day, up to the horizon."""
    day_steps: int
    opens: int
    """Steps after midnight."""
    closes: int

    @staticmethod
    def of(working: WorkingTime, start: dt.date, step_min: int) -> Workdays:
        """Windows are rounded inwards to the grid, so that no day gets more than its hours; of a whole day the
        last step is left out, so that windows never touch. Raises TooLong where nothing is left of them."""
        if DAY_MIN % step_min:
            raise ValueError(f"{step_min} min do not divide a day")
        opens, closes = working.window_min
        found = Workdays(
            days=tuple(d for d in range(HORIZON_DAYS) if not working.is_off(start + dt.timedelta(days=d))),
            day_steps=DAY_MIN // step_min,
            opens=math.ceil(opens / step_min - 1e-9),
            closes=min(math.floor(closes / step_min + 1e-9), DAY_MIN // step_min - 1),
        )
        if found.window < 1 or not found.days:
            raise TooLong
        return found

    @property
    def window(self) -> int:
        """Steps of hands-on work a day."""
        return self.closes - self.opens

    @cached_property
    def openings(self) -> tuple[int, ...]:
        """When each window opens."""
        return tuple(day * self.day_steps + self.opens for day in self.days)

    @cached_property
    def closed(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """Steps at which windows open or close, and whether it is closed (1) or open (0) from each on.

        >>> Workdays((0, 2), day_steps=24, opens=18, closes=20).closed
        ((0, 18, 20, 66, 68), (1, 0, 1, 0, 1))
        """
        edges = [edge for at in self.openings for edge in (at, at + self.window)]
        times = edges if edges and edges[0] == 0 else [0, *edges]
        return tuple(times), tuple((len(times) - i) % 2 for i in range(len(times)))

    def earliest(self, at: int, length: int) -> int:
        """The first start not before `at` of a sitting of `length` steps. Raises TooLong.

        >>> evenings = Workdays((0, 1, 3), day_steps=24, opens=18, closes=20)
        >>> evenings.earliest(0, 2), evenings.earliest(19, 1), evenings.earliest(19, 2), evenings.earliest(44, 1)
        (18, 19, 42, 90)
        """
        k = bisect_right(self.openings, at) - 1
        if k >= 0 and at + length <= self.openings[k] + self.window:
            return at
        if k + 1 >= len(self.openings):
            raise TooLong
        return self.openings[k + 1]

    def latest(self, at: int, length: int) -> int:
        """The last start not after `at`; -1 where there is none.

        >>> evenings = Workdays((0, 1, 3), day_steps=24, opens=18, closes=20)
        >>> evenings.latest(19, 2), evenings.latest(60, 1), evenings.latest(17, 1)
        (18, 43, -1)
        """
        k = bisect_right(self.openings, at) - 1
        return min(at, self.openings[k] + self.window - length) if k >= 0 else -1

    def worked(self, at: int) -> int:
        """Steps of hands-on work that the windows hold before `at`.

        >>> evenings = Workdays((0, 1, 3), day_steps=24, opens=18, closes=20)
        >>> [evenings.worked(at) for at in (0, 18, 19, 30, 43, 91)]
        [0, 0, 1, 2, 3, 5]
        """
        k = bisect_right(self.openings, at) - 1
        return k * self.window + min(at - self.openings[k], self.window) if k >= 0 else 0

    def index(self, at: int) -> int:
        """Which of the windows a sitting that starts at `at` is in."""
        return bisect_left(self.openings, at + 1) - 1
