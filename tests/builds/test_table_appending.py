"""Rows added to tables: the old bytes stay, the new rows read back as they were, and it is all or nothing."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecost.builds.table_appending import append_rows, csv_lines
from routecost.core.errors import Fault, InputError
from routecost.shop.facts import FactRow
from routecost.shop.price_log import PriceRow
from routecost.shop.table_reader import read_table

DAY = dt.date(2026, 3, 1)
WIDE = "resource,pack,price,currency,low,high,as_of,expires,supplier,source\n"


def price(resource: str = "pla-grey", amount: float = 18.5, **other: object) -> PriceRow:
    values = {"pack": "1 kg", "currency": "EUR", "as_of": DAY, "supplier": "s", "source": "seen, twice"}
    return PriceRow(resource=resource, price=amount, **(values | other))  # type: ignore[arg-type]


def fact(value: str = "4", prop: str = "pour_min", **other: object) -> FactRow:
    values = {"unit": "minute", "low": 2.0, "high": 8.5, "as_of": DAY, "source": 'by "hand"'}
    return FactRow(kind="casting", thing="casting", property=prop, value=value, **(values | other))  # type: ignore[arg-type]


def read(path: Path, table: type) -> list:
    faults: list[Fault] = []
    rows = [placed.row for placed in read_table(path, table, faults)]
    assert not faults
    return rows


OLD = {
    "as this program writes it": WIDE + "pla-grey,1 kg,20,EUR,,,2026-01-01,,s,seen\n",
    "no end of line": WIDE + "pla-grey,1 kg,20,EUR,,,2026-01-01,,s,seen",
    "comments and a header alone": "# mine\n\n" + WIDE + "# none yet\n",
    "other order, no optional columns": "source,supplier,as_of,currency,price,pack,resource\n",
    "semicolons and decimal commas": WIDE.replace(",", ";") + "pla-grey;1 kg;20,5;EUR;;;2026-01-01;;s;seen\n",
    "lines of another system": WIDE.replace("\n", "\r\n") + "pla-grey,1 kg,20,EUR,,,2026-01-01,,s,seen\r\n",
    "with a mark of byte order": "\ufeff" + WIDE,
    "empty": "",
}


@pytest.mark.parametrize("name", OLD)
def test_old_bytes_stay_and_new_rows_read_back(name: str, tmp_path: Path) -> None:
    path, old = tmp_path / "prices.csv", OLD[name].encode()
    path.write_bytes(old)
    before = read(path, PriceRow) if OLD[name] else []
    assert append_rows(tmp_path, "EUR", {"prices.csv": [price(), price("wipe", 0.1, pack="100 each")]}) == (
        path,
    )
    assert path.read_bytes().startswith(old)
    assert read(path, PriceRow) == [*before, price(), price("wipe", 0.1, pack="100 each")]
    if "another system" in name:
        assert b"\n" not in path.read_bytes().replace(b"\r\n", b"")


def test_a_table_that_is_not_there_is_made(tmp_path: Path) -> None:
    append_rows(tmp_path, "EUR", {"standards.csv": [fact()], "prices.csv": [price()], "machines.csv": []})
    assert read(tmp_path / "standards.csv", FactRow) == [fact()]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["prices.csv", "standards.csv"]


@given(
    st.floats(0.0, 1e9),
    st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1).filter(
        lambda text: not text.startswith("#")
    ),
)
def test_any_price_and_any_words_read_back(amount: float, words: str) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "prices.csv"
        row = price(amount=amount, source=words, high=2e9, low=0.0)
        path.write_text(WIDE + csv_lines([row]), encoding="utf-8")
        assert read(path, PriceRow) == [row]


@pytest.mark.parametrize(
    ("old", "added", "words"),
    [
        (WIDE, {"prices.csv": [price("gold")]}, "unknown resource 'gold'"),
        (WIDE, {"prices.csv": [price(), price()]}, "the same resource, supplier, pack and day"),
        (WIDE, {"prices.csv": [price(low=19.0)]}, "between low and high"),
        (WIDE, {"standards.csv": [fact("9")]}, "between low and high"),
        (WIDE, {"standards.csv": [fact(prop="poor_min")]}, "did you mean pour_min?"),
        (
            WIDE,
            {"prices.csv": [price()], "standards.csv": [fact("4000", low=1.0, high=9999.0)]},
            "out of range",
        ),
        ("resource,pack\n", {"prices.csv": [price()]}, "no column 'price'"),
        (b"\xff\xfe", {"prices.csv": [price()]}, "not UTF-8"),
    ],
)
def test_what_is_wrong_with_new_rows_is_told_and_nothing_is_written(
    old, added, words, tmp_path: Path
) -> None:
    path = tmp_path / "prices.csv"
    path.write_bytes(old if isinstance(old, bytes) else old.encode())
    files = {p: p.read_bytes() for p in tmp_path.iterdir()}
    with pytest.raises(InputError, match=r"(prices|standards)\.csv") as error:
        append_rows(tmp_path, "EUR", added)
    assert words in str(error.value)
    assert " row 2" not in str(error.value) or "stand in row 2" in str(error.value)
    assert {p: p.read_bytes() for p in tmp_path.iterdir()} == files


def test_what_was_wrong_before_does_not_hinder(tmp_path: Path) -> None:
    """A fault elsewhere is told by other commands; here it is the new row that counts."""
    path = tmp_path / "prices.csv"
    path.write_text(WIDE + "gold,1 kg,20,EUR,,,2026-01-01,,s,seen\n")
    append_rows(tmp_path, "EUR", {"prices.csv": [price()]})
    assert "pla-grey" in path.read_text()
