"""Adding a price leaves every byte of the log as it was; a price that is wrong leaves the whole file so."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from routecost.builds.build import inspect_build
from routecost.builds.price_entry import add_price, add_price_texts
from routecost.builds.stale_prices import stale_offers, stale_summary
from routecost.builds.starter import PRICES as STARTER
from routecost.cli import main
from routecost.core.errors import Fault, InputError
from routecost.shop.price_log import PriceRow
from routecost.shop.table_reader import read_table

DAY = dt.date(2026, 4, 1)
TOML = 'name = "test"\nown_rate = 10.0\ncurrency = "EUR"\nas_of = 2026-06-01\n'
HEADER = "resource,pack,price,currency,low,high,as_of,expires,supplier,source\n"
ROW = {
    "resource": "pla-grey",
    "pack": "1 kg",
    "price": "24.90",
    "as_of": "2026-04-01",
    "supplier": "corner shop",
}


@pytest.fixture
def build(tmp_path: Path) -> Path:
    """A build of bought lines only: there is nothing to measure."""
    (tmp_path / "build.toml").write_text(TOML)
    (tmp_path / "resources.csv").write_text("resource,description,unit,kind\nbolt,a bolt,each,bought\n")
    (tmp_path / "parts.csv").write_text("part,copies,buy\nbolt,8,bolt\n")
    (tmp_path / "prices.csv").write_text(HEADER + "bolt,100 each,9,EUR,,,2026-01-10,,shop,test\n")
    return tmp_path


LOGS = {
    "usual": HEADER + "pla-grey,1 kg,19.5,EUR,,,2026-01-05,,a,seen\n",
    "with remarks": "# mine; all of it\n"
    + HEADER
    + "# winter\npla-grey,1 kg,19.5,EUR,,,2026-01-05,,a,seen\n# end\n",
    "no line end": HEADER + "pla-grey,1 kg,19.5,EUR,,,2026-01-05,,a,seen",
    "semicolons": HEADER.replace(",", ";") + "pla-grey;1 kg;19,5;EUR;;;2026-01-05;;a;seen\n",
    "another order": "supplier,source,as_of,resource,pack,currency,price,expires,low,high\n",
    "lines of another system": HEADER.replace("\n", "\r\n")
    + "pla-grey,1 kg,19.5,EUR,,,2026-01-05,,a,seen\r\n",
    "a mark at the start": "\ufeff" + HEADER + "pla-grey,1 kg,19.5,EUR,,,2026-01-05,,a,seen\n",
    "needed columns only": "resource,pack,price,currency,as_of,supplier,source\n",
    "starter": STARTER,
    "nothing": "",
}


@pytest.mark.parametrize("name", LOGS)
def test_what_stands_in_the_log_stays_byte_for_byte(build: Path, name: str) -> None:
    log = build / "prices.csv"
    before = LOGS[name].encode()
    log.write_bytes(before)
    added = add_price_texts(build, ROW | {"supplier": 'corner, the "old" one; closed'})
    after = log.read_bytes()
    assert after.startswith(before)
    tail = after[len(before) :].decode()
    assert tail.count("\r\n") == (tail.count("\n") if "\r\n" in LOGS[name] else 0)
    faults: list[Fault] = []
    rows = read_table(log, PriceRow, faults)
    assert not faults
    assert rows[-1] == added.placed
    assert added.placed.row == PriceRow(
        resource="pla-grey",
        pack="1 kg",
        price=24.9,
        currency="EUR",
        as_of=DAY,
        supplier='corner, the "old" one; closed',
        source="entered by hand",
    )
    assert len(rows) == LOGS[name].count("19.5") + LOGS[name].count("19,5") + 1


def test_a_log_that_is_not_there_is_made_with_its_header(build: Path) -> None:
    (build / "prices.csv").unlink()
    added = add_price_texts(build, ROW)
    assert (build / "prices.csv").read_text().splitlines()[0] + "\n" == HEADER
    assert added.placed.number == 2
    assert added.replaces_shipped > 0
    assert add_price_texts(build, ROW | {"supplier": "another"}).replaces_shipped == 0
    assert sorted(p.name for p in build.iterdir()) == [
        "build.toml",
        "parts.csv",
        "prices.csv",
        "resources.csv",
    ]


texts = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=30)
prices = st.floats(0, 1e6)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(
    texts,
    texts.filter(lambda t: t.strip()),
    prices,
    st.none() | prices,
    st.none() | prices,
    st.dates(dt.date(2000, 1, 1), dt.date(2100, 1, 1)),
    st.sampled_from(["usual", "semicolons", "another order"]),
)
def test_any_sound_row_reads_back_as_it_was_and_any_other_changes_nothing(
    build: Path,
    supplier: str,
    source: str,
    price: float,
    below: float | None,
    above: float | None,
    day: dt.date,
    name: str,
) -> None:
    before = LOGS[name].encode()
    (build / "prices.csv").write_bytes(before)
    low = None if below is None else price - min(below, price)
    high = None if above is None else price + above
    row = PriceRow(
        resource="pla-grey",
        pack="1 kg",
        price=price,
        currency="USD",
        low=low,
        high=high,
        as_of=day,
        supplier=supplier,
        source=source,
    )
    try:
        added = add_price(build, row)
    except InputError:
        assert not supplier.strip() or supplier.strip()[0] == "#" or source.strip()[0] == "#"
        assert (build / "prices.csv").read_bytes() == before
        return
    read = added.placed.row
    assert (read.price, read.low, read.high, read.as_of) == (price, low, high, day)
    assert (read.supplier, read.source) == (" ".join(supplier.split()), " ".join(source.split()))
    assert (build / "prices.csv").read_bytes().startswith(before)


WRONG: list[tuple[dict[str, str], str, str]] = [
    ({"resource": "pla-gray"}, "column resource", "pla-grey?"),
    ({"pack": "1 L"}, "column pack", "density"),
    ({"pack": "1000"}, "column pack", "1000 g"),
    ({"pack": "0 kg"}, "column pack", "nothing"),
    ({"price": "-3"}, "column price", "'-3'"),
    ({"price": "cheap"}, "column price", "'cheap'"),
    ({"price": "inf"}, "column price", "finite"),
    ({"low": "30"}, "column price", "between low and high"),
    ({"as_of": "1.4.2026"}, "column as_of", "2026-03-31"),
    ({"expires": "2026-03-01"}, "column expires", "before as_of"),
    ({"currency": "XAU"}, "column currency", "exchange.csv"),
    ({"supplier": " "}, "column supplier", "empty"),
    ({"supplier": "#1 shop"}, "column supplier", "comment"),
    ({"pack": "1 kg", "price": "5", "supplier": "a", "as_of": "2026-01-05"}, "a new row", "row 2"),
]


@pytest.mark.parametrize(("change", "where", "word"), WRONG)
def test_a_wrong_price_gives_one_clear_fault_and_leaves_the_log(
    build: Path, change: dict[str, str], where: str, word: str
) -> None:
    (build / "prices.csv").write_text(LOGS["usual"])
    before = {p: p.read_bytes() for p in build.iterdir()}
    with pytest.raises(InputError) as caught:
        add_price_texts(build, ROW | change)
    (fault,) = caught.value.faults
    assert fault.file == "prices.csv"
    assert fault.where.startswith("a new row")
    assert where in fault.where
    assert word in str(fault)
    assert {p: p.read_bytes() for p in build.iterdir()} == before


def test_all_that_is_wrong_with_the_cells_is_told_at_once(build: Path) -> None:
    with pytest.raises(InputError) as caught:
        add_price_texts(build, {"resource": "pla-grey", "price": "-1", "as_of": "soon"})
    assert [f.where for f in caught.value.faults] == [
        f"a new row, column {c}" for c in ("pack", "price", "as_of", "supplier")
    ]


@pytest.mark.parametrize(
    ("log", "word"),
    [
        ("resource;pack;price\n", "currency"),
        (HEADER.replace("pack", "pakc"), "pack?"),
        (HEADER + '"pla-grey,1 kg,19.5\n', "CSV"),
        (HEADER + "pla-grey,1 kg,-19.5,EUR,,,2026-01-05,,a,seen\n", "row 2, column price"),
        ("resource,pack,price,currency,as_of,supplier,source\n", "low"),
    ],
)
def test_a_log_that_cannot_take_the_row_is_left_alone(build: Path, log: str, word: str) -> None:
    (build / "prices.csv").write_text(log)
    with pytest.raises(InputError) as caught:
        add_price_texts(build, ROW | {"low": "20", "high": "30"})
    assert any(word in str(fault) for fault in caught.value.faults)
    assert (build / "prices.csv").read_text() == log


def test_a_folder_that_is_no_build(tmp_path: Path) -> None:
    for folder, word in ((tmp_path / "nowhere", "no such folder"), (tmp_path, "build.toml")):
        with pytest.raises(InputError, match=word):
            add_price_texts(folder, ROW)
    assert list(tmp_path.iterdir()) == []


def test_a_broken_log_tells_everything_at_once(build: Path) -> None:
    (build / "prices.csv").write_text(
        HEADER
        + "bolt,100 each,9,EUR,,,2026-05-10,,shop,dates may stand in any order\n"
        + "bolt,100 each,8,EUR,,,2026-01-10,,shop,the older row\n"
        + "bolt,100 each,-9,EUR,,,2026-01-11,,shop,negative\n"
        + "blot,100 each,9,EUR,,,2026-01-12,,shop,unknown\n"
        + "bolt,1 kg,9,EUR,,,2026-01-13,,shop,unit\n"
        + "bolt,100 each,9,XAU,,,2026-01-14,,shop,no rate\n"
        + "bolt,100 each,7,EUR,,,2026-01-10,,shop,twice\n"
    )
    _build, faults = inspect_build(build)
    assert sorted((f.where.partition(",")[0], f.where.rpartition(" ")[2]) for f in faults) == [
        ("row 4", "price"),
        ("row 5", "resource"),
        ("row 6", "pack"),
        ("row 7", "currency"),
        ("row 8", "8"),
    ]
    assert {f.file for f in faults} == {"prices.csv"}


def test_dates_in_any_order_are_one_log(build: Path) -> None:
    row = {"resource": "bolt", "pack": "100 each", "supplier": "shop"}
    for day, price in (("2026-05-01", "12"), ("2026-03-01", "10"), ("2026-04-01", "11")):
        add_price_texts(build, row | {"as_of": day, "price": price})
    made, faults = inspect_build(build)
    assert made is not None
    assert not faults
    for day, price in ((2, 0.09), (3, 0.10), (4, 0.11), (5, 0.12)):
        assert made.tariff(dt.date(2026, day, 15)).unit_price("bolt") == pytest.approx(price)


def stale_on(build: Path, day: dt.date, stale_days: int | None) -> list[tuple[str, int]]:
    if stale_days is not None:
        (build / "build.toml").write_text(TOML + f"stale_days = {stale_days}\n")
    made, faults = inspect_build(build)
    assert made is not None
    assert not faults
    found = stale_offers(made, day, ["bolt", "own-hour", "bolt", "pla-grey"])
    assert bool(found) == bool(stale_summary(found))
    return [(s.offer.resource, s.age_days) for s in found]


def test_a_price_is_old_the_day_after_the_stated_age(build: Path) -> None:
    """bolt is of 2026-01-10, pla-grey of 2026-03-01; without a statement 180 days count."""
    add_price_texts(build, ROW | {"as_of": "2026-03-01"})
    first = dt.date(2026, 1, 10)
    assert stale_on(build, first + dt.timedelta(180), None) == []
    assert stale_on(build, first + dt.timedelta(181), None) == [("bolt", 181)]
    assert stale_on(build, dt.date(2026, 4, 1), 30) == [("bolt", 81), ("pla-grey", 31)]
    # a newer price of the same pack makes it young again
    add_price_texts(
        build,
        {"resource": "bolt", "pack": "100 each", "supplier": "shop", "as_of": "2026-03-31", "price": "9.5"},
    )
    assert stale_on(build, dt.date(2026, 4, 1), 30) == [("pla-grey", 31)]


@pytest.mark.parametrize("text", ["0", "true", '"old"', "1.5"])
def test_an_age_that_is_none(build: Path, text: str) -> None:
    (build / "build.toml").write_text(TOML + f"stale_days = {text}\n")
    _made, faults = inspect_build(build)
    assert [f.where for f in faults] == ["key stale_days"]


def test_the_command_adds_the_row_as_typed(build: Path, capsys) -> None:
    words = (
        "price",
        str(build),
        "pla-grey",
        "2 lb",
        "24,90",
        "--as-of",
        "2026-04-01",
        "--supplier",
        "corner shop",
    )
    assert main([*words, "--low", "20", "--high", "30", "--currency", "usd", "--source", "price tag"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "prices.csv, row 3" in told
    assert "example prices that ship" in told
    assert main([*words, "--json", "--expires", "2026-05-01", "--as-of", "2026-04-02"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["row"], found["price"], found["currency"], found["expires"]) == (
        4,
        24.9,
        "EUR",
        "2026-05-01",
    )
    made, faults = inspect_build(build)
    assert made is not None
    assert not faults
    # 2 lb are 907.18474 g (NIST SP 811)
    assert made.tariff(dt.date(2026, 4, 2)).unit_price("pla-grey") == pytest.approx(24.9 / 907.18474)
    assert main([*words, "--as-of", "2026-04-02"]) == 2
    assert "row 4" in capsys.readouterr().err
