"""The steps of a print, whatever it is for: a part, a shell to be filled, a master for a mold.

`print_operations(run)` turns a run of `print_runs` into steps with their draws. Which poses, pieces and
plates are worth a run is decided in `print_ways`.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp

from routecost.core.wording import counted
from routecost.routes.printing.print_runs import PrintRun
from routecost.routes.process.operation import Operation, Usage, own_time, timed, used
from routecost.routes.steps.running import printer_usages

_CYCLE = "plate"
"""The bed is cleared before the next plate is begun: what both steps are repeated as."""


def print_operations(
    run: PrintRun, tries: float = 1.0, why: str = "", facts: tuple[str, ...] = ()
) -> tuple[Operation, ...]:
    """Prepare, print, take off: every step of one run with its draws.

    `tries` prints are made for each good body, pro rata, where a later step loses some; `why` and `facts`
    say so.
    """
    name = f" the {run.body.what}" if run.body.what else ""
    s = run.standards
    prepare = Operation(
        f"prepare the print{' of' if name else ''}{name}",
        (timed(s.rate("prepare_part_min", "to orient, set and check the layers")),),
        once=True,
    )
    steps = (_print(run, f"print{name or ' the part'}"), _take_off(run, name))
    return prepare, *(repeated(step, tries, why, facts) for step in steps)


def repeated(op: Operation, times: float, why: str, facts: tuple[str, ...]) -> Operation:
    """A step done `times` over, pro rata; every draw says why."""
    if times == 1.0:
        return op
    more = op.times(times)
    usages = tuple(replace(d, why=f"{d.why}; {why}", facts=(*d.facts, *facts)) for d in more.usages)
    return replace(more, usages=usages)


def _print(run: PrintRun, name: str) -> Operation:
    s, p = run.standards, run.printer
    longest = max(run.jobs, key=lambda job: job.hours)
    time = run.time(longest.bodies)
    plates = " + ".join(f"{counted(j.plates, 'plate')} of {j.bodies}, {j.hours:.2f} h each" for j in run.jobs)
    most = f"{time.dominant} take {time.by_kind[time.dominant] / time.total_min:.0%} of it"
    starts = (run.starts, f"expected starts of {counted(run.plates, 'plate')}")
    usages = [*_filament(run), *printer_usages(p, run.undisturbed_h, f"{plates}; {most}")]
    lost_h = run.machine_h - run.undisturbed_h
    if lost_h > 0.0:
        why = f"expected to be lost at {p.failure_per_h:g} failures an hour"
        usages += printer_usages(p, lost_h, why, p.ref("failure_per_h"))
    usages += [
        timed(starts, s.rate("start_plate_min")),
        used("isopropanol", starts, s.rate("bed_alcohol_g", "to clean the bed")),
        used("wipe", starts),
    ]
    lost = 1.0 - exp(-p.failure_per_h * longest.hours)
    return Operation(
        name,
        tuple(usages),
        machine=p.id,
        machine_min=run.machine_h * 60.0,
        runs=round(run.starts),
        cautions=("printing",),
        note=f"{plates}; {most}; a plate is lost with {lost:.0%}, and all on it",
        cycle=_CYCLE,
    )


def _filament(run: PrintRun) -> list[Usage]:
    """One usage for each reason filament is used; none where nothing of a kind is laid."""
    s, f, n, body = run.standards, run.filament, run.bodies, run.body
    density, core_cm3 = f.ref("density_g_cm3"), body.deposit.core_volume_mm3 * body.amount / 1000.0
    columns_cm3, lost = body.support_columns_mm3 / 1000.0, run.machine_h / run.undisturbed_h - 1.0
    infill = (*density, *s.ref("infill_share")) if body.infill_share == s.infill_share else density
    supports, failures = s.ref("support_share"), run.printer.ref("failure_per_h")
    supports_why = f"supports: {n} x {columns_cm3:.2f} cm³ of columns x {s.support_share:g}"
    infill_why = f"infill: {n} x {core_cm3:.2f} cm³ of core x {body.infill_share:g}"
    laid = (
        Usage(f.id, n * run.shell_g, f"walls and skins: {n} x {run.shell_g:.2f} g", density),
        Usage(f.id, n * run.infill_g, infill_why, infill),
        Usage(f.id, n * run.support_g, supports_why, (*density, *supports)),
        used(f.id, (run.plates, "plates"), s.rate("purge_g", "of purge")),
        Usage(f.id, run.lost_g, f"in failed prints: {lost:.1%} of all that is laid", (*density, *failures)),
    )
    return [usage for usage in laid if usage.quantity > 0.0]


def _take_off(run: PrintRun, name: str) -> Operation:
    s, n, b = run.standards, run.bodies, run.body
    supports_min = n * run.support_removal_min
    bodies = (n, "copies")
    usages = [
        timed(bodies, s.rate("remove_copy_min", "off the bed")),
        timed(bodies, s.rate("clean_up_copy_min", "for strings, brim and burrs")),
    ]
    if supports_min > 0.0:
        why = f"{n} x {b.contact_cm2:.1f} cm² of support contact x {s.support_min_per_cm2:g} min/cm²"
        if b.unreached_share > 0.0:
            why += f", {b.unreached_share:.0%} of it x {s.support_unreached_factor:g} where no finger reaches"
        usages.append(own_time(supports_min, why, s.ref("support_min_per_cm2")))
    usages.append(used("blade", (run.clean_up_min, "min"), s.rate("blade_life_min", "a blade")))
    return Operation(
        f"take{name or ' the part'} off" + (", remove supports" if supports_min > 0.0 else "") + ", clean up",
        tuple(usages),
        runs=round(run.starts),
        cautions=("blade",),
        cycle=_CYCLE,
    )
