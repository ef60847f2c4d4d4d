"""The VAT margin scheme: tax on the difference between what the buyer pays and what was paid for the unit.

Rules: Directive 2006/112/EC art. 315 (unit by unit) and 318 (totals of a period); in the United Kingdom
VAT Act 1994 s. 50A, SI 1995/1268 art. 12 and 13, VAT Notice 718. Parts, repairs and postage paid out do not
reduce the margin; their own tax is input tax as usual. A loss gives no tax back. The invoice shows no VAT.
"""

from __future__ import annotations

from decimal import Decimal

from pricing.decisions.included_tax import included_tax
from pricing.decisions.proofs import check_proof
from pricing.errors import BadInput, Problem, shortened
from pricing.records.money import Money, rounded
from pricing.records.purchase import Way
from pricing.records.tax import PoolItem, PoolPeriod, PoolResult, TaxTable

MARGIN_WAYS: tuple[Way, ...] = ("private person", "margin dealer")
MARGIN_RULE = "VAT is {percent}/{whole} of the margin, 0 when there is none (Directive 2006/112/EC art. 315)"
POOL_RULE = "VAT is {percent}/{whole} of the period's margin (Directive 2006/112/EC art. 318)"
POOL_ASSUMES = (
    "every purchase and sale of the period that belongs to the pool is among those given, and none twice",
    "all goods are taxed at the standard rate",
    "an excess of purchases goes into the next period; it is never paid out",
)


def margin_of(consideration: Money, cost: Money) -> Money:
    """Return what the buyer pays less what was paid for the unit; 0 for a loss."""
    return Money(amount=max(consideration.amount - cost.amount, Decimal(0)), currency=consideration.currency)


def rule_at(rule: str, percent: Decimal) -> str:
    """Return the words of a rule with the rate put in."""
    return rule.format(percent=f"{percent.normalize():f}", whole=f"{(100 + percent).normalize():f}")


def close_pool(period: PoolPeriod, table: TaxTable) -> PoolResult:
    """Return the tax of a period in which all margins are counted together.

    Margin = sales - (purchases + excess brought forward). Below 0 there is no tax, and the excess goes into
    the next period.

    Raises:
        BadInput: A unit is not proven, was bought in another way or is dearer than the limit; an amount is in
            another currency; the period holds two rates; or what was brought forward is below 0.
        NotFound: The table has no rate or limit for a day.
    """
    currency = table.currency
    problems = [problem for item in period.bought for problem in _problems_of_item(item, table)]
    problems += _problems_of_period(period, table)
    if problems:
        raise BadInput(f"the pool of margins cannot be closed; first: {problems[0]}", tuple(problems))
    percent = table.percent_on(period.ends)
    bought = sum((item.cost.amount for item in period.bought), start=period.brought_forward.amount)
    margin = sum((sale.amount for sale in period.sales), start=Decimal(0)) - bought
    taxable = max(margin, Decimal(0))
    return PoolResult(
        margin=Money(amount=taxable, currency=currency),
        tax=Money(amount=rounded(included_tax(taxable, percent), currency), currency=currency),
        carried_forward=Money(amount=max(-margin, Decimal(0)), currency=currency),
        percent=percent,
        rule=rule_at(POOL_RULE, percent),
        assumes=(*POOL_ASSUMES, table.standing),
    )


def _problems_of_item(item: PoolItem, table: TaxTable) -> list[Problem]:
    source = f"unit {item.number}"
    try:
        purchase = check_proof(item.purchase, source)
    except BadInput as error:
        return list(error.problems)
    problems = []
    if purchase.way not in MARGIN_WAYS:
        expected = f"a unit bought from a {' or '.join(MARGIN_WAYS)}"
        problems.append(Problem(source, None, "purchase.way", shortened(purchase.way), expected))
    if item.cost.currency != table.currency:
        problems.append(_other_currency(source, "cost", item.cost, table))
    elif item.cost.amount > table.pool_limit_on(purchase.on).amount:
        limit = table.pool_limit_on(purchase.on)
        expected = f"at most {limit.amount} {limit.currency}: a dearer unit has its own margin"
        problems.append(Problem(source, None, "cost", str(item.cost.amount), expected))
    return problems


def _problems_of_period(period: PoolPeriod, table: TaxTable) -> list[Problem]:
    problems = []
    for place, money in enumerate((*period.sales, period.brought_forward)):
        name = f"sales.{place}" if place < len(period.sales) else "brought_forward"
        if money.currency != table.currency:
            problems.append(_other_currency("pool", name, money, table))
        elif money.amount < 0:
            problems.append(Problem("pool", None, name, str(money.amount), "0 or more"))
    if period.ends < period.starts:
        problems.append(Problem("pool", None, "ends", str(period.ends), f"a day from {period.starts} on"))
        return problems
    for item in period.bought:
        if item.purchase is not None and not period.starts <= item.purchase.on <= period.ends:
            expected = f"a day from {period.starts} to {period.ends}"
            problems.append(Problem(f"unit {item.number}", None, "purchase.on", str(item.purchase.on), expected))
    changes = [row.starts for row in table.rates if period.starts < row.starts <= period.ends]
    if changes:
        expected = f"two periods, the second from {changes[0]} on, because the rate changes that day"
        problems.append(Problem("pool", None, "starts", f"{period.starts} to {period.ends}", expected))
    return problems


def _other_currency(source: str, column: str, money: Money, table: TaxTable) -> Problem:
    return Problem(source, None, column, money.currency, f"{table.currency}, as the tax of {table.title} is counted")
