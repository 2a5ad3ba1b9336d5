"""A run with everything kept tells, byte for byte, what a run that knows nothing tells; whatever was changed."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from routecost.bill import plan_parts
from routecost.bill.rank_bill import explain, rank
from routecost.builds.build import CACHE_FOLDER, load_build
from routecost.core import pool as parallel
from routecost.mesh.reading.mesh_writer import write_mesh
from routecost.reports.json.ranking_json import explanation_json, ranking_json
from tests.mesh.shapes import box

ROUTE = """
from routecost.routes.process.operation import Operation, ProcessPlan, Verdict, own_time

class Carved:
    id, name = "carved", "carved by hand"

    def plans(self, part, shop):
        if part.shape is not None:
            carve = Operation("carve", (own_time(90.0 * part.copies, "90 min a copy"),))
            yield ProcessPlan(self.id, part.id, part.copies, "limewood", (carve,), Verdict(), mass_g=0.0)

ROUTE = Carved()
"""
TOML = """\
name = "two blocks"
own_rate = 10.0
as_of = 2026-03-01

[shop]
owns = ["printer-220"]
routes = ["carved.py"]
"""
PRICES = "resource,pack,price,currency,as_of,supplier,source\n"
FACTS = "class,thing,property,value,unit,low,high,as_of,source\n"
QUOTES = "supplier,part,copies,price,currency,finish,as_of,valid_until\n"


def write_build(folder: Path) -> None:
    (folder / "meshes").mkdir(parents=True)
    write_mesh(box(30.0, 20.0, 10.0), folder / "meshes" / "block.stl")
    write_mesh(box(12.0, 12.0, 3.0), folder / "meshes" / "tile.stl")
    (folder / "build.toml").write_text(TOML)
    # without the shell route, whose measures take longest
    routes = "fdm mold-casting outsourced-sla carved"
    (folder / "parts.csv").write_text(
        f"part,mesh,copies,clarity,routes\nblock,block.stl,2,any,{routes}\ntile,tile.stl,6,clear,{routes}\n"
    )
    (folder / "carved.py").write_text(ROUTE)


def edit(folder: Path, name: str, old: str, new: str) -> None:
    text = (folder / name).read_text()
    assert old in text
    (folder / name).write_text(text.replace(old, new))


CHANGES: dict[str, Callable[[Path], object]] = {
    "a price": lambda b: (b / "prices.csv").write_text(
        PRICES + "pla-grey,1 kg,31.5,EUR,2026-01-01,s,x\nsilicone-addition,1 kg,15,EUR,2026-01-01,s,x\n"
    ),
    "the own rate": lambda b: edit(b, "build.toml", "own_rate = 10.0", "own_rate = 17.3"),
    "a fact": lambda b: (b / "standards.csv").write_text(
        FACTS + "casting,casting,demold_min,19,min,3,30,2026-01-01,timed\n"
    ),
    "the source of a fact": lambda b: edit(b, "standards.csv", "timed", "timed twice"),
    "copies": lambda b: edit(b, "parts.csv", "tile.stl,6", "tile.stl,7"),
    "a quote": lambda b: (b / "quotes.csv").write_text(
        QUOTES + "K,tile,5,61.5,EUR,polished,2026-02-01,2026-06-01\n"
    ),
    "an owned machine": lambda b: edit(
        b, "build.toml", '["printer-220"]', '["printer-220", "vacuum-chamber-12l"]'
    ),
    "an own route": lambda b: edit(b, "carved.py", "90.0", "45.0"),
    "a demand": lambda b: edit(b, "parts.csv", "block.stl,2,any", "block.stl,2,translucent"),
    "the day": lambda b: edit(b, "build.toml", "2026-03-01", "2026-02-20"),
    "a mesh": lambda b: write_mesh(box(30.0, 20.0, 11.0), b / "meshes" / "block.stl"),
    "the unit": lambda b: edit(b, "build.toml", "own_rate", 'unit = "cm"\nown_rate'),
    "no own route": lambda b: (
        edit(b, "build.toml", 'routes = ["carved.py"]', ""),
        edit(b, "parts.csv", " carved", ""),
    ),
}


@pytest.fixture(autouse=True)
def one_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parallel, "WORTH_STARTING_S", 1e9)  # little is measured here


def told(folder: Path) -> str:
    """All that `rank --json` and `explain --all --json` tell of a build."""
    build = load_build(folder)
    ranking = rank(build)
    found = [json.dumps(ranking_json(ranking))]
    for ranked in ranking.parts:
        for e in ranked.estimates:
            found.append(json.dumps(explanation_json(explain(build, ranked.part.id, e.route), every=True)))
    return "\n".join(found)


def test_what_is_kept_changes_no_byte(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    build, bare = tmp_path / "build", tmp_path / "bare"
    write_build(build)
    seen = {"nothing": told(build)}
    # one after the other in the same folder, so that everything that was kept before is there
    for name, change in CHANGES.items():
        change(build)
        with_kept = told(build)
        shutil.copytree(build, bare, ignore=shutil.ignore_patterns(CACHE_FOLDER))
        assert told(bare) == with_kept, name
        with monkeypatch.context() as patch:
            patch.setattr(plan_parts, "plans_of", only_others(plan_parts.plans_of))
            assert told(build) == with_kept, name
        shutil.rmtree(bare)
        seen[name] = with_kept
    assert len(set(seen.values())) == len(seen)


def test_the_demo_is_ranked_the_same_by_kept_plans_and_by_new_ones(demo_folder: Path, tmp_path: Path) -> None:
    shutil.copytree(demo_folder, tmp_path / "b")
    with_plans = json.dumps(ranking_json(rank(tmp_path / "b")))
    again = json.dumps(ranking_json(rank(tmp_path / "b")))
    shutil.rmtree(tmp_path / "b" / CACHE_FOLDER / "plans")
    without = json.dumps(ranking_json(rank(tmp_path / "b")))
    assert with_plans == again == without


def only_others(plans_of: Callable[..., list]) -> Callable[..., list]:
    """Refuses to plan by a route of the program."""

    def refusing(part, shop, routes):
        assert all(route.id == "carved" for route in routes), "planned again"
        return plans_of(part, shop, routes)

    return refusing


def test_another_price_plans_nothing_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_build(tmp_path / "b")
    before = told(tmp_path / "b")
    for name in ("a price", "the own rate", "an own route"):
        CHANGES[name](tmp_path / "b")
    monkeypatch.setattr(plan_parts, "plans_of", only_others(plan_parts.plans_of))
    assert told(tmp_path / "b") != before


def test_a_second_run_loads_no_mesh_library_and_no_registry_of_units(tmp_path: Path) -> None:
    write_build(tmp_path / "b")
    code = (
        "import sys\n"
        "from routecost.bill.rank_bill import rank\n"
        f"rank({str(tmp_path / 'b')!r})\n"
        "print(*{'scipy', 'manifold3d', 'trimesh', 'pint', 'pandas'} & {m.partition('.')[0] for m in sys.modules})"
    )
    runs = [subprocess.run([sys.executable, "-c", code], capture_output=True, text=True) for _ in range(2)]
    assert [run.stderr for run in runs] == ["", ""]
    assert runs[1].stdout == "\n"


def test_a_script_without_a_main_guard_ranks_a_new_build(tmp_path: Path) -> None:
    write_build(tmp_path / "b")
    write_mesh(box(9.0, 8.0, 7.0), tmp_path / "b" / "meshes" / "cube.stl")  # three are worth two processes
    with (tmp_path / "b" / "parts.csv").open("a") as table:
        table.write("cube,cube.stl,1,any,outsourced-sla\n")
    script = tmp_path / "script.py"
    script.write_text(f"import routecost\nprint(len(routecost.rank({str(tmp_path / 'b')!r}).parts))\n")
    run = subprocess.run([sys.executable, str(script)], capture_output=True, text=True)
    assert (run.stdout, run.stderr) == ("3\n", "")
