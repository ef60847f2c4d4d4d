"""What must be shown before a tax scheme is followed."""

from __future__ import annotations

from collections.abc import Mapping

from pricing.errors import BadInput, Problem, shortened
from pricing.records.purchase import PROOFS, Purchase, Way

_WANTED: Mapping[Way, str] = {
    "private person": "the seller's declaration, signed, with its number and day",
    "margin dealer": "the dealer's invoice that says margin scheme, with its number and day",
    "invoice showing tax": "the invoice that shows the tax, with its number and day",
    "import": "the entry that customs gave back, with its number and day",
}


def check_proof(purchase: Purchase | None, source: str) -> Purchase:
    """Return the purchase when it is known and the right paper shows it.

    Raises:
        BadInput: Nobody knows how the unit was bought, nothing shows it, or the paper shows something else.
    """
    if purchase is None:
        ways = ", ".join(PROOFS)
        raise _unproven(source, "purchase", "nothing", f"how the unit was bought ({ways}), because tax depends on it")
    wanted = f"{_WANTED[purchase.way]}, because a purchase that nothing shows is not assumed"
    if purchase.proof is None:
        raise _unproven(source, "purchase.proof", "nothing", wanted)
    if purchase.proof.kind != PROOFS[purchase.way]:
        raise _unproven(source, "purchase.proof.kind", shortened(purchase.proof.kind), wanted)
    return purchase


def _unproven(source: str, column: str, found: str, expected: str) -> BadInput:
    problem = Problem(source, None, column, found, expected)
    return BadInput(str(problem), (problem,))
