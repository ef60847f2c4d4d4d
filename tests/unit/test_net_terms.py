from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import numpy as np
import pytest

from api.settings import Settings
from api.shop.net_terms import NO_CHANNEL, NetTerms, net_terms
from api.shop.proceeds import SaleWish, sale_terms
from api.shop.shop import Shop
from pricing.decisions.proceeds import net_proceeds
from pricing.errors import BadInput
from pricing.records.money import Money

POUNDS = '[channel]\nname = "stall"\ntitle = "Stall"\ncurrency = "GBP"\n'


class EuroModel:
    """All that is asked of a model here: its currency."""

    currency = "EUR"


@pytest.fixture
def shop(tmp_path):
    return Shop(Settings(home=tmp_path), now=lambda: datetime(2026, 3, 1, tzinfo=UTC))


def test_without_a_channel_a_price_leaves_itself_and_says_so():
    terms = NetTerms(None, "EUR")
    assert terms.exact(np.array([3.0, 5.0])).tolist() == [3, 5]
    assert terms.curve(10)(np.array([4.0])).tolist() == [4]
    assert terms.in_words() == (NO_CHANNEL,)


@pytest.mark.parametrize("channel", ["counter", "online-market", "weekly-auction"])
def test_nets_are_those_of_the_bill_but_for_rounding(shop, channel):
    terms = net_terms(shop, EuroModel(), SaleWish(channel))
    bill_terms, _ = sale_terms(shop, SaleWish(channel))
    prices = np.array([[19.9, 80.0], [149.5, 620.0]])
    exact = terms.exact(prices)
    for price, net in zip(prices.ravel(), exact.ravel(), strict=True):
        bill = net_proceeds(Money(amount=Decimal(str(price)), currency="EUR"), bill_terms)
        assert net == pytest.approx(float(bill.net.amount), abs=0.05)
    assert terms.curve(700)(prices) == pytest.approx(exact, abs=0.2)
    assert any(f"net of the channel {channel}" in line for line in terms.in_words())


def test_a_channel_in_another_currency_is_refused(shop, tmp_path):
    (tmp_path / "channels").mkdir()
    (tmp_path / "channels" / "stall.toml").write_text(POUNDS)
    with pytest.raises(BadInput, match="request, channel: found GBP; expected a channel in EUR"):
        net_terms(shop, EuroModel(), SaleWish("stall"))


def test_tax_on_a_unit_of_which_nobody_knows_how_it_was_bought_is_refused(shop):
    with pytest.raises(BadInput):
        net_terms(shop, EuroModel(), SaleWish("counter", country="de"))
