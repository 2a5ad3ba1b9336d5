"""How long a timetable takes, and how far from the best it may be at most, by the number of plans.

    python tests/bench/bench_timetable.py [EFFORT_S]

Nothing is asserted: times hang on the machine. What to look at are the gap (what a better order could still
save, as a share of the whole) and the growth. `rule` is the priority rule alone, `search` all of the effort.
"""

from __future__ import annotations

import datetime as dt
import os
import sys
from pathlib import Path
from time import perf_counter, process_time

os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from routecost.builds.working_time import read_working_time
from routecost.scheduling.timetable import schedule
from tests.planning.made_plans import made_plans

SIZES = (1, 3, 10, 20, 50, 200)
DAYS = ((2.0, "sunday"), (4.0, ""), (12.0, ""))


def main() -> None:
    effort_s = float(sys.argv[1]) if len(sys.argv) > 1 else 10.0
    schedule(made_plans(1), start=dt.date(2026, 3, 2), working=read_working_time(2.0))  # loads the solver
    print(
        f"{'plans':>5} {'h/day':>5} {'':<7}{'days':>7} {'gap':>6} {'status':<9}{'entries':>7} {'cpu s':>6} {'s':>6}"
    )
    for count in SIZES:
        plans = made_plans(count)
        for hours_a_day, days_off in DAYS:
            for name, effort in (("rule", 0.0), ("search", effort_s)):
                clock, cpu = perf_counter(), process_time()
                found = schedule(
                    plans,
                    start=dt.date(2026, 3, 2),
                    working=read_working_time(hours_a_day, "", days_off),
                    effort_s=effort,
                )
                clock, cpu = perf_counter() - clock, process_time() - cpu
                days = (found.finish - dt.datetime(2026, 3, 2)).total_seconds() / 86400.0
                print(
                    f"{count:>5} {hours_a_day:>5g} {name:<7}{days:>7.2f} {found.gap_days / days:>6.2%} "
                    f"{found.status:<9}{len(found.entries):>7} {cpu:>6.1f} {clock:>6.1f}",
                    flush=True,
                )


if __name__ == "__main__":
    main()
