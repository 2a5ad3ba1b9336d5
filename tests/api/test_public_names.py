"""What `import routecost` offers: names that can be seen before they are loaded, one line for every result, frames."""

from __future__ import annotations

import datetime as dt
import importlib.metadata
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
import trimesh

import routecost

ROOT = Path(__file__).resolve().parents[2]
MARCH = dt.date(2026, 3, 2)


def add_screw(folder: Path) -> None:
    header = "resource,description,unit,kind\n"
    (folder / "resources.csv").write_text(header + "screw,a screw,each,bought\n")
    header = "resource,pack,price,currency,as_of,supplier,source\n"
    rows = "screw,10 each,2,GBP,2026-02-01,shop,test\nscrew,10 each,3,GBP,2026-04-01,shop,test\n"
    (folder / "prices.csv").write_text(header + rows)


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """One result of every kind, of a build in pounds with a part to make and one to buy."""
    folder = tmp_path_factory.mktemp("cubes")
    (folder / "build.toml").write_text(
        'name = "cubes"\ncurrency = "GBP"\nown_rate = 12.0\nbudget = 90.0\nas_of = 2026-04-15\n'
        '[shop]\nowns = ["printer-220"]\n'
    )
    (folder / "exchange.csv").write_text(
        "currency,worth,in_currency,as_of,source\nEUR,0.85,GBP,2026-01-01,test\n"
    )
    (folder / "parts.csv").write_text(
        "part,mesh,copies,buy,routes\ncube,cube.stl,4,,fdm outsourced-sla\nscrew,,8,screw,bought\n"
    )
    add_screw(folder)
    (folder / "meshes").mkdir()
    trimesh.creation.box((20, 20, 20)).export(folder / "meshes" / "cube.stl")
    build = routecost.load_build(folder)
    ranking = routecost.rank(build)
    plan = routecost.plan(build, quick=True)
    routecost.save(plan)
    return {
        "Build": build,
        "Ranking": ranking,
        "RankedPart": ranking.parts[0],
        "Estimate": ranking.parts[0].estimates[0],
        "Explanation": routecost.explain(build, "cube", "fdm"),
        "Shape": routecost.measure(folder / "meshes" / "cube.stl", unit="mm"),
        "Risk": routecost.risk(build, draws=200),
        "Changes": routecost.changes(build, MARCH),
        "Thresholds": routecost.thresholds(build, replan=False),
        "Plan": plan,
        "Revisit": routecost.revisit(build),
    }


def test_names_are_seen_before_anything_is_loaded() -> None:
    code = "import sys, routecost; print(*dir(routecost)); print([m for m in ('numpy', 'trimesh') if m in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    names, heavy = run.stdout.splitlines()
    assert set(routecost.__all__) <= set(names.split())
    assert heavy == "[]"


def test_every_public_name_is_there_and_has_a_docstring() -> None:
    for name in routecost.__all__:
        assert getattr(routecost, name).__doc__, name
    with pytest.raises(AttributeError, match="rnak"):
        routecost.rnak  # noqa: B018


def test_results_are_of_the_exported_classes(results: dict[str, Any]) -> None:
    for name, result in results.items():
        if name not in ("RankedPart", "Estimate"):
            assert type(result) is getattr(routecost, name)


def test_a_result_is_one_short_line(results: dict[str, Any]) -> None:
    for result in results.values():
        line = repr(result)
        assert line.startswith(f"{type(result).__name__}(")
        assert line.endswith(")")
        assert "\n" not in line
        assert len(line) <= 120
    full = f"GBP {results['Ranking'].full:.2f} full cost"
    assert repr(results["Ranking"]) == f"Ranking(2 parts, 2026-04-15, {full})"
    assert repr(results["Shape"]) == "Shape(20 x 20 x 20 mm, 8 cm³, 12 faces)"


def test_a_long_name_is_cut(tmp_path: Path) -> None:
    folder = tmp_path / ("b" * 150)
    folder.mkdir()
    (folder / "build.toml").write_text('name = "long"\nown_rate = 1.0\ncurrency = "GBP"\n')
    (folder / "parts.csv").write_text("part,copies,buy\nscrew,8,screw\n")
    add_screw(folder)
    line = repr(routecost.load_build(folder))
    assert len(line) == 120
    assert line.endswith("…)")


def test_a_frame_adds_up_to_its_result(results: dict[str, Any]) -> None:
    ranking, plan, changes = results["Ranking"], results["Plan"], results["Changes"]
    frame = ranking.frame()
    best = frame[frame["place"] == 1]
    assert best["full_gbp"].sum() == pytest.approx(ranking.full)
    assert best["spend_gbp"].sum() == pytest.approx(ranking.spend)
    explained = results["Explanation"]
    assert explained.frame()["amount_gbp"].sum() == pytest.approx(explained.estimate.full)
    assert changes.frame()["amount_gbp"].sum() == pytest.approx(changes.after - changes.before, abs=1e-9)
    chosen = plan.frame()
    assert list(chosen["part"]) == ["cube", "screw"]
    assert chosen["done_on"].max() == plan.timetable.finish.date()
    # every own hour of a plan is that of a part, or of an order that parts share
    assert chosen["own_hours"].sum() <= plan.totals.own_hours + 1e-9
    risk = results["Risk"]
    assert len(risk.frame()) == risk.draws
    assert risk.frame()["spend_gbp"].le(90.0).mean() == pytest.approx(risk.chance_in_budget)


def test_columns_of_frames_tell_their_units(results: dict[str, Any]) -> None:
    """Money, times and masses by the ending; what differs from row to row by a column `unit` beside it."""
    endings = ("_gbp", "_hours", "_days", "_g")
    numbers_by_row = {
        "quantity",
        "unit_price_gbp",
        "price_before_gbp",
        "price_after_gbp",
        "today",
        "at",
        "within",
    }
    plain = {"place", "copies", "percent"}
    for name in ("Ranking", "Explanation", "Risk", "Changes", "Thresholds", "Plan"):
        frame = results[name].frame()
        numbers = set(frame.select_dtypes("number").columns)
        assert numbers, name
        assert all(c in plain | numbers_by_row or c.endswith(endings) for c in numbers), (name, numbers)
        if numbers & numbers_by_row:
            assert "unit" in frame.columns, name


def test_the_version_is_that_of_the_project() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert routecost.__version__ == project["version"]


def test_a_checkout_that_is_not_installed_has_its_version_too(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(_name: str) -> str:
        raise importlib.metadata.PackageNotFoundError

    monkeypatch.setattr(importlib.metadata, "version", missing)
    test_the_version_is_that_of_the_project()


def test_the_licence_is_packed_with_the_code() -> None:
    """PEP 639: `license-files` names files that distributions must hold."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    texts = [p.read_text("utf-8") for pattern in project["license-files"] for p in ROOT.glob(pattern)]
    assert any(text.startswith("MIT License") and project["authors"][0]["name"] in text for text in texts)
