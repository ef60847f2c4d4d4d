"""What prices leave on a channel, as a function of amounts in a model's currency."""

from __future__ import annotations

from decimal import Decimal

import numpy as np

from api.shop.proceeds import SaleWish, sale_terms
from api.shop.shop import Shop
from pricing.decisions.net_curve import net_curve
from pricing.decisions.plan_solve import NetOf
from pricing.decisions.proceeds import SaleTerms, exact_net, net_proceeds
from pricing.errors import BadInput, Problem
from pricing.estimation.estimate import currency_of
from pricing.hedonic.model import PriceModel
from pricing.records.money import Money, money_from_float
from pricing.records.sales_table import FloatArray

NO_CHANNEL = "no channel was named: fees, postage, returns and tax are not counted"


class NetTerms:
    """Net proceeds of prices: exact ones for a few, and a curve for very many."""

    def __init__(self, terms: SaleTerms | None, currency: str) -> None:
        self.terms = terms
        self.currency = currency

    def exact(self, prices: FloatArray) -> FloatArray:
        """Return what these prices leave, before rounding, elementwise."""
        if self.terms is None:
            return np.asarray(prices, dtype=np.float64)
        flat = [self._one(Decimal(repr(float(price)))) for price in np.ravel(prices)]
        return np.array(flat, dtype=np.float64).reshape(np.shape(prices))

    def curve(self, highest: float) -> NetOf:
        """Return a function from prices up to ``highest`` to what they leave, straight between 1,500 of them."""
        return self.exact if self.terms is None else net_curve(lambda price: Decimal(self._one(price)), highest)

    def in_words(self) -> tuple[str, ...]:
        """Return what is counted, in sentences."""
        if self.terms is None:
            return (NO_CHANNEL,)
        some = net_proceeds(money_from_float(100.0, self.currency), self.terms)
        tax = "without tax" if self.terms.position.kind is None else f"tax by the rule {some.tax.scheme}"
        return (f"net of the channel {self.terms.channel.name}, {tax}", *some.assumes, *some.tax.assumes)

    def _one(self, price: Decimal) -> float:
        assert self.terms is not None  # noqa: S101 - asked only with a channel
        return float(exact_net(price, self.terms))


def net_terms(shop: Shop, model: PriceModel, wish: SaleWish | None) -> NetTerms:
    """Return what prices in the model's currency leave; without a wish the price itself.

    Raises:
        BadInput: The channel is in another currency, a file is wrong, or the purchase that tax depends on is not known.
        NotFound: There is no such channel, zone, unit or country.
    """
    currency = currency_of(model)
    if wish is None:
        return NetTerms(None, currency)
    terms, _ = sale_terms(shop, wish)
    if terms.channel.currency != currency:
        problem = Problem("request", None, "channel", terms.channel.currency, f"a channel in {currency}")
        raise BadInput(str(problem), (problem,))
    net_proceeds(Money(amount=Decimal(1), currency=currency), terms)
    return NetTerms(terms, currency)
