"""Sizes that suggest another unit: exact factors between units (an inch is 25.4 mm, BIPM SI brochure), and real
parts that must not be asked about."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from routecost.builds.build import load_build
from routecost.builds.size_check import PartSize, size_warnings
from routecost.builds.starter import start_build
from routecost.cli import main

PRINTER_MM = 250.0


def sized(part: str, *extents_mm: float, unit: str = "mm", is_stated: bool = False) -> PartSize:
    x, y, z = extents_mm
    return PartSize(part, (x, y, z), unit, is_stated)


IN_MM = [
    sized("lid", 120, 80, 6),
    sized("foot", 40, 40, 25),
    sized("wall", 210, 90, 4),
    sized("knob", 30, 30, 28),
]
"""An everyday build."""


def scaled(parts: list[PartSize], factor: float, name: str) -> list[PartSize]:
    return [sized(f"{name}-{p.part}", *(x * factor for x in p.extents_mm)) for p in parts]


def test_an_everyday_build_is_not_asked_about() -> None:
    assert size_warnings(IN_MM, PRINTER_MM) == {}


def test_inch_parts_among_mm_parts_are_named() -> None:
    inches = scaled(IN_MM, 1 / 25.4, "inch")
    found = size_warnings([*IN_MM, *inches[:2]], PRINTER_MM)
    assert found.keys() == {"inch-lid", "inch-foot"}
    assert "In inches it is 120 x 80 x 6 mm" in found["inch-lid"]
    assert "write in into the column unit" in found["inch-lid"]


def test_a_whole_build_in_inches_is_named_throughout() -> None:
    found = size_warnings(scaled(IN_MM, 1 / 25.4, "inch"), PRINTER_MM)
    assert len(found) == len(IN_MM)
    assert all("In inches" in text for text in found.values())


@pytest.mark.parametrize("beside", [[], IN_MM])
def test_meters_read_as_mm_are_named(beside: list[PartSize]) -> None:
    meters = scaled(IN_MM, 1 / 1000, "graphics")
    found = size_warnings([*beside, *(meters[:1] if beside else meters)], PRINTER_MM)
    assert len(found) == (1 if beside else len(meters))
    assert all("In meters" in text for text in found.values())


@pytest.mark.parametrize("beside", [[], IN_MM])
def test_mm_read_in_meters_are_named(beside: list[PartSize]) -> None:
    drawn = sized("glb", 120_000, 80_000, 6000, unit="m")
    (text,) = size_warnings([*beside, drawn], PRINTER_MM).values()
    assert "In millimeters it is 120 x 80 x 6 mm" in text


def test_a_toy_of_1600_mm_in_a_format_of_meters_is_asked_about() -> None:
    found = size_warnings([*IN_MM, sized("toy", 1600, 700, 500, unit="m")], PRINTER_MM)
    assert found.keys() == {"toy"}


def test_cm_among_mm_parts_are_asked_about() -> None:
    found = size_warnings([*IN_MM, sized("lid-cm", 12.5, 8, 0.6), sized("foot-cm", 4, 4, 2.5)], PRINTER_MM)
    assert found.keys() == {"foot-cm"}


def test_small_real_parts_whose_unit_is_stated_are_not_asked_about() -> None:
    screws = [sized(f"screw-{i}", 9, 4, 4, is_stated=True) for i in range(3)]
    assert size_warnings([*IN_MM, *screws], PRINTER_MM) == {}
    assert size_warnings(screws, PRINTER_MM) == {}
    # where nothing is stated they are, once each
    asked = size_warnings([*IN_MM, sized("screw", 9, 4, 4)], PRINTER_MM)
    assert asked.keys() == {"screw"}


@pytest.mark.parametrize("length", [400.0, 700.0, 1200.0])
def test_a_frame_that_is_larger_than_the_printer_is_not_asked_about(length: float) -> None:
    assert size_warnings([*IN_MM, sized("frame", length, 300, 20)], PRINTER_MM) == {}


def test_what_no_unit_explains_is_told_where_it_is_huge_or_tiny() -> None:
    huge = size_warnings([*IN_MM, sized("frame", 2500, 300, 20)], PRINTER_MM)["frame"]
    tiny = size_warnings([sized("grain", 0.7, 0.7, 0.7)], None)["grain"]
    for text in (huge, tiny):
        assert "check the unit" in text


@given(
    st.lists(st.floats(1e-4, 1e6), min_size=1, max_size=8),
    st.sampled_from(("mm", "in", "m", "ft")),
    st.sampled_from((None, 250.0)),
)
def test_stating_the_unit_silences_every_warning(
    sides: list[float], unit: str, printer: float | None
) -> None:
    stated = [sized(str(i), x, x, x, unit=unit, is_stated=True) for i, x in enumerate(sides)]
    assert size_warnings(stated, printer) == {}
    # each part at most once, and none is its own measure
    asked = size_warnings([sized(str(i), x, x, x, unit=unit) for i, x in enumerate(sides)], printer)
    assert set(asked) <= {str(i) for i in range(len(sides))}


@pytest.fixture
def mixed(tmp_path: Path) -> Path:
    """Boxes: two in mm, one exported in inches."""
    meshes = tmp_path / "meshes"
    meshes.mkdir()
    for name, extents in (("lid", (120, 80, 6)), ("foot", (40, 40, 25)), ("cap", (2, 2, 0.5))):
        trimesh.creation.box(extents).export(meshes / f"{name}.stl")
    start_build(tmp_path / "build", meshes)
    return tmp_path / "build"


def test_builds_warn_once_until_the_unit_is_stated(mixed: Path) -> None:
    (warning,) = load_build(mixed).warnings
    assert warning.file == "meshes/cap.stl"
    assert "In inches it is 50.8 x 50.8 x 12.7 mm" in warning.what
    table = mixed / "parts.csv"
    lines = table.read_text().splitlines()
    lines = [
        x
        if x.startswith("#")
        else x + (",unit" if x.startswith("part,") else ",in" if x.startswith("cap,") else ",")
        for x in lines
    ]
    table.write_text("\n".join(lines) + "\n")
    build = load_build(mixed)
    assert build.warnings == []
    assert max(r.size.largest_mm for r in build.read_parts if r.size and r.part.id == "cap") == pytest.approx(
        50.8
    )


def test_sizes_are_shown_by_new_check_and_rank(
    mixed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = "lid   lid.stl   120 x 80 x 6 mm"
    assert main(["new", str(tmp_path / "again"), "--meshes", str(mixed / "meshes")]) == 0
    said = capsys.readouterr().out
    assert line in said
    assert said.count("In inches") == 1
    assert main(["check", str(mixed)]) == 0
    said = capsys.readouterr().out
    assert line in said
    assert said.count("In inches") == 1
    assert main(["check", str(mixed), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["extents_mm"]["lid"] == pytest.approx([120, 80, 6])
    assert main(["rank", str(mixed), "--part", "lid"]) == 0
    said = capsys.readouterr().out
    assert "lid, 1 x, 120 x 80 x 6 mm" in said
