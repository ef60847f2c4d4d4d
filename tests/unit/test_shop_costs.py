"""Costs in a shop: which currency a ledger has, which rate counts, and what is said of an old one."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from api.settings import Settings
from api.shop.costs import add_cost, take_back, unit_costs
from api.shop.lot_costs import share_lot
from api.shop.proceeds import SaleWish, sale_outlook
from api.shop.shop import Shop
from data.importing.rates import DatedRate
from pricing.errors import BadInput, NotFound
from pricing.records.cost import NewCost
from pricing.records.lot_cost import LotCost
from pricing.records.unit import Unit
from tests.deals import money, purchase

NOW = datetime(2026, 6, 10, 9, 0, tzinfo=UTC)
DAY = date(2026, 6, 1)


@dataclass(frozen=True)
class FakeRates:
    """One rate for every pair, published on one day."""

    per_unit: Decimal = Decimal("0.5")
    day: date = DAY

    def rate(self, currency, base, day):
        return DatedRate(Decimal(1) / self.per_unit if currency == "EUR" else self.per_unit, self.day)


class NoRates:
    """Nobody published anything."""

    def rate(self, currency, base, day):
        raise NotFound(f"no {currency}")


@pytest.fixture
def shop(tmp_path):
    made = Shop(Settings(home=tmp_path), lambda: NOW)
    with made.store.writing(NOW) as work:
        for number in ("A", "B"):
            work.units.add(Unit.model_validate({"class": "phone", "number": number}))
    yield made
    made.close()


def cost(paid, currency="EUR", kind="purchase", on=DAY, **more):
    return NewCost(kind=kind, on=on, paid=money(paid, currency), reason="x", **more)


def test_a_ledger_keeps_the_currency_that_it_began_with(shop):
    assert add_cost(shop, "A", cost(10)).basis.currency == "EUR"
    turned = add_cost(shop, "A", cost(10, "USD"), rates=FakeRates())
    assert (turned.basis.total, turned.notices) == (money("15.00", "EUR"), ())
    with pytest.raises(BadInput, match="EUR, in which the ledger"):
        add_cost(shop, "A", cost(10), base="USD")
    charged = add_cost(shop, "B", cost(10, "USD", charged=money(8, "EUR")), rates=NoRates())
    assert (charged.basis.currency, charged.kept.entry.reference) == ("EUR", None)


def test_a_rate_older_than_a_week_is_named(shop):
    old = FakeRates(day=date(2026, 5, 24))
    assert add_cost(shop, "A", cost(10, "USD", on=date(2026, 5, 31)), base="EUR", rates=old).notices == ()
    (notice,) = add_cost(shop, "A", cost(10, "USD"), rates=old).notices
    assert "2026-05-24" in notice


def test_a_cost_without_any_rate_is_not_written_down(shop):
    add_cost(shop, "A", cost(10))
    with pytest.raises(NotFound, match="no USD"):
        add_cost(shop, "A", cost(10, "USD"), rates=NoRates())
    assert len(unit_costs(shop, "A").entries) == 1


def test_the_purchase_is_written_to_the_unit_as_a_new_version(shop):
    bought = purchase(on=DAY)
    add_cost(shop, "A", cost(10), purchase=bought)
    add_cost(shop, "A", cost(2, kind="part"), purchase=bought)
    with shop.store.reading() as work:
        stored = work.units.get("A")
    assert (stored.unit.purchase, stored.version) == (bought, 2)


def test_an_entry_is_taken_back_from_its_own_day_unless_another_is_named(shop):
    add_cost(shop, "A", cost(10))
    assert take_back(shop, "A", 1, "typo").kept.entry.on == DAY
    add_cost(shop, "A", cost(7))
    later = take_back(shop, "A", 3, "typo", on=date(2026, 6, 5))
    assert later.kept.entry.on == date(2026, 6, 5)
    assert unit_costs(shop, "A", on=date(2026, 6, 4)).basis.total.amount == 7
    assert unit_costs(shop, "A").basis.total.amount == 0


def test_a_sale_in_other_money_is_set_against_the_basis_at_the_rate_of_the_day(shop):
    add_cost(shop, "A", cost(30, "USD"))
    outlook = sale_outlook(shop, money(100, "EUR"), SaleWish("weekly-auction", "A"), rates=FakeRates())
    # 15 % of 100, 1 and 2.50 are taken; 30 USD are 15 EUR.
    assert outlook.proceeds.net == money("81.50", "EUR")
    assert outlook.profit.profit == money("66.50", "EUR")
    assert "30" in outlook.notices[0]
    assert "USD" in outlook.notices[0]
    # 20 % of 21.87 is 4.37; with 2.50 for the lot 15.00 is left.
    assert outlook.break_even == money("21.87", "EUR")


def test_a_lot_needs_one_currency_for_all_its_ledgers(shop):
    add_cost(shop, "A", cost(5, kind="part"))
    add_cost(shop, "B", cost(5, "USD", kind="part"))
    lot = LotCost(number="L", on=DAY, price=money(10, "EUR"), units=("A", "B"))
    with pytest.raises(BadInput, match="one currency"):
        share_lot(shop, lot)
    with pytest.raises(BadInput, match="today"):
        share_lot(shop, lot.model_copy(update={"on": date(2026, 6, 11)}))


def test_a_lot_paid_in_other_money_sums_in_both(shop):
    lot = LotCost(number="L", on=DAY, price=money("10.01", "USD"), units=("A", "B"))
    shared = share_lot(shop, lot, base="EUR", rates=FakeRates())
    assert shared.total == money("5.00", "EUR")
    paid = [entry.entry.paid.amount for number in ("A", "B") for entry in unit_costs(shop, number).entries]
    assert paid == [Decimal("5.01"), Decimal("5.00")]
