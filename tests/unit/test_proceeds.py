"""Net proceeds: the net is the price less all lines, whatever the channel takes."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.decisions.proceeds import SaleTerms, net_proceeds
from pricing.errors import BadInput, NotFound
from pricing.records.channel import Channel, Fee, Postage, Reserve, Returns, Tier
from pricing.records.money import rounded
from pricing.records.tax import TaxPosition
from tests.channels import channels, terms
from tests.deals import SOLD, lot, money, purchase, vat

PRICES = st.integers(0, 5_000_000)
STALL = Channel(
    name="stall",
    title="Stall",
    currency="GBP",
    fees=(
        Fee(name="listing", fixed=Decimal("0.35")),
        Fee(name="sale", percent=Decimal("12.8"), at_least=Decimal(1), at_most=Decimal(40), of=("price", "postage")),
        Fee(name="tax on fees", percent=Decimal(20), of=("listing", "sale")),
    ),
    payment=Fee(name="payment", percent=Decimal("2.9"), fixed=Decimal("0.30"), of=("price", "postage")),
    postage=(
        Postage(zone="home", cost=Decimal("4.20"), charged=Decimal("3.00")),
        Postage(zone="abroad", cost=Decimal("13.90")),
    ),
    returns=Returns(share_percent=Decimal(4), cost=Decimal("6.50"), lost_percent=Decimal(10)),
    guarantee=Reserve(percent=Decimal("1.5"), fixed=Decimal("0.50")),
)
MARGIN = SaleTerms(
    STALL, SOLD, None, TaxPosition(kind="VAT", country="xx"), vat(), purchase(), money(60)
)


def lines_of(found):
    return {line.name: str(line.amount.amount) for line in found.lines}


def test_every_line_of_a_sale_is_the_one_worked_out_by_hand():
    # 100 + 3 postage: 12.8 % = 13.184; tax on (0.35 + 13.18) = 2.706; 2.9 % + 0.30 = 3.287; (103 - 60) / 6 = 7.1667;
    # returns 4 % of (6.50 + 10) = 0.66; guarantee 1.50 + 0.50.
    found = net_proceeds(money(100), MARGIN)
    assert lines_of(found) == {
        "listing": "0.35",
        "sale": "13.18",
        "tax on fees": "2.71",
        "payment": "3.29",
        "postage that the buyer pays": "-3.00",
        "postage to home": "4.20",
        "VAT (margin)": "7.17",
        "returns to be expected": "0.66",
        "put aside for the guarantee": "2.00",
    }
    assert found.net == money("69.44")
    assert (found.channel, found.zone, found.tax.scheme) == ("stall", "home", "margin")


def test_another_zone_has_its_own_postage():
    found = lines_of(net_proceeds(money(100), replace(MARGIN, zone="abroad")))
    assert found["postage to abroad"] == "13.90"
    assert "postage that the buyer pays" not in found
    with pytest.raises(NotFound, match="its zones are: home, abroad"):
        net_proceeds(money(100), replace(MARGIN, zone="moon"))


@pytest.mark.parametrize(("price", "fee"), [(2, "1.00"), (100, "13.18"), (1000, "40.00")])
def test_a_fee_keeps_within_its_bounds(price, fee):
    assert lines_of(net_proceeds(money(price), MARGIN))["sale"] == fee


SLICES = (
    Tier(up_to=Decimal(100), percent=Decimal(10)),
    Tier(above=Decimal(100), up_to=Decimal(500), percent=Decimal(5)),
    Tier(above=Decimal(500), percent=Decimal(2), fixed=Decimal(3)),
)


@pytest.mark.parametrize(
    ("by", "price", "fee"),
    [
        ("slices", 100, 10), ("slices", 300, 20), ("slices", 500, 30), ("slices", 1000, 43),
        ("whole", 100, 10), ("whole", 300, 15), ("whole", 500, 25), ("whole", 1000, 23),
    ],
)  # fmt: skip
def test_tiers_take_of_their_slice_or_of_the_whole(by, price, fee):
    tiered = Channel(name="t", title="t", currency="GBP", fees=(Fee(name="sale", tiers=SLICES, tiers_by=by),))
    assert net_proceeds(money(price), SaleTerms(tiered, SOLD)).net == money(price - fee)


@settings(max_examples=300)
@given(data=st.data(), price=PRICES)
def test_the_net_is_the_price_less_all_lines_never_off_by_a_minor_unit(data, price):
    chosen = data.draw(terms())
    currency = chosen.channel.currency
    paid = money(Decimal(price) / 1000, currency).to_minor_unit()
    found = net_proceeds(paid, chosen)
    assert found.net.amount == paid.amount - sum(line.amount.amount for line in found.lines)
    for line in found.lines:
        assert line.amount.amount == rounded(line.amount.amount, currency)
        assert line.amount.currency == currency
    kinds = [line.kind for line in found.lines]
    assert kinds.count("tax") == 1


@settings(max_examples=100)
@given(channel=channels("GBP"), price=PRICES, cost=PRICES)
def test_a_loss_gives_no_tax_back_in_any_channel(channel, price, cost):
    sold = replace(MARGIN, channel=channel, cost=money(Decimal(cost) / 100))
    tax = next(line for line in net_proceeds(money(Decimal(price) / 100), sold).lines if line.kind == "tax")
    assert tax.amount.amount >= 0


@pytest.mark.parametrize(
    ("price", "changes", "column"),
    [
        (money(10, "EUR"), {}, "price"),
        (money(-1), {}, "price"),
        (money("1.005"), {}, "price"),
        (money(10**13), {}, "price"),
        (money(10), {"purchase": purchase(proven=False)}, "purchase.proof"),
        (money(10), {"purchase": purchase(lot=lot(50, "GBP")), "cost": None}, "cost"),
    ],
)
def test_what_cannot_be_counted_is_refused_by_name(price, changes, column):
    with pytest.raises(BadInput) as refused:
        net_proceeds(price, replace(MARGIN, **changes))
    assert refused.value.problems[0].column == column


def test_fees_that_go_round_in_a_circle_are_refused_before_anything_is_counted():
    circle = STALL.model_copy(
        update={"fees": (Fee(name="a", percent=Decimal(1), of=("b",)), Fee(name="b", percent=Decimal(1), of=("a",)))}
    )
    with pytest.raises(BadInput, match="circle"):
        net_proceeds(money(10), replace(MARGIN, channel=circle))
