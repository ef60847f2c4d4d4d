"""Facts as disclosures: no fact, no claim; every defect, a claim.

The first word of a sentence's identifier is the noun of what it discloses: "function.dead" discloses the functions
among its facts, and only rests on the others. ``disclosed_by`` reads that rule.
"""

from __future__ import annotations

from collections.abc import Sequence

from listing_templates.condition_disclosures import condition_disclosures
from listing_templates.fact import Fact
from listing_templates.function_disclosures import function_disclosures
from listing_templates.intake_disclosures import intake_disclosures
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass
from pricing.records.listing import Sentence


def disclosures_of(facts: Sequence[Fact], device_class: DeviceClass, wording: Wording) -> tuple[Sentence, ...]:
    """Return every disclosure that the facts ask for, and beside them what belongs to the same subjects.

    Those are the sentences on locks, opening, liquid, parts and data when all is well. Order: hidden faults
    first within each section.
    """
    return (
        *function_disclosures(facts, device_class, wording),
        *condition_disclosures(facts, wording),
        *intake_disclosures(facts, wording),
    )


def disclosed_by(sentence: Sentence) -> tuple[str, ...]:
    """Return the keys of the facts that this sentence discloses; the others it only rests on."""
    if not sentence.disclosure:
        return ()
    noun = sentence.id.split(".", 1)[0]
    return tuple(key for key in sentence.facts if key.split(":", 1)[0] == noun)
