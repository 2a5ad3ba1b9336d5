"""A small part of the demo, which is planned in a second once it is measured."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from functools import cache
from pathlib import Path

from routecost.api.plan_bill import Plan, plan
from routecost.demo.demo_build import write_demo
from routecost.planning.choosing.plan_request import PlanRequest

PARTS = ("foot", "knob", "magnet")
LEAST_ORDER = 500.0
"""More than the service charges for the knobs, so that it binds."""


@cache
def small_build() -> Path:
    """Written once for all tests of a process, which must not change it."""
    folder = Path(tempfile.mkdtemp(prefix="small-build-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    write_demo(folder)
    header, *rows = (
        line for line in (folder / "parts.csv").read_text().splitlines() if not line.startswith("#")
    )
    kept = [row for row in rows if row.split(",")[0] in PARTS]
    (folder / "parts.csv").write_text("\n".join([header, *kept, ""]))
    with (folder / "prices.csv").open("a") as prices:
        for service in ("sla-service-a", "sla-service-b"):
            least = f"{service} minimum-order,1 each,{LEAST_ORDER}"
            prices.write(f"\n{least},EUR,400,600,2026-01-05,,another desk,invented\n")
    return folder


@cache
def ordered() -> Plan:
    """The knobs are ordered, and other plans are looked at."""
    return plan(small_build(), PlanRequest(pins={"knob": "outsourced-sla"}))


@cache
def made_at_home() -> Plan:
    return plan(small_build(), quick=True)
