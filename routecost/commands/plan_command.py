"""The whole bill at once: `plan`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from routecost.api.plan_bill import Plan, plan
from routecost.api.revisit import Revisit, revisit, save
from routecost.builds.build import load_build
from routecost.commands.command import Command, build_argument
from routecost.commands.command_options import copies, day, print_json, progress, within
from routecost.core.errors import Fault, InputError
from routecost.core.files import write_for_user
from routecost.planning.choosing.plan_request import PlanRequest
from routecost.planning.progress.saved_plan import saved_or_none
from routecost.reports.files.buy_list_csv import buy_list_csv
from routecost.reports.files.icalendar import timetable_ical
from routecost.reports.files.timetable_csv import timetable_csv
from routecost.reports.json.plan_json import plan_json
from routecost.reports.json.revisit_json import revisit_json
from routecost.reports.text.plan_text import print_plan
from routecost.reports.text.revisit_text import print_revisit
from routecost.reports.text.terminal import console
from routecost.reports.workbook.plan_book import write_plan_workbook

_BY = ("full", "outlay", "own-time")


def _plan_options(made: argparse.ArgumentParser) -> None:
    build_argument(made)
    asks = made.add_argument_group("what shall be least")
    asks.add_argument("--by", choices=_BY, default=None, help="full cost (if left out), outlay or own time")
    asks.add_argument(
        "--hour-worth", type=float, metavar="MONEY", help="outlay, and so much for each own hour"
    )
    limits = made.add_argument_group("limits")
    limits.add_argument(
        "--budget", type=float, metavar="MONEY", help="outlay (that of build.toml if left out; inf: none)"
    )
    limits.add_argument("--own-hours", type=float, metavar="H", help="hours of your own in all")
    limits.add_argument("--printer-hours", type=float, metavar="H", help="hours of all printers in all")
    limits.add_argument("--finish-by", metavar="DATE", help="the day on which all is done")
    limits.add_argument(
        "--pin", action="append", default=[], metavar="PART=ROUTE", help="make a part this way"
    )
    limits.add_argument("--without", action="append", default=[], metavar="PART", help="leave a part out")
    limits.add_argument("--as-designed", action="store_true", help="no way that needs a part changed")
    limits.add_argument("--copies", type=int, metavar="N", help="so many of each part instead")
    when = made.add_argument_group("when")
    when.add_argument("--start", metavar="DATE", help="the day on which work begins (that of the prices)")
    when.add_argument("--as-of", metavar="DATE", help="use the prices of that day, such as 2026-03-31")
    effort = made.add_argument_group("effort")
    effort.add_argument(
        "--gap",
        type=float,
        default=None,
        metavar="PERCENT",
        help="be content with a plan proven to be so near the best (0)",
    )
    effort.add_argument(
        "--seconds", type=int, default=60, metavar="N", help="longest search for the choice (60)"
    )
    effort.add_argument(
        "--quick", action="store_true", help="leave out what other plans offer, and the spreads"
    )
    later = made.add_argument_group("looking again")
    later.add_argument(
        "--revisit", action="store_true", help="what has changed since the saved plan, and whether to switch"
    )
    later.add_argument("--switch", action="store_true", help="with --revisit: save today's plan instead")
    later.add_argument("--afresh", action="store_true", help="as if nothing were begun: leave log.csv out")
    later.add_argument("--no-save", action="store_true", help="do not save the plan in the build's folder")
    files = made.add_argument_group("files")
    files.add_argument("--buy-list", metavar="FILE.csv", help="write the buy list")
    files.add_argument(
        "--workbook", metavar="FILE.xlsx", help="write all of it as a workbook of live formulas"
    )
    files.add_argument("--timetable", metavar="FILE.csv", help="write the timetable")
    files.add_argument("--calendar", metavar="FILE.ics", help="write the timetable for a calendar program")
    files.add_argument("--days", type=int, default=7, metavar="N", help="days of work that are listed (7)")


def _plan(options: argparse.Namespace) -> int:
    if options.revisit:
        return _revisit(options)

    if options.switch:
        raise InputError.of("command line", "--switch", "goes with --revisit", "write both")
    _check_files(options)
    plan_request = replace(PlanRequest(), **_request_fields(options))
    with progress("planning") as tick:
        found = plan(
            build := load_build(options.build),
            plan_request,
            as_of=day(options.as_of, "--as-of"),
            start=day(options.start, "--start"),
            gap=_percent(options.gap),
            seconds=within(options.seconds, 1, 86_400, "--seconds"),
            quick=options.quick,
            saved=saved_or_none(build.folder),
            ignore_log=options.afresh,
            progress=tick,
        )
    written = _write_files(options, found)
    if found.totals is not None and not options.no_save:
        written.append(save(found))
    if options.json:
        return print_json({**plan_json(found), "files": [str(path) for path in written]})
    print_plan(found, console(), _names(found), days=max(0, options.days))
    for path in written:
        print(f"wrote {path}")
    if found.totals is not None and not options.no_save:
        print(f"later: routecost plan {options.build} --revisit")
    return 0


def _revisit(options: argparse.Namespace) -> int:

    _check_files(options)
    with progress("looking again") as tick:
        build = load_build(options.build)
        found = revisit(
            build,
            _request_fields(options),
            as_of=day(options.as_of, "--as-of"),
            start=day(options.start, "--start"),
            quick=options.quick,
            seconds=within(options.seconds, 1, 86_400, "--seconds"),
            progress=tick,
        )
    written = _write_files(options, found.now)
    if options.switch and found.now.totals is not None:
        written.append(save(found.now))
    return _report_revisit(options, found, written)


def _report_revisit(options: argparse.Namespace, found: Revisit, written: Sequence[Path]) -> int:
    if options.json:
        return print_json({**revisit_json(found), "files": [str(path) for path in written]})
    print_revisit(found, console(), _names(found.now), days=max(0, options.days))
    for path in written:
        print(f"wrote {path}")
    if found.is_worth_switching and not options.switch:
        print(f"to switch: routecost plan {options.build} --revisit --switch")
    return 0


def _request_fields(options: argparse.Namespace) -> dict[str, Any]:
    """Fields of `PlanRequest` that flags set; a limit of 0 is a limit."""
    if options.by is not None and options.hour_worth is not None:
        raise InputError.of(
            "command line", "--by", "says something else than --hour-worth", "keep one of the two"
        )
    given = {
        "by": options.by,
        "hour_worth": options.hour_worth,
        "budget": options.budget,
        "own_hours": options.own_hours,
        "printer_hours": options.printer_hours,
        "finish_by": day(options.finish_by, "--finish-by"),
        "pins": _pins(options.pin) or None,
        "without": tuple(options.without) or None,
        "as_designed": options.as_designed or None,
        "copies": copies(options.copies),
    }
    found = {name: value for name, value in given.items() if value is not None}
    return {**found, "hour_worth": None} if options.by is not None else found


def _names(found: Plan) -> dict[str, str]:
    return {route.id: route.name for route in found.build.routes}


def _pins(texts: Sequence[str]) -> dict[str, str]:
    faults, found = list[Fault](), dict[str, str]()
    for text in texts:
        part, sign, route = text.partition("=")
        if not (part and sign and route):
            faults.append(
                Fault("command line", "--pin", f"{text!r} is no part and route", "write PART=ROUTE")
            )
        if found.setdefault(part, route) != route:
            what = f"{part} is pinned to {found[part]} and to {route}"
            faults.append(Fault("command line", "--pin", what, "keep one of the two"))
    if faults:
        raise InputError(faults)
    return found


def _percent(gap: float | None) -> float:
    if gap is None:
        return 0.0
    if not 0.0 <= gap <= 50.0:
        raise InputError.of("command line", "--gap", f"{gap:g} is out of range", "write 0 to 50 per cent")
    return gap / 100.0


_ENDINGS = {"buy_list": ".csv", "workbook": ".xlsx", "timetable": ".csv", "calendar": ".ics"}


def _check_files(options: argparse.Namespace) -> None:
    """Before minutes of work, not after."""
    for name, ending in _ENDINGS.items():
        file = getattr(options, name)
        if file is not None and Path(file).suffix.lower() != ending:
            flag = "--" + name.replace("_", "-")
            raise InputError.of(
                "command line", flag, f"{file!r} does not end in {ending}", f"write FILE{ending}"
            )


def _write_files(options: argparse.Namespace, found: Plan) -> list[Path]:

    written: list[Path] = []
    if found.totals is None or found.timetable is None:
        if any(getattr(options, name) for name in _ENDINGS):
            print("nothing was written, because there is no plan", file=sys.stderr)
        return written
    texts = {
        options.buy_list: buy_list_csv(found.items, found.workshop.tariff.currency, found.order_days),
        options.timetable: timetable_csv(found.timetable, found.orders),
        options.calendar: timetable_ical(found.timetable, found.build.settings.name, found.orders),
    }
    for file, text in texts.items():
        if file is not None:
            write_for_user(Path(file), text)
            written.append(Path(file))
    if options.workbook is not None:
        written.append(write_plan_workbook(found, Path(options.workbook)))
    return written


COMMANDS = {"plan": Command(_plan_options, _plan)}
