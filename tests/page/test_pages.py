"""Every page that needs no upload, run without a browser on a small build: it shows what the library computes."""

from __future__ import annotations

import pytest
from streamlit.testing.v1 import AppTest

from routecost.bill.rank_bill import rank
from routecost.core.money import shown
from tests.reports.small_plan import small_build


def opened(name: str) -> AppTest:
    script = f"from routecost.page.{name} import {name}\n{name}()\n"
    app = AppTest.from_string(script, default_timeout=120.0)
    app.session_state["folder"] = str(small_build())
    app.run()
    assert not app.exception
    return app


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("bill_page", "Bill: best route of each part"),
        ("prices_page", "Prices"),
        ("tables_page", "Tables"),
        ("risk_page", "Uncertainty"),
    ],
)
def test_a_page_opens_under_its_title(name: str, title: str) -> None:
    assert [h.value for h in opened(name).header] == [title]


def test_the_bill_shows_the_best_route_of_every_part() -> None:
    app, ranking = opened("bill_page"), rank(small_build())
    assert app.metric[0].value == shown(ranking.full, ranking.currency)
    rows = app.dataframe[0].value
    assert list(rows["part"]) == [ranked.part.id for ranked in ranking.parts]
    assert list(rows["full cost"]) == [ranked.best.full for ranked in ranking.parts if ranked.best]


def test_the_operations_of_a_part_add_up_to_its_full_cost() -> None:
    app, ranking = opened("part_page"), rank(small_build())
    amounts = app.dataframe[1].value["amount, EUR"]
    best = ranking.parts[0].best
    assert best is not None
    assert sum(amounts) == pytest.approx(best.full, abs=0.005)
