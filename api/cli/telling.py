"""How estimates, what-ifs and explanations read on a screen."""

from __future__ import annotations

from collections.abc import Sequence

from api.cli.output import say, show_table
from pricing.records.estimate import Estimate, Explanation, WhatIf
from pricing.records.money import Money

_SUPPORT = {
    "seen": "there are sales of the same group",
    "thin": "there are hardly any sales of the same group",
    "unseen": "no sale was of the same group",
}


def told_money(money: Money, *, signed: bool = False) -> str:
    """Return an amount as it is read: "214.37 EUR", with its sign when ``signed``."""
    amount = money.to_minor_unit().amount
    return f"{amount:+,f} {money.currency}" if signed else f"{amount:,f} {money.currency}"


def tell_estimate(estimate: Estimate) -> None:
    """Print what a unit is worth, between what, and what makes that less sure."""
    if estimate.estimate is None or estimate.expected is None:
        say(f"No figure: {estimate.abstained}")
        return
    kind = "Asking price" if estimate.of_asking_price else "Worth"
    day = "" if estimate.on is None else f" on {estimate.on}"
    average = f"average over like cases {told_money(estimate.expected)}"
    say(f"{kind}{day}: {told_money(estimate.estimate)} ({average})")
    for interval in estimate.intervals:
        span = f"{told_money(interval.low)} to {told_money(interval.high)}"
        say(f"  {interval.level} of 100 like cases: {span}")
    say(f"Support: {estimate.support}, {_SUPPORT[estimate.support]}.")
    if not estimate.calibrated:
        say("There were too few sales to check these ranges.")
    if estimate.abstained:
        say(f"Better not used: {estimate.abstained}")
    for reason in estimate.reasons:
        say(f"  - {reason}")


def tell_explanation(explanation: Explanation, *, most: int = 20) -> None:
    """Print what makes an estimate, at most ``most`` lines by size, and the most similar sales."""
    say("", "What makes it:")
    moved = [part for part in explanation.contributions if part.money.amount != 0]
    largest = sorted(moved, key=lambda part: abs(part.money.amount), reverse=True)[:most]
    rest = [part for part in moved if part not in largest]
    rows = [("typical unit", "", told_money(explanation.reference))]
    shown = [part for part in moved if part in largest]
    rows += [(part.name, part.value, told_money(part.money, signed=True)) for part in shown]
    if rest:
        together = Money(
            amount=sum((part.money.amount for part in rest), start=rest[0].money.amount * 0),
            currency=explanation.estimate.currency,
        )
        rows.append((f"{len(rest)} smaller things", "", told_money(together, signed=True)))
    rows.append(("this unit", "", told_money(explanation.estimate)))
    show_table(("", "is", "adds"), rows, right=("adds",))
    if explanation.nearest:
        say("", "The most similar sales:")
        show_table(("price", "sold on", "line", "differs in"), _nearest_rows(explanation), right=("price",))


def tell_what_if(changes: Sequence[str], found: WhatIf) -> None:
    """Print what changes do to an estimate."""
    say(f"With {', '.join(changes)}:")
    say(f"  {told_money(found.before)} becomes {told_money(found.after)}")
    span = f"{told_money(found.low_95, signed=True)} to {told_money(found.high_95, signed=True)}"
    say(f"  a change of {told_money(found.change, signed=True)} ({found.percent:+.1f} %); 95 of 100: {span}")
    for reason in found.reasons:
        say(f"  - {reason}")


def _nearest_rows(explanation: Explanation) -> list[tuple[str, str, str, str]]:
    return [
        (
            told_money(sale.price),
            "not dated" if sale.sold_on is None else sale.sold_on.isoformat(),
            "" if sale.line is None else str(sale.line),
            ", ".join(sale.differs) or "nothing that is known",
        )
        for sale in explanation.nearest
    ]
