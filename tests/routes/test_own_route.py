"""A fifth route, in one file of the user's own: it takes part in everything, and changes nothing else."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from routecost.bill.rank_bill import explain, rank
from routecost.builds.build import load_build
from routecost.core.errors import InputError
from routecost.costing.ranking import Ranking
from routecost.mesh.geometry.mesh import Mesh
from routecost.routes.process.operation import OWN_HOUR
from tests.mesh.shapes import box, cut, moved
from tests.routes.stated import assert_declared, drawn

ROUTE_FILE = Path(__file__).with_name("sheet_bonded.py")

SETTINGS = """\
name = "a tray"
own_rate = 10.0
as_of = 2026-03-01

[shop]
owns = ["printer-220"]
"""
PARTS = """\
part,mesh,copies,clarity,routes
tray,tray.stl,2,clear,
lid,lid.stl,1,any,outsourced-sla
"""
RESOURCES = """\
resource,description,unit,kind
acrylic-sheet,clear acrylic sheet of 3 mm,cm^2,material
solvent-cement,solvent cement,g,consumable
"""
PRICES = """\
resource,pack,price,currency,as_of,supplier,source
acrylic-sheet,1 m^2,60.00,EUR,2026-02-01,supplier A,invented for the test
solvent-cement,100 g,9.00,EUR,2026-02-01,supplier A,invented for the test
"""


def tray() -> Mesh:
    """80 x 60 x 40 mm outside, open at the top, walls and floor 3 mm: 192 − 74 x 54 x 37 mm³."""
    return cut(box(80, 60, 40), moved(box(74, 54, 40), (3, 3, 3)))


def write_build(folder: Path, routes: str = 'routes = ["sheet_bonded.py"]\n') -> Path:
    import trimesh

    (folder / "meshes").mkdir(parents=True)
    for name, mesh in (("tray", tray()), ("lid", box(80, 60, 3))):
        trimesh.Trimesh(mesh.vertices, mesh.faces).export(folder / "meshes" / f"{name}.stl")
    (folder / "build.toml").write_text(SETTINGS + routes)
    (folder / "parts.csv").write_text(PARTS)
    (folder / "resources.csv").write_text(RESOURCES)
    (folder / "prices.csv").write_text(PRICES)
    shutil.copy(ROUTE_FILE, folder / "sheet_bonded.py")
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_build(tmp_path_factory.mktemp("own") / "tray")


@pytest.fixture(scope="module")
def ranking(folder: Path) -> Ranking:
    return rank(folder)


def test_it_is_ranked_beside_the_others(ranking: Ranking) -> None:
    tray, lid = ranking.parts
    assert {"fdm", "outsourced-sla", "sheet-bonded"} <= {e.route for e in tray.estimates}
    assert [e.route for e in lid.estimates] == ["outsourced-sla"]  # the only one that the row allows
    own = tray.of_route("sheet-bonded")
    assert own is not None
    assert own.plan.verdict.level == "suits"


def test_its_plan_by_hand(folder: Path, ranking: Ranking) -> None:
    own = ranking.parts[0].of_route("sheet-bonded")
    assert own is not None
    volume_cm3 = (80 * 60 * 40 - 74 * 54 * 37) / 1000.0
    panels_cm2 = 2 * volume_cm3 / 0.3
    cut_m = 2 * 6 * 4 * (panels_cm2 / 2 / 6) ** 0.5 / 100
    bond_min = cut_m / 2 * 12
    hours = (20 + cut_m * 8 + bond_min) / 60
    got = drawn(own.plan)
    assert got == pytest.approx(
        {
            OWN_HOUR: hours,
            "acrylic-sheet": panels_cm2 * 1.25,
            "blade": cut_m / 5,
            "solvent-cement": cut_m / 2 * 2.5,
            "tape": cut_m / 2 * 100,
            "gloves": bond_min / 60 * 2,
            "mask-cartridges": bond_min / 60 / 30,
        },
        rel=1e-4,
    )
    assert_declared([own.plan], load_build(folder).shop())
    by_resource = {line.resource: line.amount for line in own.lines if line.resource != OWN_HOUR}
    assert by_resource["acrylic-sheet"] == pytest.approx(panels_cm2 * 1.25 * 60 / 10_000, rel=1e-4)
    assert by_resource["solvent-cement"] == pytest.approx(cut_m / 2 * 2.5 * 0.09, rel=1e-4)
    assert own.own_hours == pytest.approx(hours, rel=1e-4)


def test_it_is_explained_like_the_others(folder: Path) -> None:
    found = explain(folder, "tray", "sheet-bonded")
    assert found.offers["acrylic-sheet"].unit_price == pytest.approx(60 / 10_000)
    assert sum(line.amount for line in found.estimate.lines) == pytest.approx(found.estimate.full)


def test_it_changes_nothing_else(tmp_path: Path, ranking: Ranking) -> None:
    without = rank(write_build(tmp_path / "without", routes=""))
    for before, after in zip(without.parts, ranking.parts, strict=True):
        kept = [e for e in after.estimates if e.route != "sheet-bonded"]
        assert [(e.route, e.plan.alternative, e.full) for e in before.estimates] == [
            (e.route, e.plan.alternative, e.full) for e in kept
        ]


def test_a_resource_without_a_price_is_named(tmp_path: Path) -> None:
    folder = write_build(tmp_path / "tray")
    (folder / "prices.csv").write_text("\n".join(PRICES.splitlines()[:2]) + "\n")
    with pytest.raises(InputError, match="solvent-cement"):
        rank(folder)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("import nowhere_to_be_found\n", "ModuleNotFoundError"),
        ("ROUTE = 3\n", "no ROUTE with id, name and plans"),
        (None, "is missing"),
    ],
)
def test_a_broken_route_file_is_one_clear_error(tmp_path: Path, text: str | None, what: str) -> None:
    folder = write_build(tmp_path / "tray")
    file = folder / "sheet_bonded.py"
    if text is None:
        file.unlink()
    else:
        file.write_text(text)
    with pytest.raises(InputError) as raised:
        load_build(folder)
    (fault,) = raised.value.faults
    assert what in str(fault)
    assert "sheet_bonded.py" in str(fault)
    assert fault.mend


def test_two_routes_of_one_id_are_refused(tmp_path: Path) -> None:
    folder = write_build(tmp_path / "tray", routes='routes = ["sheet_bonded.py", "again.py"]\n')
    shutil.copy(ROUTE_FILE, folder / "again.py")
    with pytest.raises(InputError, match="'sheet-bonded' stands twice"):
        load_build(folder)
