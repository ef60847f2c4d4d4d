"""The tax in a sale: the scheme follows from the purchase and its proof, the amounts from worked examples."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.catalogue.tax_reader import find_tax_table
from pricing.decisions.tax import TaxedSale, tax_on_sale
from pricing.errors import BadInput, NotFound
from pricing.records.tax import ADVISER, TaxPosition
from tests.deals import BOUGHT, SOLD, gst, lot, money, purchase, vat

VAT = TaxPosition(kind="VAT", country="gb")
POOLED = TaxPosition(kind="VAT", country="gb", pooled=True)
GST = TaxPosition(kind="GST", country="au")
CENTS = st.integers(0, 10**8).map(lambda cents: Decimal(cents) / 100)
MARGIN_WAYS = ("private person", "margin dealer")


def sale(price, cost, currency="GBP", *, way="private person", on=SOLD, **kept):
    spent = None if cost is None else money(cost, currency)
    bought = kept.pop("purchase", purchase(way))
    return TaxedSale(consideration=money(price, currency), on=on, purchase=bought, cost=spent, **kept)


def amounts(result):
    return result.scheme, result.output_tax.amount, result.credit.amount


@pytest.mark.parametrize(
    ("percent", "price", "cost", "tax"),
    [
        # gmprofessionalaccountants.co.uk, VAT margin scheme guide: bought 15000, sold 20000, VAT 833.33.
        (20, 20000, 15000, "833.33"),
        # Directive 2006/112/EC art. 315: VAT = margin * t / (100 + t), computed for a margin of 100.
        (20, 200, 100, "16.67"),
        (21, 200, 100, "17.36"),
        (19, 200, 100, "15.97"),
        (25, 200, 100, "20.00"),
    ],
)
def test_the_margin_scheme_equals_its_worked_examples(percent, price, cost, tax):
    found = tax_on_sale(sale(price, cost), VAT, vat(percent))
    assert amounts(found) == ("margin", Decimal(tax), 0)
    assert found.taxable == money(price - cost)
    assert not found.on_invoice


def test_standard_vat_is_a_sixth_of_the_price_at_twenty_percent():
    # VAT fraction 20/120: VAT Notice 718 and vatupdate.com, 2022/01/04.
    found = tax_on_sale(sale(120, None, way="invoice showing tax"), VAT, find_tax_table("gb"))
    assert amounts(found) == ("full price", Decimal("20.00"), 0)
    assert found.on_invoice


def test_the_credit_above_the_limit_is_at_most_the_gst_on_the_sale():
    # ATO ID 2002/8: bought for 880, sold for 660: 1/11 of 880 is 80, GST on the sale 60, credit 60.
    found = tax_on_sale(sale(660, 880, "AUD"), GST, find_tax_table("au"))
    assert amounts(found) == ("second-hand credit", Decimal("60.00"), Decimal("60.00"))


def test_the_credit_is_an_eleventh_of_the_price_paid():
    # westcourt.com.au, GST when buying and selling second-hand goods: bought for 33,000, credit 3,000.
    found = tax_on_sale(sale(44000, 33000, "AUD"), GST, find_tax_table("au"))
    assert amounts(found) == ("second-hand credit", Decimal("4000.00"), Decimal("3000.00"))


@pytest.mark.parametrize(("cost", "credit"), [("300.00", "27.27"), ("300.01", "9.09")])
def test_up_to_the_limit_the_credit_does_not_depend_on_the_sale(cost, credit):
    # GST Act 1999 s. 66-10: 300 or less, an eleventh of the price paid; more, the lesser of the two.
    found = tax_on_sale(sale(100, cost, "AUD"), GST, find_tax_table("au"))
    assert found.credit.amount == Decimal(credit)


def test_a_unit_of_a_divided_lot_takes_its_gst_from_the_pool_of_credits():
    # GST Act 1999 s. 66-45 and 66-50: no GST until the credits are used up, then only what is beyond them.
    divided = purchase(lot=lot(3300))
    full = tax_on_sale(sale(1100, None, "AUD", purchase=divided, lot_credits=money(300, "AUD")), GST, gst())
    assert amounts(full) == ("divided lot", 100, 100)
    last = tax_on_sale(sale(1100, None, "AUD", purchase=divided, lot_credits=money("60.5", "AUD")), GST, gst())
    assert amounts(last) == ("divided lot", 100, Decimal("60.50"))


@pytest.mark.parametrize("origin", [lot(3300, itemised=True), lot(300)])
def test_a_lot_with_a_price_for_each_unit_or_within_the_limit_is_not_divided(origin):
    found = tax_on_sale(sale(1100, 880, "AUD", purchase=purchase(lot=origin)), GST, gst())
    assert amounts(found) == ("second-hand credit", 100, 80)


def test_a_shop_that_is_not_registered_charges_nothing_and_needs_no_proof():
    found = tax_on_sale(sale(100, None, purchase=None), TaxPosition(), None)
    assert amounts(found) == ("none", 0, 0)
    assert found.adviser == ADVISER
    assert found.assumes


@pytest.mark.parametrize("way", ["invoice showing tax", "import"])
def test_goods_bought_with_tax_are_taxed_on_the_full_price(way):
    for position, table, currency in ((VAT, vat(), "GBP"), (GST, gst(), "AUD")):
        found = tax_on_sale(sale(100, 10, currency, way=way), position, table)
        assert found.scheme == "full price"
        assert any(way in words for words in found.assumes)


@pytest.mark.parametrize("way", MARGIN_WAYS)
@given(price=CENTS, cost=CENTS, percent=st.integers(1, 30))
def test_a_loss_gives_no_tax_back_and_a_gain_never_more_than_its_share(way, price, cost, percent):
    found = tax_on_sale(sale(price, cost, way=way), VAT, vat(percent))
    assert 0 <= found.output_tax.amount <= max(price - cost, 0)
    assert found.credit.amount == 0
    exact = max(price - cost, Decimal(0)) * percent / (100 + percent)
    assert abs(found.output_tax.amount - exact) <= Decimal("0.005")
    if price <= cost:
        assert found.output_tax.amount == 0


@given(price=CENTS, cost=CENTS.filter(lambda cost: cost > 300))
def test_above_the_limit_no_loss_gives_gst_back(price, cost):
    found = tax_on_sale(sale(price, cost, "AUD"), GST, gst())
    assert 0 <= found.credit.amount <= found.output_tax.amount


@pytest.mark.parametrize(("cost", "scheme"), [("500.00", "pooled margin"), ("500.01", "margin")])
def test_a_dear_unit_has_a_margin_of_its_own_although_the_shop_pools(cost, scheme):
    found = tax_on_sale(sale(800, cost), POOLED, find_tax_table("gb"))
    assert found.scheme == scheme


def test_what_was_paid_in_other_money_is_no_matter_where_the_full_price_is_taxed():
    foreign = TaxedSale(money(120), SOLD, purchase("import"), money(5, "USD"))
    assert amounts(tax_on_sale(foreign, VAT, vat())) == ("full price", 20, 0)


def test_the_usual_rules_may_always_be_chosen_and_need_no_proof():
    chosen = TaxPosition(kind="VAT", country="gb", on_full_price=True)
    found = tax_on_sale(sale(120, 100, purchase=None), chosen, vat())
    assert amounts(found) == ("full price", 20, 0)


@pytest.mark.parametrize(
    ("position", "table", "given_sale", "column"),
    [
        (VAT, vat(), sale(10, 5, purchase=None), "purchase"),
        (VAT, vat(), sale(10, 5, purchase=purchase(proven=False)), "purchase.proof"),
        (GST, gst(), sale(10, 5, "AUD", purchase=purchase("import", proven=False)), "purchase.proof"),
        (VAT, vat(), sale(10, None), "cost"),
        (GST, gst(), sale(10, None, "AUD"), "cost"),
        (GST, gst(), sale(10, 5, "AUD", way="margin dealer"), "purchase.way"),
        (GST, gst(), sale(10, 5, "AUD", purchase=purchase(lot=lot(400))), "lot_credits"),
        (VAT, vat(), sale(10, 5, on=date(2026, 3, 1)), "purchase.on"),
        (VAT, None, sale(10, 5), "country"),
        (VAT, gst(), sale(10, 5, "AUD"), "tax"),
        (VAT, vat(), sale(10, 5, "EUR"), "consideration"),
        (VAT, vat(), sale(10, -5), "cost"),
        (VAT, vat(), TaxedSale(money(10), SOLD, purchase(), money(5, "EUR")), "cost"),
    ],
)
def test_what_the_tax_depends_on_is_asked_for_never_assumed(position, table, given_sale, column):
    with pytest.raises(BadInput) as refused:
        tax_on_sale(given_sale, position, table)
    assert [problem.column for problem in refused.value.problems] == [column]


@pytest.mark.parametrize(("position", "table", "currency"), [(VAT, vat(), "GBP"), (GST, gst(), "AUD")])
def test_who_got_the_tax_of_the_purchase_back_may_not_use_a_second_hand_scheme(position, table, currency):
    with pytest.raises(BadInput, match="second-hand scheme"):
        tax_on_sale(sale(90, 60, currency, input_tax=money(10, currency)), position, table)
    invoiced = sale(90, 60, currency, way="invoice showing tax", input_tax=money(10, currency))
    assert tax_on_sale(invoiced, position, table).scheme == "full price"


def test_a_paper_of_another_kind_proves_nothing():
    wrong = purchase("margin dealer")
    unproven = purchase().model_copy(update={"proof": wrong.proof})
    with pytest.raises(BadInput, match="seller's declaration"):
        tax_on_sale(sale(10, 5, purchase=unproven), VAT, vat())


def test_the_rate_is_that_of_the_day_of_the_sale():
    old = purchase(on=date(2008, 11, 3))
    rates = {
        date(2008, 11, 30): "17.5", date(2008, 12, 1): "15", date(2010, 1, 3): "17.5", date(2011, 1, 4): "20",
    }  # fmt: skip
    for day, percent in rates.items():
        found = tax_on_sale(sale(10, 5, purchase=old, on=day), VAT, find_tax_table("gb"))
        assert found.percent == Decimal(percent)
    with pytest.raises(NotFound, match="no VAT rate for 1980-01-01"):
        tax_on_sale(sale(10, 5, purchase=purchase(on=date(1979, 1, 1)), on=date(1980, 1, 1)), VAT, find_tax_table("gb"))


def test_a_pool_without_a_known_limit_is_refused():
    with pytest.raises(NotFound, match="no limit for pooled margins"):
        tax_on_sale(sale(10, 5), POOLED, vat(limit=None))


def test_every_result_says_its_rule_what_it_assumes_and_who_decides():
    bought = purchase(on=BOUGHT, lot=lot(900))
    cases = (
        (sale(90, 30), VAT, vat()),
        (sale(90, 30, way="import"), VAT, vat()),
        (sale(90, 30, "AUD"), GST, gst()),
        (sale(90, 30, "AUD", purchase=bought, lot_credits=money(5, "AUD")), GST, gst()),
    )
    rules = set()
    for given_sale, position, table in cases:
        found = tax_on_sale(given_sale, position, table)
        assert found.adviser == ADVISER
        assert len(found.assumes) >= 3
        assert any("compared" in words for words in found.assumes)
        rules.add(found.rule)
    assert len(rules) == 4
