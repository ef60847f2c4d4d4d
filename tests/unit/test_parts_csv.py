"""Parts lists: offers in the plan's currency, what cannot be had, and every bad cell by its place."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from data.importing.parts_csv import PartsReading, read_parts
from data.importing.rates import DatedRate
from pricing.errors import BadInput, NotFound
from tests.builders import small_class

TODAY = date(2026, 3, 10)


class FixedRates:
    """Two crowns to the euro; no other currency has a rate."""

    def rate(self, currency, base, day):
        if {currency, base} != {"SEK", "EUR"}:
            raise NotFound(f"no rate of {currency}")
        return DatedRate(Decimal("0.5"), date(2026, 3, 1))


def read(tmp_path, content: str) -> PartsReading:
    path = tmp_path / "parts.csv"
    path.write_text(content, encoding="utf-8", newline="")
    return read_parts(path, small_class(), base="EUR", on=TODAY, rates=FixedRates())


def test_offers_come_in_the_currency_of_the_plan_with_what_they_cost_altogether(tmp_path):
    reading = read(
        tmp_path,
        "part,source,price,currency,postage,min_order,lead_days,quality,doa_share,success\n"
        "screen,Isle Parts,80,SEK,10,1,6,third-party,0.05,0.9\n"
        "cell,Nordkant,12.50,EUR,3,4,2,original,,\n",
    )
    screen, cell = reading.offers
    assert screen.price.amount == Decimal("40.00")
    assert (screen.quoted.amount, screen.quoted.currency) == (Decimal("80.0"), "SEK")
    assert screen.cost(0.0) == Decimal("45.00")
    assert (screen.doa_share, screen.success, screen.lead_days, screen.line) == (0.05, 0.9, 6, 2)
    assert cell.cost(0.0) == Decimal("53.00")
    assert cell.cost(1.0) == Decimal("15.50")
    assert reading.problems == ()
    assert any("9 days before" in notice for notice in reading.notices)


def test_a_part_that_is_sold_nowhere_needs_no_price(tmp_path):
    reading = read(tmp_path, "part,source,available,checked_on\nscreen,Isle Parts,no,2026-03-09\ncell,unit 7,donor,\n")
    assert [offer.available for offer in reading.offers] == ["no", "donor"]
    assert reading.offers[0].checked_on == date(2026, 3, 9)
    assert reading.offers[1].quality == "salvaged"


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ("wheel,x,5,EUR,,,,", "part", "one of screen"),
        (",x,5,EUR,,,,", "part", "the name of a part"),
        ("screen,x,-5,EUR,,,,", "price", "0 or more"),
        ("screen,x,five,EUR,,,,", "price", "a number"),
        ("screen,x,,EUR,,,,", "price", "a price, because"),
        ("screen,x,5,QQQ,,,,", "currency", "ISO 4217"),
        ("screen,x,5,USD,,,,", "currency", "no rate of USD"),
        ("screen,x,5,,,,,", "currency", "the currency of the price"),
        ("screen,x,5,EUR,1.5,,,", "min_order", "a whole number"),
        ("screen,x,5,EUR,0,,,", "min_order", "a whole number"),
        ("screen,x,5,EUR,,1.2,,", "doa_share", "a share of 1"),
        ("screen,x,5,EUR,,,maybe,", "available", "one of yes, no, donor"),
        ("screen,x,5,EUR,,,,2026-03-11", "checked_on", "not after today"),
    ],
)
def test_a_bad_cell_is_named_and_hides_no_other_row(tmp_path, row, column, expected):
    header = "part,source,price,currency,min_order,doa_share,available,checked_on\n"
    reading = read(tmp_path, f"{header}cell,y,1,EUR,,,,\n{row}\ncell,z,2,EUR,,,,\n")
    assert [offer.source for offer in reading.offers] == ["y", "z"]
    problem = reading.problems[0]
    assert (problem.line, problem.column) == (3, column)
    assert expected in problem.expected


def test_a_file_without_parts_is_refused(tmp_path):
    with pytest.raises(BadInput, match="a column named part"):
        read(tmp_path, "name,price\nscreen,5\n")


def test_prices_without_any_currency_are_taken_in_that_of_the_plan_and_it_says_so(tmp_path):
    reading = read(tmp_path, "part,price,colour\nscreen,5,red\n")
    assert reading.offers[0].price.currency == "EUR"
    assert any("no row names a currency" in notice for notice in reading.notices)
    assert any("colour" in notice for notice in reading.notices)
