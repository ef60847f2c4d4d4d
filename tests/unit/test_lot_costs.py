"""The costs of a lot in the ledgers of its units: nothing is lost in any currency."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal

import pytest

from pricing.decisions.ledger import basis_at
from pricing.decisions.lot_costs import handed_on, lot_entries, lot_shares
from pricing.errors import BadInput
from pricing.records.cost import ReferenceRate
from pricing.records.lot_cost import LotCost
from tests.counts import count
from tests.deals import money

DAY = date(2026, 4, 7)
RATE = ReferenceRate(rate=Decimal("0.87313"), day=DAY)


def lot(price="100", units=3, currency="EUR", **more):
    return LotCost(
        number="L-4", on=DAY, price=money(price, currency), units=[f"U{place}" for place in range(units)], **more
    )


def sums(entries, kind, field):
    return sum(getattr(one, field).amount for unit in entries for one in unit if one.kind == kind)


def test_each_unit_gets_its_share_of_everything():
    entries = lot_entries(lot("100", premium="12.5", postage="9", import_tax=1), "EUR")
    first = {one.kind: one.amount.amount for one in entries[0]}
    assert first == {
        "lot share": Decimal("33.34"), "service": Decimal("4.17"), "postage": 3, "import tax": Decimal("0.34"),
    }  # fmt: skip
    assert all(one.lot == "L-4" for unit in entries for one in unit)
    assert "equal shares" in entries[0][0].reason


def test_random_lots_sum_exactly_in_the_currency_paid_and_in_the_base():
    draw = random.Random(5)
    for _ in range(count(2_000)):
        units = draw.randrange(1, 40)
        price = Decimal(draw.randrange(1, 10**7)) / 100
        extra = Decimal(draw.randrange(0, 10**5)) / 100
        values = [money(draw.randrange(0, 500)) for _ in range(units - 1)] + [money(3)]
        charged = draw.choice([None, money(Decimal(draw.randrange(1, 10**7)) / 100, "EUR")])
        bought = lot(price, units, "USD", premium=extra, split="value", amounts=values, charged=charged)
        entries = lot_entries(bought, "EUR", RATE)
        assert sums(entries, "lot share", "paid") == price
        assert sums(entries, "service", "paid") == extra
        in_base = sums(entries, "lot share", "amount") + sums(entries, "service", "amount")
        if charged is not None:
            assert in_base == charged.amount
        else:
            assert abs(in_base - (price + extra) * RATE.rate) <= Decimal("0.01")
        assert min(one.amount.amount for unit in entries for one in unit) >= 0


def test_shares_by_hand_divide_the_rest_in_the_same_proportion():
    shares = [money(70, "EUR"), money(30, "EUR"), money(0, "EUR")]
    entries = lot_entries(lot(postage=10, split="hand", amounts=shares), "EUR")
    assert [sum(one.cost for one in unit) for unit in entries] == [77, 33, 0]
    assert entries[2] == ()


def test_a_scrapped_unit_hands_on_its_costs_and_the_lot_keeps_its_sum():
    entries = lot_entries(lot("100", postage="9.99"), "EUR")
    shares = dict(zip(("A", "B", "C"), entries, strict=True))
    moved = handed_on(shares, ["B"], DAY, "B was scrapped")
    assert sum(entry.cost for entry in moved.values()) == 0
    after = {number: basis_at([*shares[number], moved[number]], DAY, "EUR") for number in shares}
    assert after["B"].total.amount == 0
    assert sum(basis.total.amount for basis in after.values()) == Decimal("109.99")
    # What was paid for the unit itself stays what it was: a scrapped neighbour lowers no tax.
    assert after["A"].paid_to_seller == money("33.34", "EUR")


def test_who_scraps_nothing_changes_nothing():
    entries = lot_entries(lot(), "EUR")
    assert handed_on(dict(zip("ABC", entries, strict=True)), [], DAY, "x") == {}


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (lot(price=0), "more than 0"),
        (lot(split="value"), "one for each of the 3 units"),
        (lot(amounts=[money(1)]), "none, because all shares are equal"),
        (lot(split="hand", amounts=[money(1, "EUR")] * 3), "97 is missing"),
        (lot(split="value", amounts=[money(0)] * 3), "nothing that is worth more"),
        (lot(charged=money(5, "GBP")), "currency of the ledgers"),
        (lot().model_copy(update={"units": ("A", "A")}), "each unit once"),
    ],
)
def test_a_lot_that_cannot_be_is_refused(bad, words):
    with pytest.raises(BadInput, match=words):
        lot_entries(bad, "EUR")


def test_only_units_of_the_lot_hand_on_and_never_all():
    shares = dict(zip("ABC", lot_entries(lot(), "EUR"), strict=True))
    with pytest.raises(BadInput, match="a unit of this lot: A, B, C"):
        handed_on(shares, ["D"], DAY, "x")
    with pytest.raises(BadInput, match="every unit"):
        handed_on(shares, list("ABC"), DAY, "x")


def test_equal_shares_need_no_values():
    assert [share.amount for share in lot_shares(lot("0.02"))] == [Decimal("0.01"), Decimal("0.01"), 0]
