"""Ways of gilding parts, work and the sale: origin, sealing, locks, data, photos, accessories."""

from __future__ import annotations

from listing_templates.honesty.verdict import Told, Verdict, unproven

_TELLS = frozenset({"dead", "impaired", "removed", "fault", "untested", "third-party", "locked"})


def gilded_part(told: Told) -> Verdict | None:
    """A part praised as if the maker had made it."""
    named = [fact for fact in told.known.parts if fact.key in told.said.subjects]
    found = [*named, *told.known.parts]
    if found:
        return unproven(found[0])
    parts = sorted(key for key in told.said.subjects if key.startswith("part:"))
    if not parts or any(told.known.state(key) == "original" for key in parts):
        return None
    return Verdict("no fact", parts[0])


def gilded_work(told: Told) -> Verdict | None:
    """Work praised by who did it or by what standard, which no record holds."""
    named = [fact.key for fact in told.known.parts if fact.key in told.said.subjects]
    found = [*named, *(fact.key for fact in told.known.parts)]
    return Verdict("no fact", found[0] if found else "")


def sealed(told: Told) -> Verdict | None:
    """A unit told to resist water, dust or splashes."""
    seal = told.known.facts.get("function:seal_state")
    if seal is not None and seal.state not in ("works", "not fitted"):
        return unproven(seal)._replace(kind="against fact", hard=True)
    return Verdict("against fact" if told.known.is_opened else "no fact", "opened", hard=told.known.is_opened)


def new_cell(told: Told) -> Verdict | None:
    """A new or changed battery: fine only where the record has it and the text tells whose it is."""
    weak = told.known.facts.get("function:battery_runtime")
    if weak is not None and weak.state in ("impaired", "dead") and weak.key in told.known.disclosed:
        # Who tells that the battery is worn and then speaks of a new one says what the buyer will need.
        return None
    cells = [fact for fact in told.known.facts.values() if fact.key.startswith("part:") and "cell" in fact.key]
    if not cells:
        return Verdict("no fact", "part:cell")
    cell = cells[0]
    is_told = cell.state == "original" or cell.key in told.known.disclosed
    return None if is_told else Verdict("no fact", cell.key)


def way_round(told: Told) -> Verdict | None:
    """A lock made light of, or a way round it offered."""
    return unproven(told.known.held[0])._replace(hard=True) if told.known.held else None


def pushed(told: Told) -> Verdict | None:
    """The buyer is sent to find out: fine in a sentence that itself tells what there is to see."""
    tells = told.said.kinds or told.said.signals & _TELLS
    return None if tells else Verdict("pushed to buyer", "")


def complete(told: Told) -> Verdict | None:
    """"Complete" without a list of what belongs to it."""
    accessories = [key for key in told.known.facts if key.startswith("accessory:")]
    return Verdict("no fact", "") if len(accessories) < 2 else None


def original_accessory(told: Told) -> Verdict | None:
    """An accessory told to be the maker's own, which the record does not say."""
    supply = told.known.facts.get("attribute:supply_included")
    if told.known.own_supply:
        return None
    if "original" in told.known.accessories:
        return None
    return Verdict("no fact", "" if supply is None else supply.key)


def story(told: Told) -> Verdict | None:
    """Where it comes from, who had it, what it would cost else: of the whole unit, which no record holds."""
    return None if told.said.names and not told.sure else Verdict("no fact", "")


def wiped(told: Told) -> Verdict | None:
    """Stored data told to be gone for good."""
    state = told.known.state("data")
    if state in ("", "verified") or (state == "not verified" and "data" in told.known.disclosed):
        return None
    against = state == "not erased"
    return Verdict("against fact" if against else "no fact", "data", hard=against)
