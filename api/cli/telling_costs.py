"""How ledgers, net proceeds and answers to offers read on a screen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from api.cli.output import say, show_table
from api.cli.telling import told_money
from pricing.records.cost import Basis, NumberedEntry, Profit
from pricing.records.money import Money
from pricing.records.proceeds import NetProceeds, OfferAnswer
from pricing.records.tax import PoolResult

_ANSWERS = {"accept": "Take it", "counter": "Name another price", "wait": "Wait for somebody else"}


def tell_kept(kept: NumberedEntry, basis: Basis) -> None:
    """Print what was written into a ledger, and what the unit has cost with it."""
    entry = kept.entry
    what = entry.kind if entry.reverses is None else f"{entry.kind}, takes back entry {entry.reverses}"
    say(f"Entry {kept.number}: {what}, {told_money(entry.amount)} on {entry.on} ({_told_rate(kept)}).")
    say(f"The unit has cost {told_money(basis.total)} up to {basis.on}.")


def tell_costs(number: str, entries: Sequence[NumberedEntry], basis: Basis | None) -> None:
    """Print a unit's ledger and what it comes to."""
    if basis is None:
        say(f"Nothing is written down for unit {number} yet.")
        return
    rows = [
        (
            str(kept.number),
            kept.entry.on.isoformat(),
            kept.entry.kind,
            told_money(kept.entry.paid),
            told_money(kept.entry.amount),
            _told_rate(kept),
            _told_reason(kept),
        )
        for kept in entries
    ]
    show_table(("", "on", "for", "paid", "cost", "rate", "why"), rows, right=("", "paid", "cost"))
    say(f"Basis of unit {number} on {basis.on}: {told_money(basis.total)}")
    for line in basis.lines:
        say(f"  {line.kind}: {told_money(line.amount)}")


def tell_bases(bases: Mapping[str, Basis]) -> None:
    """Print what each unit has cost."""
    if not bases:
        say("Nothing is written down for any unit yet; --add writes down a cost.")
        return
    rows = [(number, told_money(basis.total), str(basis.entries)) for number, basis in bases.items()]
    show_table(("unit", "has cost", "entries"), rows, right=("has cost", "entries"))


def tell_shares(lot: str, shares: Mapping[str, Money], total: Money) -> None:
    """Print what each unit carries of a lot."""
    rows = [(number, told_money(share)) for number, share in shares.items()]
    show_table(("unit", "carries"), [*rows, ("in all", told_money(total))], right=("carries",))
    say(f"Lot {lot}: shares are rounded by the largest remainder and sum to what was paid.")


def tell_outlook(proceeds: NetProceeds, break_even: Money | None, profit: Profit | None) -> None:
    """Print what a sale leaves, line by line, and over what the unit has cost."""
    zone = "" if proceeds.zone is None else f", sent to {proceeds.zone}"
    say(f"Sold on {proceeds.channel}{zone}, {proceeds.on}:")
    rows = [("price", told_money(proceeds.price))]
    rows += [(line.name, told_money(_taken(line.amount), signed=True)) for line in proceeds.lines]
    rows.append(("net", told_money(proceeds.net)))
    show_table(("", "amount"), rows, right=("amount",))
    if profit is not None and break_even is not None:
        share = "" if profit.percent is None else f" ({profit.percent:+} % of it)"
        say(f"Over a basis of {told_money(profit.basis)}: {told_money(profit.profit, signed=True)}{share}")
        say(f"All costs come back from a price of {told_money(break_even)} on.")
    _tell_rule(proceeds.tax.rule, (*proceeds.tax.assumes, *proceeds.assumes), proceeds.tax.adviser)


def tell_pool(closed: PoolResult) -> None:
    """Print what a period of pooled margins comes to."""
    rows = [
        ("margin of the period", told_money(closed.margin)),
        (f"tax at {closed.percent.normalize():f} %", told_money(closed.tax)),
        ("carried forward", told_money(closed.carried_forward)),
    ]
    show_table(("", "amount"), rows, right=("amount",))
    _tell_rule(closed.rule, closed.assumes, closed.adviser)


def tell_answer(answer: OfferAnswer) -> None:
    """Print the best answer to an offer and what each is expected to leave."""
    say(f"{_ANSWERS[answer.answer]}.")
    rows = [(f"accept {told_money(answer.offer)}", told_money(answer.accept)), ("wait", told_money(answer.wait))]
    if answer.counter is not None:
        counter = answer.counter
        words = f"counter {told_money(counter.price)}, chance {counter.chance:.2f}"
        rows.append((words, told_money(counter.expected)))
    show_table(("", "expected net"), rows, right=("expected net",))
    say(f"Lowest price to accept: {told_money(answer.lowest)}")
    for words in answer.assumes:
        say(f"  - {words}")


def _tell_rule(rule: str, assumes: Sequence[str], adviser: str) -> None:
    say(f"Tax: {rule}.", "This takes to be so:")
    for words in assumes:
        say(f"  - {words}")
    say(adviser)


def _taken(money: Money) -> Money:
    return Money(amount=-money.amount, currency=money.currency)


def _told_rate(kept: NumberedEntry) -> str:
    entry = kept.entry
    if entry.rate_origin == "same currency":
        return entry.rate_origin
    day = "" if entry.rate_on is None else f" of {entry.rate_on}"
    return f"{entry.rate:.5f} {entry.rate_origin}{day}"


def _told_reason(kept: NumberedEntry) -> str:
    entry = kept.entry
    return entry.reason if entry.reverses is None else f"takes back {entry.reverses}: {entry.reason}"
