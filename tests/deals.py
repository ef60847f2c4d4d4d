"""Purchases, proofs and tax tables for tests."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pricing.records.money import Money
from pricing.records.purchase import PROOFS, LotOrigin, Proof, Purchase
from pricing.records.tax import DatedAmount, DatedPercent, TaxTable

BOUGHT = date(2026, 3, 2)
SOLD = date(2026, 5, 4)
START = date(2000, 1, 1)


def money(amount, currency="GBP"):
    return Money(amount=Decimal(str(amount)), currency=currency)


def purchase(way="private person", *, proven=True, on=BOUGHT, lot=None):
    proof = Proof(kind=PROOFS[way], reference="P-1", dated=on) if proven else None
    return Purchase(way=way, on=on, proof=proof, lot=lot)


def lot(price, currency="AUD", *, itemised=False):
    return LotOrigin(number="L-1", price=money(price, currency), itemised=itemised)


def vat(percent=20, currency="GBP", limit=500):
    """A table with one rate from the year 2000 on."""
    limits = () if limit is None else (DatedAmount(starts=START, amount=Decimal(limit), source="test"),)
    rates = (DatedPercent(starts=START, percent=Decimal(percent), source="test"),)
    head = {"country": "xx", "title": "Nowhere", "kind": "VAT", "currency": currency}
    return TaxTable(**head, rates=rates, pool_limits=limits)


def gst(percent=10, currency="AUD", limit=300):
    """A GST table with one rate from the year 2000 on."""
    rates = (DatedPercent(starts=START, percent=Decimal(percent), source="test"),)
    limits = (DatedAmount(starts=START, amount=Decimal(limit), source="test"),)
    head = {"country": "yy", "title": "Elsewhere", "kind": "GST", "currency": currency}
    return TaxTable(**head, rates=rates, credit_limits=limits)
