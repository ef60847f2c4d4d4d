"""The ledger of a unit: the rate really charged wins, mistakes are reversed, the basis holds at any day."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pricing.decisions.ledger import basis_at, entry_of, profit_of, reversal_of
from pricing.decisions.proceeds import SaleTerms, net_proceeds
from pricing.errors import BadInput, NotFound
from pricing.records.channel import Channel
from pricing.records.cost import NewCost, NumberedEntry, ReferenceRate
from pricing.records.money import minor_unit, rounded
from tests.deals import money

DAY = date(2026, 3, 2)
DOLLAR = ReferenceRate(rate=Decimal("0.9"), day=date(2026, 2, 27))
CENTS = st.integers(1, 10**7).map(lambda cents: Decimal(cents) / 100)


def cost(paid, currency="EUR", kind="part", on=DAY, **more):
    return NewCost(kind=kind, on=on, paid=money(paid, currency), reason="a screen", **more)


def numbered(*entries):
    return [NumberedEntry(number=place + 1, at="", entry=entry) for place, entry in enumerate(entries)]


def total(entries, on=DAY):
    return basis_at(entries, on, "EUR").total.amount


def test_a_cost_in_the_base_currency_is_what_was_paid():
    entry = entry_of(cost("18.40"), "EUR")
    assert (entry.amount, entry.rate, entry.rate_origin) == (money("18.40", "EUR"), 1, "same currency")


def test_the_published_rate_is_used_when_nobody_knows_what_was_charged():
    entry = entry_of(cost("18.45", "USD"), "EUR", DOLLAR)
    assert entry.amount == money("16.60", "EUR")
    assert (entry.rate_origin, entry.rate_on) == ("reference", date(2026, 2, 27))


def test_what_was_really_charged_wins_over_the_published_rate():
    entry = entry_of(cost("18.40", "USD", charged=money("17.20", "EUR")), "EUR", DOLLAR)
    assert entry.amount == money("17.20", "EUR")
    assert (entry.rate_origin, entry.rate_on, entry.reference) == ("charged", None, DOLLAR)
    assert entry.rate == Decimal("17.20") / Decimal("18.40")


def test_tax_that_comes_back_is_no_part_of_the_basis():
    entry = entry_of(cost("24", "USD", tax_back="4"), "EUR", DOLLAR)
    assert (entry.amount.amount, entry.tax_back.amount, entry.cost) == (Decimal("21.60"), Decimal("3.60"), 18)
    assert basis_at([entry], DAY, "EUR").seller_tax_back.amount == 0
    bought = entry_of(cost("120", kind="purchase", tax_back="20"), "EUR")
    assert basis_at([entry, bought], DAY, "EUR").seller_tax_back == money("20.00", "EUR")


def test_the_basis_of_a_day_counts_what_was_paid_until_then():
    bought = entry_of(cost(100, kind="purchase"), "EUR")
    part = entry_of(cost(20, on=DAY + timedelta(days=5)), "EUR")
    back = entry_of(cost(8, on=DAY + timedelta(days=9), refund=True), "EUR")
    entries = [part, bought, back]
    days = {-1: 0, 0: 100, 4: 100, 5: 120, 8: 120, 9: 112, 400: 112}
    for later, amount in days.items():
        assert total(entries, DAY + timedelta(days=later)) == amount
    basis = basis_at(entries, DAY + timedelta(days=9), "EUR")
    assert {line.kind: line.amount.amount for line in basis.lines} == {"purchase": 100, "part": 12}
    assert (basis.paid_to_seller, basis.entries) == (money(100, "EUR"), 3)


def test_money_back_from_the_seller_lowers_what_was_paid_to_them():
    entries = [entry_of(cost(100, kind="purchase"), "EUR"), entry_of(cost(30, kind="purchase", refund=True), "EUR")]
    assert basis_at(entries, DAY, "EUR").paid_to_seller == money(70, "EUR")
    assert basis_at([entry_of(cost(5), "EUR")], DAY, "EUR").paid_to_seller is None


def test_a_mistake_is_taken_back_by_an_entry_of_its_own():
    entries = numbered(entry_of(cost("18.40", "USD"), "EUR", DOLLAR), entry_of(cost(7), "EUR"))
    later = DAY + timedelta(days=30)
    undone = reversal_of(1, entries, later, "was for another unit")
    assert undone.reverses == 1
    whole = [entry.entry for entry in entries] + [undone]
    assert total(whole, later) == 7
    assert total(whole, later - timedelta(days=1)) == Decimal("23.56")
    assert undone.rate == DOLLAR.rate


def test_taking_back_on_the_same_day_mends_all_days_since():
    entries = numbered(entry_of(cost(9), "EUR"))
    assert total([entries[0].entry, reversal_of(1, entries, DAY, "typed twice")]) == 0


def test_an_entry_is_taken_back_once_and_a_reversal_never():
    entries = numbered(entry_of(cost(9), "EUR"))
    entries += [NumberedEntry(number=2, at="", entry=reversal_of(1, entries, DAY, "typed twice"))]
    with pytest.raises(BadInput, match="entry 2 has not taken back"):
        reversal_of(1, entries, DAY, "again")
    with pytest.raises(BadInput, match="write the cost down again"):
        reversal_of(2, entries, DAY, "again")
    with pytest.raises(NotFound, match="no entry 9"):
        reversal_of(9, entries, DAY, "again")
    with pytest.raises(BadInput, match="or a later one"):
        reversal_of(1, entries[:1], DAY - timedelta(days=1), "too early")


@given(
    st.lists(st.tuples(CENTS, st.sampled_from(["EUR", "USD"]), st.integers(0, 60), st.booleans()), max_size=8),
    st.data(),
)
def test_taking_everything_back_leaves_a_basis_of_nothing(costs, data):
    entries = [
        entry_of(cost(paid, currency, on=DAY + timedelta(days=later), refund=refund, tax_back=paid / 4), "EUR", DOLLAR)
        for paid, currency, later, refund in costs
        if rounded(paid / 4, currency) == paid / 4
    ]
    kept = numbered(*entries)
    for number in data.draw(st.permutations(range(1, len(kept) + 1))):
        kept.append(
            NumberedEntry(number=len(kept) + 1, at="", entry=reversal_of(number, kept, DAY + timedelta(days=60), "x"))
        )
    whole = [entry.entry for entry in kept]
    assert total(whole, DAY + timedelta(days=60)) == 0
    before = total(whole, DAY + timedelta(days=59))
    assert before == sum(entry.cost for entry in entries if entry.on <= DAY + timedelta(days=59))


@given(CENTS, st.integers(1, 10**6))
def test_an_entry_differs_from_the_exact_amount_by_half_a_minor_unit_at_most(paid, rate):
    reference = ReferenceRate(rate=Decimal(rate) / 10_000, day=DAY)
    entry = entry_of(cost(paid, "USD"), "EUR", reference)
    assert abs(entry.amount.amount - paid * reference.rate) * 2 <= minor_unit("EUR")


def test_the_profit_is_what_the_sale_leaves_over_the_basis_of_its_day():
    bare = SaleTerms(Channel(name="bare", title="Bare", currency="EUR"), DAY)
    basis = basis_at([entry_of(cost(80, kind="purchase"), "EUR"), entry_of(cost("7.5"), "EUR")], DAY, "EUR")
    gained = profit_of(net_proceeds(money(100, "EUR"), bare), basis)
    assert (gained.profit, gained.percent) == (money("12.5", "EUR"), Decimal("14.29"))
    lost = profit_of(net_proceeds(money(50, "EUR"), bare), basis)
    assert lost.profit.amount == Decimal("-37.5")
    nothing = profit_of(net_proceeds(money(50, "EUR"), bare), basis_at([], DAY, "EUR"))
    assert (nothing.profit.amount, nothing.percent) == (50, None)


@pytest.mark.parametrize(
    ("bad", "column"),
    [
        (cost(0), "paid"),
        (cost(-3), "paid"),
        (cost("1.005"), "paid"),
        (cost(10**13), "paid"),
        (cost("1.5", "JPY", charged=money(1, "EUR")), "paid"),
        (cost(5, "USD"), "paid"),
        (cost(5, "USD", charged=money(4, "GBP")), "charged"),
        (cost(5, "USD", charged=money(0, "EUR")), "charged"),
        (cost(5, charged=money(4, "EUR")), "charged"),
        (cost(5, tax_back=6), "tax_back"),
    ],
)
def test_a_cost_that_cannot_be_is_refused_by_name(bad, column):
    with pytest.raises(BadInput) as refused:
        entry_of(bad, "EUR")
    assert refused.value.problems[0].column == column


def test_ledgers_of_different_currencies_are_not_added_up():
    with pytest.raises(BadInput, match="currency of the ledger"):
        basis_at([entry_of(cost(5, "GBP"), "GBP")], DAY, "EUR")
    bare = SaleTerms(Channel(name="bare", title="Bare", currency="GBP"), DAY)
    with pytest.raises(BadInput, match="currency of the ledger"):
        profit_of(net_proceeds(money(5), bare), basis_at([], DAY, "EUR"))
    with pytest.raises(BadInput, match="day of the sale"):
        profit_of(net_proceeds(money(5), bare), basis_at([], DAY - timedelta(days=1), "GBP"))
