"""Sales in several currencies, the user's own rates, and days after the last sale, through the commands."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

LAMP = """\
[class]
name = "lamp"
[[attribute]]
name = "watts"
kind = "number"
"""
FIRST = date(2025, 1, 6)


def lines(currency, *, rate=1.0, count=60):
    """Return sales of which the price in euro depends on watts and falls with time, told in a currency."""
    rows = []
    for number in range(count):
        day = FIRST + timedelta(days=7 * number)
        euro = (30 + 4 * (number % 9)) * (1 - 0.004 * number) + (number % 5)
        rows.append(f"{euro * rate:.4f},{currency},{day},{5 + number % 9}")
    return rows


@pytest.fixture
def sold(tmp_path):
    """Write sales and return the options that name them."""
    described = tmp_path / "lamp.toml"
    described.write_text(LAMP)

    def write(*rows):
        path = tmp_path / "sales.csv"
        path.write_text("price,currency,sold_on,watts\n" + "\n".join(rows) + "\n")
        return ("--class", described, "--sales", path)

    return write


@pytest.fixture
def own_rates(tmp_path):
    path = tmp_path / "rates.csv"
    days = [FIRST + timedelta(days=7 * number) for number in range(61)]
    path.write_text("date,currency,per_base\n" + "".join(f"{day},USD,1.25\n{day},XAU,0.0005\n" for day in days))
    return path


def test_own_rates_turn_other_money_into_the_base(plainsale, sold, own_rates, tmp_path):
    told = []
    for name, rows in (("euro", lines("EUR")), ("dollar", lines("USD", rate=1.25)),
                       ("mixed", [*lines("EUR")[:30], *lines("USD", rate=1.25)[30:]])):  # fmt: skip
        model = tmp_path / f"{name}.json"
        options = ("--base", "EUR", "--rates", own_rates, "--model", model, "--no-card", "--json")
        fitted = plainsale("fit", *sold(*rows), *options)
        assert fitted.json["currency"] == "EUR"
        units = tmp_path / "units.csv"
        units.write_text("watts\n7\n12\n")
        priced = plainsale("price", "--model", model, "--units", units, "--json").json["rows"]
        told.append([float(row["estimate"]) for row in priced])
    assert told[1] == pytest.approx(told[0], rel=1e-4)
    assert told[2] == pytest.approx(told[0], rel=1e-4)


def test_sales_into_the_store_take_own_rates_too(plainsale, sold, own_rates):
    options = sold(*lines("EUR")[:20])
    assert plainsale("import", *options).code == 0
    # The store's sales are in euro, so no base need be named again.
    kept = plainsale("import", *sold(*lines("XAU", rate=0.0005)[20:]), "--rates", own_rates, "--json")
    assert kept.code == 0, kept.err
    assert kept.json["currency"] == "EUR"


@pytest.mark.parametrize(("rows", "code"), [(["USD"], 0), (["EUR", "USD"], 3)])
def test_several_currencies_need_a_base(plainsale, sold, rows, code):
    refused = plainsale("fit", *sold(*(line for currency in rows for line in lines(currency))), "--json")
    assert refused.code == code
    if code:
        assert "--base" in refused.err


def test_rates_without_a_base_or_without_sales_are_refused_in_words(plainsale, sold, own_rates):
    refused = plainsale("fit", *sold(*lines("USD")), "--rates", own_rates)
    assert refused.code == 3
    assert "rates.csv: found no base; expected the currency that its rates are per (--base)" in refused.err
    assert plainsale("fit", "--class", "phone", "--base", "EUR", "--rates", own_rates).code == 2


def test_a_rate_older_than_a_week_is_named_and_older_than_sixty_days_refused_by_line(plainsale, sold, tmp_path):
    rates = tmp_path / "old.csv"
    rates.write_text(f"date,currency,per_base\n{FIRST},USD,1.25\n")
    days = [FIRST + timedelta(days=age) for age in (0, 7, 8, 60)]
    rows = [*lines("EUR"), *(f"40,USD,{day},6" for day in days)]
    options = ("--base", "EUR", "--rates", rates, "--json")
    stale = plainsale("fit", *sold(*rows), *options)
    assert stale.code == 0, stale.err
    (notice,) = [notice for notice in stale.json["notices"] if "days old" in notice]
    assert notice == (
        "2 prices converted at a rate more than 7 days old; the oldest is 60 days old: "
        f"USD of {FIRST} for {FIRST + timedelta(days=60)}"
    )
    late = sold(*rows, f"40,USD,{FIRST + timedelta(days=61)},6")
    refused = plainsale("fit", *late, *options)
    assert refused.code == 3
    assert f'sales.csv, line {len(rows) + 2}, currency: found "USD"' in refused.err
    assert "no USD within 60 days before" in refused.err
    kept = plainsale("fit", *late, *options, "--keep-good")
    assert kept.json["rows"] == len(rows)


def test_an_estimate_for_a_day_after_the_last_sale_follows_the_drift_and_widens(plainsale, sold, tmp_path):
    model, unit = tmp_path / "lamp.json", tmp_path / "unit.json"
    assert plainsale("fit", *sold(*lines("EUR")), "--model", model, "--no-card").code == 0
    unit.write_text('{"class": "lamp", "attributes": {"watts": 8}}')
    last = FIRST + timedelta(days=7 * 59)

    def priced(day):
        options = ("--model", model, "--unit", unit, "--on", day, "--json")
        return plainsale("price", *options).json["estimate"]

    now, soon, late = (priced(last + timedelta(days=days)) for days in (0, 30, 300))
    amounts = [float(each["estimate"]["amount"]) for each in (now, soon, late)]
    assert amounts[0] > amounts[1] > amounts[2]
    widths = [float(each["intervals"][1]["high"]["amount"]) / float(each["intervals"][1]["low"]["amount"])
              for each in (now, soon, late)]  # fmt: skip
    assert widths[0] < widths[1] < widths[2]
    assert [reason for each in (now, soon, late) for reason in each["reasons"] if "last sale" in reason] == [
        "30 days after the last sale", "300 days after the last sale",
    ]  # fmt: skip


def test_fitting_or_pricing_for_a_later_day_says_how_far_beyond_it_is(plainsale, sold, tmp_path):
    model, units = tmp_path / "lamp.json", tmp_path / "units.csv"
    later = FIRST + timedelta(days=7 * 59 + 50)
    fitted = plainsale("fit", *sold(*lines("EUR")), "--model", model, "--on", later, "--json")
    said = f"prices are for {later}, 50 days after the last sale"
    assert any(notice.startswith(said) for notice in fitted.json["notices"])
    assert f"{later}, 50 days after" in (tmp_path / "lamp.card.md").read_text()
    units.write_text("watts\n8\n")
    assert said in plainsale("price", "--model", model, "--units", units).err
    assert "after the last sale" not in plainsale("price", "--model", model, "--units", units, "--on", FIRST).err
