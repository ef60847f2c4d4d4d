"""Files of tax rates: read by country, every mistake named by line and key."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from data.catalogue.tax_reader import find_tax_table, tax_countries, tax_table_from_text
from pricing.errors import BadInput, NotFound

HEAD = '[tax]\ncountry = "xx"\ntitle = "Nowhere"\nkind = "VAT"\ncurrency = "EUR"\n'
RATE = '[[rate]]\nstarts = 2020-01-01\npercent = 19.6\nsource = "a law"\n'


def problems_of(text):
    with pytest.raises(BadInput) as refused:
        tax_table_from_text(text, "xx.toml")
    return [(problem.line, problem.column) for problem in refused.value.problems]


@pytest.mark.parametrize("country", tax_countries())
def test_every_country_that_comes_along_has_dated_rates_with_their_sources(country):
    table = find_tax_table(country)
    assert table.country == country
    assert all(row.source for row in (*table.rates, *table.pool_limits, *table.credit_limits))
    assert 0 < table.percent_on(date(2026, 11, 25)) <= 27
    memory = any("memory" in row.source for row in table.rates)
    assert "compared" in table.standing
    assert memory or table.looked_up_on is not None


@pytest.mark.parametrize(("country", "percent"), [("gb", 20), ("de", 19), ("nl", 21), ("se", 25), ("au", 10)])
def test_the_rates_of_a_day_are_those_of_the_worked_examples(country, percent):
    # The rates that the examples of the Directive's art. 315 and of the GST Act are computed with.
    assert find_tax_table(country).percent_on(date(2024, 6, 1)) == percent


def test_numbers_are_read_exactly_as_written():
    assert tax_table_from_text(HEAD + RATE, "xx.toml").rates[0].percent == Decimal("19.6")


def test_a_file_of_the_user_comes_before_the_one_that_comes_along(tmp_path):
    (tmp_path / "gb.toml").write_text(HEAD.replace("xx", "gb") + RATE)
    (tmp_path / "xx.toml").write_text(HEAD + RATE)
    assert find_tax_table("GB", tmp_path).title == "Nowhere"
    assert "xx" in tax_countries(tmp_path)
    (tmp_path / "yy.toml").write_text(HEAD + RATE)
    with pytest.raises(BadInput, match="as the file is called"):
        find_tax_table("yy", tmp_path)


@pytest.mark.parametrize("country", ["zz", "../gb", ""])
def test_a_country_without_rates_is_told_which_there_are(country):
    with pytest.raises(NotFound, match="there are: at, au"):
        find_tax_table(country)


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        (HEAD, None, "rate"),
        (RATE, None, "tax"),
        (HEAD.replace("VAT", "Vat") + RATE, 4, "tax.kind"),
        (HEAD.replace("EUR", "QQQ") + RATE, 5, "tax.currency"),
        (HEAD + RATE.replace("19.6", "-1"), 8, "rate.percent"),
        (HEAD + RATE.replace("19.6", "nan"), 8, "rate.percent"),
        (HEAD + RATE.replace("19.6", "true"), 8, "rate.percent"),
        (HEAD + RATE.replace("19.6", "100"), 8, "rate.percent"),
        (HEAD + RATE.replace("2020-01-01", '"2020"'), 7, "rate.starts"),
        (HEAD + RATE.replace("source", "sauce"), 9, "rate.sauce"),
        (HEAD + RATE + RATE, 11, "rate.starts"),
        (HEAD + RATE + "[[limit]]\namount = 5\n", 10, "limit"),
    ],
)
def test_each_mistake_is_named_by_line_and_key(text, line, column):
    assert (line, column) in problems_of(text)
