"""The stock of parts: what each piece cost and is worth, which units it fits, and every bad cell by its place."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from data.importing.rates import DatedRate
from data.importing.stock_csv import StockReading, read_stock
from pricing.errors import BadInput, NotFound
from tests.builders import small_class


class FixedRates:
    """Two crowns to the euro; no other currency has a rate."""

    def rate(self, currency, base, day):
        if {currency, base} != {"SEK", "EUR"}:
            raise NotFound(f"no rate of {currency}")
        return DatedRate(Decimal("0.5"), date(2026, 3, 1))


def read(tmp_path, content: str) -> StockReading:
    path = tmp_path / "stock.csv"
    path.write_text(content, encoding="utf-8", newline="")
    return read_stock(path, small_class(), base="EUR", on=date(2026, 3, 10), rates=FixedRates())


def test_a_piece_has_its_cost_its_worth_and_the_units_that_it_fits(tmp_path):
    reading = read(
        tmp_path,
        "part,cost,worth,currency,pieces,quality,brand,model\n"
        "screen,80,50,SEK,2,salvaged,Orrin,Q2\n"
        "cell,12.50,,EUR,,,,\n",
    )
    screen, cell = reading.stock
    assert (screen.cost.amount, screen.worth.amount) == (Decimal("40.00"), Decimal("25.00"))
    assert screen.cost.currency == "EUR"
    assert (screen.pieces, screen.quality, screen.line) == (2, "salvaged", 2)
    assert screen.fits == {"brand": "Orrin", "model": "Q2"}
    assert screen.given_up.amount == Decimal("25.00")
    assert (cell.pieces, cell.quality, cell.fits, cell.worth) == (1, "third-party", {}, None)
    assert cell.given_up.amount == Decimal("12.50")
    assert reading.problems == ()
    assert any("9 days before" in notice for notice in reading.notices)


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ("wheel,5,,EUR,1,", "part", "screen"),
        (",5,,EUR,1,", "part", "the name of a part"),
        ("cell,,,EUR,1,", "cost", "what one piece cost"),
        ("cell,-1,,EUR,1,", "cost", "0 or more"),
        ("cell,5,-2,EUR,1,", "worth", "0 or more"),
        ("cell,5,,QQQ,1,", "currency", "ISO 4217"),
        ("cell,5,,USD,1,", "currency", "no rate of USD"),
        ("cell,5,,,1,", "currency", "as in the other rows"),
        ("cell,5,,EUR,0,", "pieces", "a whole number of pieces"),
        ("cell,5,,EUR,1.5,", "pieces", "a whole number of pieces"),
        ("cell,5,,EUR,1,shiny", "quality", "third-party"),
    ],
)
def test_a_bad_cell_is_named_and_never_hides_the_rest(tmp_path, row, column, expected):
    reading = read(tmp_path, f"part,cost,worth,currency,pieces,quality\n{row}\nscreen,7,,EUR,1,\ncell,x,,EUR,1,\n")
    first, last = reading.problems
    assert (first.line, first.column, last.line) == (2, column, 4)
    assert expected in first.expected
    assert [part.part for part in reading.stock] == ["screen"]


def test_a_file_without_its_columns_is_refused_with_each_of_them(tmp_path):
    with pytest.raises(BadInput) as refused:
        read(tmp_path, "piece,price\nscreen,4\n")
    assert [problem.column for problem in refused.value.problems] == ["part", "cost"]


def test_columns_without_a_meaning_are_told(tmp_path):
    reading = read(tmp_path, "part,cost,shelf\nscreen,4,B2\n")
    assert any("not used: shelf" in notice for notice in reading.notices)
