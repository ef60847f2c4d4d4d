"""Random channels and terms of sale for properties."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from hypothesis import strategies as st

from pricing.decisions.proceeds import SaleTerms
from pricing.records.channel import Channel, Fee, Postage, Reserve, Returns, Tier
from pricing.records.tax import TaxPosition
from tests.deals import SOLD, gst, lot, money, purchase, vat

CURRENCIES = ("GBP", "JPY", "KWD")


def hundredths(low, high):
    return st.integers(low * 100, high * 100).map(lambda number: Decimal(number) / 100)


@st.composite
def tiers(draw):
    bounds = sorted(draw(st.sets(hundredths(1, 900), max_size=3)))
    edges = [Decimal(0), *bounds, None]
    return tuple(
        Tier(above=low, up_to=high, percent=draw(hundredths(0, 9)), fixed=draw(hundredths(0, 3)))
        for low, high in pairwise(edges)
    )


@st.composite
def fees(draw, name, known):
    """One fee, tiered or not, of price, postage or the fees before it."""
    if draw(st.booleans()):
        return Fee(name=name, tiers=draw(tiers()), tiers_by=draw(st.sampled_from(["slices", "whole"])))
    of = draw(st.lists(st.sampled_from(["price", "postage", *known]), min_size=1, max_size=3, unique=True))
    low = draw(st.none() | hundredths(0, 5))
    high = draw(st.none() | hundredths(5, 60))
    bounds = {"at_least": low, "at_most": high}
    return Fee(name=name, percent=draw(hundredths(0, 9)), fixed=draw(hundredths(0, 2)), of=tuple(of), **bounds)


@st.composite
def channels(draw, currency="GBP"):
    """A channel that takes less than 98 percent of each more."""
    names = [f"fee {number}" for number in range(draw(st.integers(0, 3)))]
    postage = Postage(zone="home", cost=draw(hundredths(0, 20)), charged=draw(hundredths(0, 9)))
    return Channel(
        name="any",
        title="Any",
        currency=currency,
        fees=tuple(draw(fees(name, names[:place])) for place, name in enumerate(names)),
        payment=draw(st.none() | fees("payment", names)),
        postage=draw(st.sampled_from([(), (postage,)])),
        returns=Returns(share_percent=draw(hundredths(0, 20)), cost=draw(hundredths(0, 9)), lost_percent=Decimal(10)),
        guarantee=Reserve(percent=draw(hundredths(0, 5)), fixed=draw(hundredths(0, 2))),
    )


@st.composite
def terms(draw):
    """A channel with a tax scheme that fits the purchase."""
    currency = draw(st.sampled_from(CURRENCIES))
    sold = {"channel": draw(channels(currency)), "on": SOLD, "cost": money(draw(st.integers(0, 900)), currency)}
    kind = draw(st.sampled_from([None, "VAT", "GST"]))
    if kind is None:
        return SaleTerms(**sold)
    table = (vat if kind == "VAT" else gst)(draw(st.integers(1, 27)), currency)
    way = draw(st.sampled_from(["private person", "invoice showing tax", "import"]))
    origin = draw(st.sampled_from([None, lot(900, currency), lot(200, currency)]))
    return SaleTerms(
        **sold,
        position=TaxPosition(kind=kind, country="xx", pooled=kind == "VAT" and draw(st.booleans())),
        table=table,
        purchase=purchase(way, lot=origin),
        lot_credits=money(draw(st.integers(0, 50)), currency),
    )
