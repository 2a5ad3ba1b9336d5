"""The command line: what other programs rely on, and what a person sees."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from routecost.cli import COMMANDS, main
from tests.shop.test_bad_tables import sound_build


@pytest.fixture(scope="module")
def ranked(demo_folder: Path) -> dict:
    return json.loads(run("rank", str(demo_folder), "--json"))


def run(*words: str) -> str:
    """A command as a person's shell runs it."""
    found = subprocess.run([sys.executable, "-m", "routecost", *words], capture_output=True, text=True)
    assert found.returncode == 0, found.stderr
    return found.stdout


def test_the_json_of_rank_has_what_other_programs_rely_on(ranked: dict) -> None:
    assert ranked.keys() >= {"currency", "as_of", "copies", "parts", "totals"}
    assert ranked["copies"] is None
    routes = set()
    for part in ranked["parts"]:
        assert part.keys() >= {"part", "description", "copies", "best", "routes"}
        for route in part["routes"]:
            routes.add(route["route"])
            assert route["verdict"] in ("suits", "changes", "ruled out")
            assert route.keys() >= {
                "route",
                "verdict",
                "reasons",
                "spend",
                "full",
                "own_hours",
                "machine_hours",
                "lead_days",
                "mass_g",
                "lines",
            }
            for line in route["lines"]:
                assert line.keys() >= {
                    "operation",
                    "resource",
                    "quantity",
                    "unit",
                    "unit_price",
                    "amount",
                    "kind",
                }
                assert line["amount"] == pytest.approx(line["quantity"] * line["unit_price"], abs=0.005)
            assert sum(line["amount"] for line in route["lines"]) == pytest.approx(route["full"], abs=0.005)
            if route["verdict"] != "suits":
                assert route["reasons"]
    assert routes == {"fdm", "filled-shell", "mold-casting", "outsourced-sla", "bought"}


def test_totals_are_the_sums_of_the_best_routes(ranked: dict) -> None:
    best = [next(r for r in p["routes"] if r["route"] == p["best"]) for p in ranked["parts"] if p["best"]]
    for key in ("spend", "full", "own_hours"):
        assert ranked["totals"][key] == pytest.approx(sum(r[key] for r in best), abs=0.005)


def test_best_is_the_cheapest_route_that_is_not_ruled_out(ranked: dict) -> None:
    for part in ranked["parts"]:
        able = [r["full"] for r in part["routes"] if r["verdict"] != "ruled out"]
        best = next((r["full"] for r in part["routes"] if r["route"] == part["best"]), None)
        assert (best == min(able)) if able else (part["best"] is None)


def test_each_of_the_four_making_routes_wins_somewhere_in_the_demo(ranked: dict) -> None:
    assert {p["best"] for p in ranked["parts"]} == {
        "fdm",
        "filled-shell",
        "mold-casting",
        "outsourced-sla",
        "bought",
    }


@pytest.mark.parametrize("by", ["spend", "own-time", "lead-time"])
def test_ranking_by_another_figure_makes_that_figure_least(by: str, demo_folder: Path) -> None:
    figure = {"spend": "spend", "own-time": "own_hours", "lead-time": "lead_days"}[by]
    found = json.loads(run("rank", str(demo_folder), "--by", by, "--json"))
    for part in found["parts"]:
        able = [r[figure] for r in part["routes"] if r["verdict"] != "ruled out"]
        best = next((r[figure] for r in part["routes"] if r["route"] == part["best"]), None)
        assert not able or best == pytest.approx(min(able))


def test_one_part_with_copies_of_its_own(demo_folder: Path, ranked: dict) -> None:
    part = ranked["parts"][2]
    same = json.loads(run("rank", str(demo_folder), "--part", part["part"], "--json"))["parts"]
    assert same == [part]
    more = json.loads(
        run("rank", str(demo_folder), "--part", part["part"], "--copies", str(part["copies"] + 5), "--json")
    )
    assert more["copies"] == part["copies"] + 5
    for before, after in zip(
        sorted(part["routes"], key=lambda r: r["route"]),
        sorted(more["parts"][0]["routes"], key=lambda r: r["route"]),
        strict=True,
    ):
        assert after["full"] >= before["full"] - 0.005


@pytest.mark.parametrize("words", [("rank",), ("explain", "PART", "mold-casting", "--all"), ("tables", None)])
def test_tables_fit_a_hundred_columns_and_a_pipe_gets_no_colour(
    words, demo_folder: Path, ranked: dict
) -> None:
    part = ranked["parts"][0]["part"]
    command, *rest = [part if word == "PART" else word for word in words if word is not None]
    text = run(command, *([] if command == "tables" else [str(demo_folder)]), *rest)
    assert "\x1b" not in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_explain_walks_every_amount_back_to_its_source(demo_folder: Path, ranked: dict) -> None:
    part = ranked["parts"][0]
    for route in part["routes"]:
        found = json.loads(run("explain", str(demo_folder), part["part"], route["route"], "--json"))
        assert found["full"] == pytest.approx(route["full"])
        priced = {price["resource"] for price in found["prices"]} | {"own-hour"}
        for line in found["lines"]:
            assert line["resource"] in priced
            assert line["why"]
        for known in (*found["prices"], *found["rates"]):
            assert known["source"]
            assert known["as_of"]
            assert known["place"]


