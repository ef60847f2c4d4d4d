from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

import numpy as np
import pytest

from api.settings import Settings
from api.shop.curve_charts import bid_chart
from api.shop.lots import LotWish, bid_for_lot, bid_for_units, lot_terms, read_lot_history, read_lot_units
from api.shop.proceeds import SaleWish
from api.shop.shop import Shop
from data.importing.rates import DatedRate
from pricing.errors import Abstained, BadInput, NotFound
from pricing.estimation.estimate import estimate_columns
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.records.lot import LotTerms
from pricing.records.lot_rates import FaultCounts, FaultShares, LotHistory, LotRates
from pricing.records.unit_columns import columns_of_units
from tests.builders import healthy, small_class, small_unit, spotless
from tests.market import small_sales

TODAY = datetime(2026, 3, 1, tzinfo=UTC)
PLAIN = LotTerms(currency="EUR")
SURE = LotRates(missing=0, swapped=0, locked=0)
KNOWN = (spotless(), spotless(functions=healthy(camera_main={"status": "dead", "tested_on": "2026-03-03"})))
IDENTITY = {"brand": "Arvel", "model": "N2", "storage_gb": "256"}
OPEN = tuple(small_unit(attributes=IDENTITY) for _ in range(4))


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    return Shop(Settings(home=tmp_path_factory.mktemp("home")), now=lambda: TODAY)


@pytest.fixture(scope="module")
def model():
    return fit_model(small_sales(400), small_class(), settings=FitSettings(interactions=False, trees=False))


def test_a_lot_of_which_all_is_known_is_worth_the_expected_prices_of_its_units(shop, model):
    found = bid_for_units(shop, model, KNOWN, LotWish(PLAIN, rates=SURE))
    expected = estimate_columns(model, columns_of_units(KNOWN, small_class())).expected.sum()
    assert float(found.worth.amount) == pytest.approx(expected, rel=0.01)
    assert 0 < found.bid.amount < found.worth.amount
    assert found.at_bid.loss == pytest.approx(0.1, abs=0.001)


@pytest.mark.parametrize(
    "worse",
    [{"missing": 0.2}, {"swapped": 0.2}, {"locked": 0.2}, {"functions": FaultShares(dead=0.3)},
     {"gates": FaultShares(dead=0.3)}],
)  # fmt: skip
def test_whatever_may_be_wrong_lowers_the_bid(shop, model, worse):
    bids = [
        bid_for_units(shop, model, OPEN, LotWish(PLAIN, rates=SURE.model_copy(update=change))).bid.amount
        for change in ({}, worse)
    ]
    assert bids[1] < Decimal("0.98") * bids[0]


def test_missing_units_take_their_share_of_the_worth(shop, model):
    whole, fewer = (
        bid_for_units(shop, model, KNOWN, LotWish(PLAIN, rates=SURE.model_copy(update={"missing": share}))).worth
        for share in (0.0, 0.25)
    )
    assert float(fewer.amount / whole.amount) == pytest.approx(0.75, abs=0.02)


def test_own_history_replaces_the_class_default(shop, model):
    bad = LotHistory(units=300, functions={"camera_main": FaultCounts(works=100, dead=200)})
    usual, warned = (bid_for_units(shop, model, OPEN, LotWish(PLAIN, history=each)) for each in (LotHistory(), bad))
    assert warned.worth.amount < Decimal("0.95") * usual.worth.amount


def test_what_is_left_open_is_named_and_what_is_stated_is_not(shop, model):
    open_lot, known = (bid_for_units(shop, model, units, LotWish(PLAIN)) for units in (OPEN, KNOWN))
    assert any("leaves them open: power_on, camera_main" in line for line in open_lot.assumes)
    assert any(line.endswith("leaves them open: none") for line in known.assumes)


def test_fees_rivals_and_costs_lower_the_bid(shop, model):
    dear = lot_terms(model, None, {"premium_percent": 20, "carriage": 30, "minutes": 30, "hour_cost": 20})
    wishes = (
        LotWish(PLAIN),
        LotWish(PLAIN, rivals=4),
        LotWish(PLAIN, rivals=4, sale=SaleWish("online-market")),
        LotWish(dear, rivals=4, sale=SaleWish("online-market")),
    )
    bids = [bid_for_units(shop, model, OPEN, wish).bid.amount for wish in wishes]
    assert bids == sorted(bids, reverse=True)
    assert len(set(bids)) == 4


