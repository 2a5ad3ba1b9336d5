"""Which routes there are: the program's own, and those of the user's."""

from __future__ import annotations

import importlib.util
from collections.abc import Sequence
from importlib.metadata import entry_points
from pathlib import Path
from types import ModuleType

from routecost.core.errors import Fault
from routecost.routes.bought import BOUGHT
from routecost.routes.fdm import FDM
from routecost.routes.filled_shell import FILLED_SHELL
from routecost.routes.mold_casting import MOLD_CASTING
from routecost.routes.outsourced_sla import OUTSOURCED_SLA
from routecost.routes.process.operation import Route


def own_routes() -> tuple[Route, ...]:
    """The routes that come with the program."""
    return (FDM, FILLED_SHELL, MOLD_CASTING, OUTSOURCED_SLA, BOUGHT)


def routes_of(paths: Sequence[str], folder: Path, faults: list[Fault]) -> tuple[Route, ...]:
    """All routes of a build: ours, those that installed packages offer under the entry point group
    `routecost.routes`, and Python files named in build.toml, each with an object called `ROUTE`."""
    found = list(own_routes())
    for entry in entry_points(group="routecost.routes"):
        found.append(entry.load())
    for path in paths:
        route = _from_file(folder / path, path, faults)
        if route is not None:
            found.append(route)
    ids = [route.id for route in found]
    for twin in sorted({i for i in ids if ids.count(i) > 1}):
        faults.append(
            Fault("build.toml", "[shop] key routes", f"route id {twin!r} stands twice", "rename one")
        )
    return tuple(found)


def _from_file(file: Path, name: str, faults: list[Fault]) -> Route | None:
    where = "[shop] key routes"
    if not file.is_file():
        faults.append(
            Fault("build.toml", where, f"{name} is missing", "name a Python file in the build's folder")
        )
        return None
    spec = importlib.util.spec_from_file_location(f"routecost_own_route_{file.stem}", file)
    assert spec is not None
    assert spec.loader is not None
    module: ModuleType = importlib.util.module_from_spec(spec)
    try:
        spec.loader.exec_module(module)
    except Exception as error:  # whatever a user's file raises is a fault of that file
        faults.append(
            Fault(name, "", f"fails when it is read: {type(error).__name__}: {error}", "mend the file")
        )
        return None
    route: Route | None = getattr(module, "ROUTE", None)
    if route is None or not all(hasattr(route, attribute) for attribute in ("id", "name", "plans")):
        faults.append(
            Fault(name, "", "has no ROUTE with id, name and plans", "define one, as in DEVELOPERS.md")
        )
        return None
    return route