def test_help_is_instant() -> None:
    """Beside the bare interpreter in the same run, so that a slow machine does not matter: no heavy import."""

    def seconds(*words: str) -> float:
        start = time.perf_counter()
        subprocess.run([sys.executable, *words], capture_output=True, check=True)
        return time.perf_counter() - start

    bare = min(seconds("-c", "import argparse, tomllib, dataclasses, typing") for _ in range(5))
    assert min(seconds("-m", "routecost", "--help") for _ in range(5)) < bare + 0.25
    loaded = "import sys, routecost.cli; routecost.cli.parser_for([]); print(*sys.modules)"
    modules = subprocess.run([sys.executable, "-c", loaded], capture_output=True, text=True).stdout.split()
    assert not {"numpy", "pandas", "pint", "trimesh", "rich", "streamlit", "scipy"} & set(modules)


def test_no_command_prints_the_help(capsys) -> None:
    assert main([]) == 0
    alone = capsys.readouterr().out
    with pytest.raises(SystemExit) as ended:
        main(["--help"])
    assert ended.value.code == 0
    assert capsys.readouterr().out == alone
    assert all(re.search(rf"^    {name}\s", alone, re.M) for name in COMMANDS)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_of_the_table_is_there_and_explains_its_options(name: str, capsys) -> None:
    with pytest.raises(SystemExit) as ended:
        main([name, "--help"])
    assert ended.value.code == 0
    text = capsys.readouterr().out
    assert "--json" in text
    assert " ".join(COMMANDS[name].about.split()) in " ".join(text.split())


def test_a_command_loads_no_other_commands_module() -> None:
    code = (
        "import sys; from routecost.cli import parser_for; parser_for(['rank', 'b']);"
        "print(*sorted(m.rpartition('.')[2] for m in sys.modules if m.startswith('routecost.commands.')))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split() == ["command", "command_options", "rank_command"]


BAD_CALLS = [
    (("--loud",), "COMMAND"),
    (("rnk",), "rnk"),
    (("rank",), "BUILD"),
    (("rank", "nowhere"), "no such folder"),
    (("rank", "BUILD", "--copies", "0"), "--copies"),
    (("rank", "BUILD", "--copies", "many"), "many"),
    (("rank", "BUILD", "--by", "beauty"), "beauty"),
    (("rank", "BUILD", "--as-of", "yesterday"), "yesterday"),
    (("rank", "BUILD", "--as-of", "1999-01-01"), "1999-01-01"),
    (("rank", "BUILD", "--part", "wheel"), "wheel"),
    (("explain", "BUILD", "cube", "forging"), "forging"),
    (("explain", "BUILD", "wheel", "fdm"), "wheel"),
    (("export", "BUILD", "bill.doc"), "xlsx"),
    (("export", "BUILD", "/proc/nowhere/bill.xlsx"), "cannot be written"),
    (("tables", "chairs.csv"), "chairs.csv"),
    (("measure", "nowhere.stl"), "nowhere.stl"),
    (("measure", "MESH", "--fit", "1,2"), "--fit"),
    (("measure", "MESH", "--shell", "-1"), "--shell"),
    (("measure", "MESH", "--pieces", "x"), "--fit"),
    (("page", "nowhere"), "no such folder"),
    (("new", "BUILD"), "already"),
    (("demo", "FULL"), "holds no build"),
]


@pytest.mark.parametrize(("words", "named"), BAD_CALLS, ids=[" ".join(words) for words, _ in BAD_CALLS])
def test_a_wrong_call_is_told_in_one_line_with_exit_code_2(words, named, tmp_path, capsys) -> None:
    folder = sound_build(tmp_path / "b")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "notes.txt").write_text("mine")
    stand_in = {
        "BUILD": str(folder),
        "MESH": str(folder / "meshes" / "cube.stl"),
        "FULL": str(tmp_path / "full"),
    }
    plain = [stand_in.get(word, word) for word in words]
    assert main(plain) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert named in told.err
    assert "Traceback" not in told.err
    if "1999-01-01" not in words:  # then every resource is without a price
        assert len(told.err.splitlines()) == 1
    assert main([*plain, "--json"]) == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert set(error) == {"file", "where", "what", "mend"}
    assert named in " ".join(error.values())


def test_measure_json_tells_unit_and_where_it_comes_from(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setenv("ROUTECOST_CACHE", str(tmp_path / "kept"))
    mesh = str(sound_build(tmp_path / "b") / "meshes" / "cube.stl")
    (assumed,) = json.loads(run("measure", mesh, "--json"))
    (given,) = json.loads(run("measure", mesh, "--unit", "in", "--json"))
    assert (assumed["unit"], assumed["unit_source"]) == ("mm", "assumed")
    assert (given["unit"], given["unit_source"]) == ("in", "given")
    assert given["volume_mm3"] == pytest.approx(assumed["volume_mm3"] * 25.4**3)
    assert assumed["sound"] is True
    assert sum(assumed["reach"].values()) == pytest.approx(1.0)
    assert assumed["smallest_box_mm"] == sorted(assumed["smallest_box_mm"])
