"""The page in a real browser: the ranking is seen, a part opened, copies changed, the workbook taken along."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from routecost.bill.rank_bill import rank
from routecost.core.money import shown
from tests.page.browser import looked_at, needs_browser, served
from tests.reports.workbook.recompute import Recomputed, row_of
from tests.shop.test_bad_tables import sound_build

pytestmark = needs_browser


@pytest.fixture(scope="module")
def address(demo_folder: Path) -> Iterator[str]:
    with served(demo_folder) as url:
        yield url


@pytest.fixture
def page(address: str) -> Iterator:
    with looked_at(address) as tab:
        yield tab


def test_the_bill_shows_the_rankings_totals_and_gives_the_workbook(page, demo_folder: Path) -> None:
    ranking = rank(demo_folder)
    page.get_by_role("heading", name="Bill: best route of each part").wait_for()
    page.get_by_text(shown(ranking.full, ranking.currency)).first.wait_for()
    page.get_by_text(shown(ranking.spend, ranking.currency)).first.wait_for()
    with page.expect_download() as download:
        page.get_by_role("button", name="Download the workbook").click()
    book = Recomputed(Path(download.value.path()).read_bytes())
    row = row_of(book.book["Bill"], "total")
    assert book.value("Bill", "E", row) == pytest.approx(ranking.full, abs=0.005)
    assert book.value("Bill", "F", row) == pytest.approx(ranking.spend, abs=0.005)


def test_a_part_opened_and_its_copies_changed_change_the_numbers(page, demo_folder: Path) -> None:
    other = rank(demo_folder).parts[1].part
    part, shape = other.id, other.shape
    assert shape is not None
    page.get_by_role("link", name="Part").click()
    page.get_by_role("heading", name="Routes compared").wait_for()
    page.get_by_role("combobox", name=re.compile("Part")).click()
    page.get_by_role("option", name=re.compile(f"^{part}:")).click()
    # only when the other part is shown are the copies its own
    page.get_by_text(" x ".join(f"{side:.1f}" for side in shape.solid.extents_mm)).wait_for()
    for copies in (3, 7):
        box = page.get_by_role("spinbutton", name="Copies")
        box.wait_for()
        box.fill(str(copies))
        box.press("Enter")
        best = rank(demo_folder, part=part, copies=copies).parts[0].best
        assert best is not None
        total = shown(best.full, "EUR")
        page.get_by_text(re.compile(re.escape(f": {total} EUR in total"))).wait_for()
        page.get_by_text(f"{part} x {copies}").wait_for()


def test_own_meshes_come_in_by_upload(page, tmp_path: Path) -> None:
    cube = sound_build(tmp_path / "b") / "meshes" / "cube.stl"
    page.get_by_role("link", name="Import meshes").click()
    page.locator("input[type=file]").set_input_files(str(cube))
    page.get_by_role("button", name="Rank routes").click()
    page.get_by_text("All pages now show your parts").wait_for()
    page.get_by_role("link", name="Bill").click()
    page.get_by_role("heading", name="Bill: best route of each part").wait_for()
    page.get_by_role("link", name="Part").click()
    page.get_by_text("20.0 x 20.0 x 20.0 mm").wait_for()


def test_a_wrong_mesh_is_told_and_nothing_breaks(page, tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.stl"
    wrong.write_bytes(b"solid nothing\nendsolid nothing\n")
    page.get_by_role("link", name="Import meshes").click()
    page.locator("input[type=file]").set_input_files(str(wrong))
    page.get_by_role("button", name="Rank routes").click()
    page.get_by_text("meshes/wrong.stl").wait_for()
    assert page.get_by_text("Traceback").count() == 0
