"""Starting a build never overwrites anything, and what it writes is sound."""

from __future__ import annotations

from pathlib import Path

import pytest

from routecost.builds.build import inspect_build, load_build
from routecost.builds.starter import start_build
from routecost.cli import main
from routecost.core.errors import InputError
from routecost.shop.table_reader import read_table
from tests.shop.test_bad_tables import sound_build


def test_a_starter_says_what_is_missing_and_nothing_else(tmp_path: Path) -> None:
    start_build(tmp_path / "b")
    _build, faults = inspect_build(tmp_path / "b")
    assert [fault.what for fault in faults] == ["there are no parts in it"]


def test_the_examples_in_the_starter_are_sound_rows(tmp_path: Path) -> None:
    from routecost.builds.build_tables import PartRow

    start_build(tmp_path / "b")
    table = tmp_path / "b" / "parts.csv"
    text = (
        table.read_text().replace("# lid,", "lid,").replace("# foot,", "foot,").replace("# screw,", "screw,")
    )
    table.write_text(text)
    faults: list = []
    rows = read_table(table, PartRow, faults)
    assert not faults
    assert [placed.row.part for placed in rows] == ["lid", "foot", "screw"]
    assert rows[1].row.load_n == 200.0


@pytest.mark.parametrize("where", ["beside", "inside", "given"])
def test_meshes_become_the_parts_table(where: str, tmp_path: Path) -> None:
    cube = (sound_build(tmp_path / "from") / "meshes" / "cube.stl").read_bytes()
    folder = tmp_path / "b"
    place = {"beside": folder, "inside": folder / "meshes", "given": tmp_path / "elsewhere"}[where]
    place.mkdir(parents=True)
    (place / "Left Lid, clear.STL").write_bytes(cube)
    (place / "notes.txt").write_text("no mesh")
    start_build(folder, place if where == "given" else None)
    build = load_build(folder)
    assert [(p.part.id, p.part.copies) for p in build.read_parts] == [("left-lid-clear", 1)]


def test_nothing_is_overwritten(tmp_path: Path, capsys) -> None:
    folder = sound_build(tmp_path / "b")
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    assert main(["new", str(folder)]) == 2
    assert "already holds a build.toml" in capsys.readouterr().err
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before
    with pytest.raises(InputError):
        start_build(tmp_path / "c", tmp_path / "nowhere")
    assert not (tmp_path / "c").exists()


def test_own_rows_override_shipped_rows_one_by_one(tmp_path: Path) -> None:
    folder = sound_build(tmp_path / "b")
    shipped = load_build(folder)
    (folder / "standards.csv").write_text(
        "class,thing,property,value,unit,as_of,source\nprinting,printing,walls,5,,2020-01-01,mine\n"
    )
    (folder / "prices.csv").write_text(
        "resource,pack,price,currency,as_of,supplier,source\npla-grey,1 kg,99,EUR,2020-01-01,mine,seen\n"
    )
    own = load_build(folder)
    assert own.shop().facts["printing.walls"].value == 5
    assert own.shop().facts["printing.skins"] == shipped.shop().facts["printing.skins"]
    assert own.tariff().unit_price("pla-grey") == pytest.approx(0.099)
    assert own.tariff().unit_price("pla-natural") == shipped.tariff().unit_price("pla-natural")


def test_parts_from_a_spreadsheet_are_those_from_csv(tmp_path: Path) -> None:
    import openpyxl

    folder = sound_build(tmp_path / "b")
    (folder / "parts.csv").write_text("part,mesh,copies,load,opaque\ncube,cube.stl,3,2 kN,yes\n")
    from_csv = load_build(folder).read_parts[0].part
    (folder / "parts.csv").unlink()
    book = openpyxl.Workbook()
    for row in (["part", "mesh", "copies", "load", "opaque"], ["cube", "cube.stl", 3, "2 kN", True]):
        book.active.append(row)
    book.save(folder / "parts.xlsx")
    from_xlsx = load_build(folder).read_parts[0].part
    assert from_xlsx.demands == from_csv.demands
    assert (from_xlsx.copies, from_xlsx.demands.load_n) == (3, 2000.0)
