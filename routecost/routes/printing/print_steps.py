"""The steps of a print, whatever it is for: a part, a shell to be filled, a master for a mold.

`print_operations(run)` turns a run of `print_runs` into steps with their draws. Which poses, pieces and
plates are worth a run is told by `print_ways`.
"""

from __future__ import annotations

from dataclasses import replace
from math import exp

from routecost.core.wording import counted
from routecost.routes.printing.print_runs import PrintRun
from routecost.routes.process.operation import Operation, Usage, own_time
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
        (
            own_time(
                s.prepare_part_min,
                f"{s.prepare_part_min:g} min: orient, set, check the layers",
                s.ref("prepare_part_min"),
            ),
        ),
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
    starts = f"{run.starts:.2f} expected starts of {counted(run.plates, 'plate')}"
    at_rate = f"at {p.failure_per_h:g} failures an hour"
    lost_h = run.machine_h - run.undisturbed_h
    usages = [
        *_filament(run),
        *printer_usages(p, run.undisturbed_h, f"{plates}; {most}"),
        *(replace(d, facts=(*d.facts, *p.ref("failure_per_h")))
          for d in printer_usages(p, lost_h, f"expected to be lost {at_rate}") if lost_h > 0.0),
        own_time(run.starts * s.start_plate_min, f"{starts} x {s.start_plate_min:g} min",
                 s.ref("start_plate_min")),
        Usage("isopropanol", run.starts * s.bed_alcohol_g, f"{starts} x {s.bed_alcohol_g:g} g to clean the bed",
             s.ref("bed_alcohol_g")),
        Usage("wipe", run.starts, f"one for each of {starts}"),
    ]  # fmt: skip
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
    """One draw for each reason filament is used; none where nothing of a kind is laid."""
    s, f, n = run.standards, run.filament, run.bodies
    density = f.ref("density_g_cm3")
    columns_cm3 = run.body.support_columns_mm3 / 1000.0
    core_cm3 = run.body.deposit.core_volume_mm3 * run.body.amount / 1000.0
    laid = (
        (n * run.shell_g, f"walls and skins: {n} x {run.shell_g:.2f} g", density),
        (n * run.infill_g, f"infill: {n} x {core_cm3:.2f} cm³ of core x {run.body.infill_share:g}",
         (*density, *s.ref("infill_share")) if run.body.infill_share == s.infill_share else density),
        (n * run.support_g, f"supports: {n} x {columns_cm3:.2f} cm³ of columns x {s.support_share:g}",
         (*density, *s.ref("support_share"))),
        (run.plates * s.purge_g, f"purge: {counted(run.plates, 'plate')} x {s.purge_g:g} g", s.ref("purge_g")),
        (run.lost_g, f"in failed prints: {run.machine_h / run.undisturbed_h - 1.0:.1%} of all that is laid",
         (*density, *run.printer.ref("failure_per_h"))),
    )  # fmt: skip
    return [Usage(f.id, grams, why, facts) for grams, why, facts in laid if grams > 0.0]


def _take_off(run: PrintRun, name: str) -> Operation:
    s, n, b = run.standards, run.bodies, run.body
    supports_min = n * run.support_removal_min
    usages = [
        own_time(
            n * s.remove_copy_min, f"{n} x {s.remove_copy_min:g} min off the bed", s.ref("remove_copy_min")
        ),
        own_time(
            n * s.clean_up_copy_min,
            f"{n} x {s.clean_up_copy_min:g} min for strings, brim and burrs",
            s.ref("clean_up_copy_min"),
        ),
    ]
    if supports_min > 0.0:
        why = f"{n} x {b.contact_cm2:.1f} cm² of support contact x {s.support_min_per_cm2:g} min/cm²"
        if b.unreached_share > 0.0:
            why += f", {b.unreached_share:.0%} of it x {s.support_unreached_factor:g} where no finger reaches"
        usages.append(own_time(supports_min, why, s.ref("support_min_per_cm2")))
    why = f"{run.clean_up_min:.0f} min at {s.blade_life_min:g} min a blade"
    usages.append(Usage("blade", run.clean_up_min / s.blade_life_min, why, s.ref("blade_life_min")))
    return Operation(
        f"take{name or ' the part'} off" + (", remove supports" if supports_min > 0.0 else "") + ", clean up",
        tuple(usages),
        runs=round(run.starts),
        cautions=("blade",),
        cycle=_CYCLE,
    )