def test_a_lot_in_another_currency_is_bid_for_at_the_published_rate(shop, model):
    there = LotWish(LotTerms(currency="USD"), on=date(2026, 3, 2))
    here = LotWish(PLAIN, on=there.on)

    class Double:
        """Every currency is worth two of any other."""

        def rate(self, currency, base, day):
            return DatedRate(Decimal(2), day)

    ours, theirs = (bid_for_units(shop, model, KNOWN, wish, rates=Double()) for wish in (here, there))
    assert theirs.bid.currency == "USD"
    assert float(theirs.bid.amount) == pytest.approx(2 * float(ours.bid.amount), abs=0.02)
    assert "1 EUR is 2 USD, the rate of 2026-03-02" in theirs.assumes


def test_a_day_without_a_rate_is_refused(shop, model):
    wish = LotWish(LotTerms(currency="USD"), on=date(1990, 1, 1), always=True)
    with pytest.raises(NotFound, match="no USD within 60 days"):
        bid_for_units(shop, model, KNOWN, wish)


def test_the_seed_fixes_the_bid(shop, model):
    bids = [bid_for_units(shop, model, OPEN, LotWish(PLAIN, seed=seed)).bid for seed in (0, 0, 1)]
    assert bids[0] == bids[1] != bids[2]


def test_lots_of_no_unit_or_too_many_are_refused(shop, model):
    with pytest.raises(BadInput, match="lot, units: found 0 units; expected 1 to 500"):
        bid_for_units(shop, model, (), LotWish(PLAIN))
    table = columns_of_units(OPEN[:1], small_class())
    with pytest.raises(BadInput, match="found 501 units"):
        bid_for_lot(shop, model, table.take(np.zeros(501, dtype=np.intp)), LotWish(PLAIN))


def test_a_unit_that_the_model_declines_to_price_is_named(shop, model):
    odd = spotless(attributes={"brand": "Arvel", "model": "N2", "storage_gb": "1000"})
    with pytest.raises(Abstained, match="unit 2 of the lot: "):
        bid_for_units(shop, model, (KNOWN[0], odd), LotWish(PLAIN))


def test_a_history_of_what_the_class_does_not_know_is_refused(shop, model):
    wish = LotWish(PLAIN, history=LotHistory(functions={"sings": FaultCounts(dead=1)}))
    with pytest.raises(BadInput, match=r"history, functions\.sings"):
        bid_for_units(shop, model, KNOWN, wish)


@pytest.mark.parametrize(
    ("currency", "amounts", "column"),
    [("EURO", {}, "currency"), (None, {"premium_percent": -1}, "premium_percent"), (None, {"minutes": -1}, "minutes"),
     (None, {"carriage": "much"}, "carriage")],
)  # fmt: skip
def test_terms_out_of_range_are_refused(model, currency, amounts, column):
    with pytest.raises(BadInput) as refused:
        lot_terms(model, currency, amounts)
    assert refused.value.problems[0].column == column


def test_files_with_a_bad_row_or_count_are_refused_with_the_place(model, tmp_path):
    (tmp_path / "lot.csv").write_text("brand,model,storage_gb,fault:wifi\nArvel,N2,256,works\nArvel,N2,256,sings\n")
    with pytest.raises(BadInput, match=r"lot.csv, line 3, fault:wifi"):
        read_lot_units(model, tmp_path / "lot.csv")
    (tmp_path / "history.json").write_text('{"units": 2, "missing": 3}')
    with pytest.raises(BadInput, match="expected at most the 2 units"):
        read_lot_history(tmp_path / "history.json")


def test_the_chart_tells_the_bid_in_words(shop, model):
    found = bid_for_units(shop, model, KNOWN, LotWish(PLAIN, rivals=2))
    drawn = bid_chart(found)
    assert drawn.startswith("<svg")
    assert f"Highest bid: {found.bid.amount} EUR" in drawn
    assert "against 2 rivals" in drawn
