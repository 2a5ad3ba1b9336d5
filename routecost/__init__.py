"""routecost: how to make each part of a one-off build, what it costs, and what to buy.

The names that `import routecost` offers, and the fields and frame columns that their docstrings state, stay stable
within a major version; modules below the package may move between any two versions.

>>> import routecost, tempfile, trimesh
>>> from pathlib import Path
>>> folder = Path(tempfile.mkdtemp())
>>> _ = (folder / "build.toml").write_text('name = "cubes"\\nown_rate = 12.0\\nas_of = 2026-03-02\\n')
>>> _ = (folder / "parts.csv").write_text("part,mesh,copies,routes\\ncube,cube.stl,4,fdm outsourced-sla\\n")
>>> (folder / "meshes").mkdir()
>>> _ = trimesh.creation.box((20, 20, 20)).export(folder / "meshes" / "cube.stl")

>>> build = routecost.load_build(folder)
>>> routecost.measure(folder / "meshes" / "cube.stl", unit="mm")
Shape(20 x 20 x 20 mm, 8 cm³, 12 faces)
>>> ranking = routecost.rank(build)
>>> ranking
Ranking(1 part, 2026-03-02, EUR ... full cost)
>>> ranking.frame()[["part", "route", "own_hours", "full_eur"]].shape
(2, 4)
>>> routecost.explain(build, "cube", "fdm").estimate
Estimate(cube by fdm, ... full cost, ... own hours, ... days)
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from routecost.api.plan_bill import Plan as Plan
    from routecost.api.plan_bill import plan as plan
    from routecost.api.revisit import Revisit as Revisit
    from routecost.api.revisit import revisit as revisit
    from routecost.api.revisit import save as save
    from routecost.api.sensitivity import Thresholds as Thresholds
    from routecost.api.sensitivity import changes as changes
    from routecost.api.sensitivity import risk as risk
    from routecost.api.sensitivity import thresholds as thresholds
    from routecost.bill.rank_bill import Explanation as Explanation
    from routecost.bill.rank_bill import explain as explain
    from routecost.bill.rank_bill import measure as measure
    from routecost.bill.rank_bill import rank as rank
    from routecost.builds.build import Build as Build
    from routecost.builds.build import load_build as load_build
    from routecost.core.errors import InputError as InputError
    from routecost.costing.ranking import Ranking as Ranking
    from routecost.costing.sensitivity.changes import Changes as Changes
    from routecost.costing.uncertainty.risk import Risk as Risk
    from routecost.learning.learn import learn as learn
    from routecost.learning.quotes_fit import fit as fit
    from routecost.mesh.measuring.shape import Shape as Shape
    from routecost.planning.choosing.plan_request import PlanRequest as PlanRequest
    from routecost.reports.workbook.export import export as export

    __version__: str

_MODULE_OF = {
    "api.plan_bill": ("Plan", "plan"),
    "api.revisit": ("Revisit", "revisit", "save"),
    "api.sensitivity": ("Thresholds", "changes", "risk", "thresholds"),
    "bill.rank_bill": ("Explanation", "explain", "measure", "rank"),
    "builds.build": ("Build", "load_build"),
    "core.errors": ("InputError",),
    "costing.ranking": ("Ranking",),
    "costing.sensitivity.changes": ("Changes",),
    "costing.uncertainty.risk": ("Risk",),
    "learning.learn": ("learn",),
    "learning.quotes_fit": ("fit",),
    "mesh.measuring.shape": ("Shape",),
    "planning.choosing.plan_request": ("PlanRequest",),
    "reports.workbook.export": ("export",),
}
_HOMES = {name: f"routecost.{module}" for module, names in _MODULE_OF.items() for name in names}

__all__ = [*sorted(_HOMES), "__version__"]


def __getattr__(name: str) -> Any:
    # imported when first used, so that the command's help stays instant
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    if name == "__version__":
        return _version()
    raise AttributeError(f"module 'routecost' has no attribute {name!r}")


def __dir__() -> list[str]:
    return [*__all__]


def _version() -> str:
    """Of the installed package; of a checkout that is not installed, the one in pyproject.toml."""
    import tomllib
    from importlib.metadata import PackageNotFoundError, version
    from pathlib import Path

    try:
        return version("routecost")
    except PackageNotFoundError:
        project = Path(__file__).resolve().parents[1] / "pyproject.toml"
        return str(tomllib.loads(project.read_text("utf-8"))["project"]["version"])
