"""The command ``cost``: the ledgers of units, and what lots cost."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from api.cli.openings import open_shop
from api.cli.options import JsonOption, RatesOption, StoreOption, day_option, money_option, parse_share
from api.cli.output import note, print_json
from api.cli.telling_costs import tell_bases, tell_costs, tell_kept, tell_shares
from api.error_replies import WELL
from api.shop.costs import CostKept, UnitCosts, add_cost, all_bases, take_back, unit_costs
from api.shop.lot_costs import LotShares, hand_on, lot_shares_of, read_lot_cost, share_lot
from api.shop.shop import Shop
from api.shop.stating import stated
from pricing.records.cost import Basis, CostKind, NewCost
from pricing.records.money import Money
from pricing.records.purchase import PROOFS, Proof, Purchase, Way

Number = Annotated[str | None, typer.Option("--number", metavar="UNIT", help="Number of the stored unit.")]
Add = Annotated[CostKind | None, typer.Option("--add", help="Write down a cost of this kind.")]
Paid = Annotated[Money | None, money_option("--paid", "What was paid, as paid: '18.40 USD'.")]
Charged = Annotated[Money | None, money_option("--charged", "What bank or card really took.")]
TaxBack = Annotated[
    Decimal, typer.Option("--tax-back", parser=parse_share, metavar="AMOUNT", help="Tax in it that comes back.")
]
Refund = Annotated[bool, typer.Option("--refund", help="Money that came back, not a cost.")]
Reason = Annotated[str, typer.Option("--reason", help="Why.")]
Base = Annotated[str | None, typer.Option("--base", metavar="CUR", help="Currency of a new ledger.")]
TakeBack = Annotated[int | None, typer.Option("--take-back", metavar="ENTRY", help="Take this entry back.")]
From = Annotated[Way | None, typer.Option("--bought-from", help="How the unit was bought.")]
ProofNumber = Annotated[str | None, typer.Option("--proof", help="Your number of the paper that shows it.")]
Day = Annotated[date | None, day_option("Day of the cost, or costs up to it; else today.")]
Lot = Annotated[
    Path | None, typer.Option("--lot", metavar="FILE", help="Divide this lot (JSON) into the ledgers of its units.")
]
LotNumber = Annotated[str | None, typer.Option("--lot-number", help="Show what the units of this lot carry.")]
Scrapped = Annotated[
    list[str], typer.Option("--scrapped", metavar="UNIT", help="Hand its costs on to the rest of the lot.")
]


def cost(
    number: Number = None,
    add: Add = None,
    paid: Paid = None,
    charged: Charged = None,
    tax_back: TaxBack = Decimal(0),
    refund: Refund = False,
    reason: Reason = "",
    base: Base = None,
    bought_from: From = None,
    proof: ProofNumber = None,
    take: TakeBack = None,
    lot: Lot = None,
    lot_number: LotNumber = None,
    scrapped: Scrapped = [],  # noqa: B006 - typer wants a list
    rates: RatesOption = None,
    on: Day = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> int:
    """Write down what a stored unit costs, show its ledger, or divide what a lot cost.

    Without an option: what each unit in the store has cost so far.

    Example: plainsale cost --on 2026-03-31
    """
    written = {"paid": paid, "charged": charged, "bought-from": bought_from, "proof": proof}
    tasks = {"add": add, "take-back": take, "lot": lot, "lot-number": lot_number}
    _check_alone(tasks, written, scrapped, rates)
    shop = open_shop(store)
    if add is not None:
        answers = {
            "kind": add, "on": on or shop.today, "paid": paid, "charged": charged, "tax_back": tax_back,
            "refund": refund, "reason": reason or add,
        }  # fmt: skip
        return _write_down(shop, _named(number), answers, (base, rates), (bought_from, proof), as_json)
    if take is not None:
        return _show_kept(take_back(shop, _named(number), take, reason or "a mistake", on=on), as_json)
    if lot is not None:
        return _show_shares(share_lot(shop, read_lot_cost(lot), base=base, rates=rates), as_json)
    if lot_number is not None:
        return _show_lot(shop, lot_number, scrapped, reason, on, as_json)
    if number is None:
        return _show_bases(all_bases(shop, on=on), as_json)
    return _show_costs(unit_costs(shop, number, on=on), as_json)


def _write_down(
    shop: Shop,
    number: str,
    answers: Mapping[str, object],
    money: tuple[str | None, Path | None],
    bought: tuple[Way | None, str | None],
    as_json: bool,
) -> int:
    base, rates = money
    cost_stated = stated(NewCost, "cost", answers)
    purchase = _purchase(*bought, cost_stated.on)
    return _show_kept(add_cost(shop, number, cost_stated, base=base, rates=rates, purchase=purchase), as_json)


def _show_kept(kept: CostKept, as_json: bool) -> int:
    note(*kept.notices)
    if as_json:
        print_json({"entry": kept.kept.model_dump(mode="json"), "basis": kept.basis.model_dump(mode="json")})
    else:
        tell_kept(kept.kept, kept.basis)
    return WELL


def _show_lot(
    shop: Shop, number: str, scrapped: list[str], reason: str, on: date | None, as_json: bool
) -> int:
    if scrapped:
        return _show_shares(hand_on(shop, number, scrapped, on=on, reason=reason), as_json)
    return _show_shares(lot_shares_of(shop, number), as_json)


def _show_shares(shares: LotShares, as_json: bool) -> int:
    if as_json:
        by_unit = {number: share.model_dump(mode="json") for number, share in shares.shares.items()}
        print_json({"lot": shares.lot, "shares": by_unit, "total": shares.total.model_dump(mode="json")})
    else:
        tell_shares(shares.lot, shares.shares, shares.total)
    return WELL


def _show_bases(bases: dict[str, Basis], as_json: bool) -> int:
    if as_json:
        print_json({number: basis.model_dump(mode="json") for number, basis in bases.items()})
    else:
        tell_bases(bases)
    return WELL


def _show_costs(costs: UnitCosts, as_json: bool) -> int:
    if as_json:
        entries = [entry.model_dump(mode="json") for entry in costs.entries]
        print_json({"entries": entries, "basis": None if costs.basis is None else costs.basis.model_dump(mode="json")})
    else:
        tell_costs(str(costs.unit.number), costs.entries, costs.basis)
    return WELL


def _purchase(way: Way | None, proof: str | None, on: date) -> Purchase | None:
    """Return how a unit was bought, when the command line says it.

    Raises:
        typer.BadParameter: A paper is named, but not what it shows.
    """
    if way is None:
        if proof is not None:
            raise typer.BadParameter("--proof shows how a unit was bought: name that with --bought-from")
        return None
    papers = {"kind": PROOFS[way], "reference": proof, "dated": on}
    shown = None if proof is None else stated(Proof, "proof", papers)
    return Purchase(way=way, on=on, proof=shown)


def _named(number: str | None) -> str:
    """Return the unit's number.

    Raises:
        typer.BadParameter: None is given.
    """
    if number is None:
        raise typer.BadParameter("name a stored unit with --number")
    return number


def _check_alone(
    tasks: Mapping[str, object], written: Mapping[str, object], scrapped: list[str], rates: Path | None
) -> None:
    """Let pass one task at a time, and what belongs to writing down only with that.

    Raises:
        typer.BadParameter: Several are asked for, or an option without its task.
    """
    asked = [f"--{name}" for name, value in tasks.items() if value is not None]
    if len(asked) > 1:
        raise typer.BadParameter(f"one at a time, not {' and '.join(asked)}")
    alone = [f"--{name}" for name, value in written.items() if value is not None]
    if tasks["add"] is None and alone:
        raise typer.BadParameter(f"{alone[0]} belongs to a cost that is written down: name its kind with --add")
    if tasks["add"] is not None and written["paid"] is None:
        raise typer.BadParameter("--add needs --paid, like --paid '18.40 EUR'")
    if rates is not None and tasks["add"] is None and tasks["lot"] is None:
        raise typer.BadParameter("--rates belongs to a cost or a lot that is written down: --add or --lot")
    if scrapped and tasks["lot-number"] is None:
        raise typer.BadParameter("--scrapped needs the number of the lot: --lot-number")
