"""The unit's state in the few words that trade on the net has for it: damaged, used or refurbished; never new.

It is read off the sentences, so it can never say more than the listing does.

- damaged: a function works poorly, is dead or removed; a lock is on; something is cracked or missing.
- refurbished: a part was fitted after we opened it, every function was tested afterwards on a known day and works,
  and nothing is left to disclose but the parts, the opening, the battery's share and small marks. Common practice
  asks at least for that much; no source.
- used: everything else. It says nothing about what works.
"""

from __future__ import annotations

from collections.abc import Sequence

from pricing.records.listing import Condition, Sentence

DAMAGING = frozenset({"function.impaired", "function.dead", "function.removed", "function.left", "lock.locked"})
BROKEN_MARKS = frozenset({"crack", "missing piece"})
_MAY_STAND = frozenset({
    "part.original", "part.third_party", "part.salvaged", "opened.by_us", "mark.seen",
    "battery_share.measured", "battery_share.reported",
})  # fmt: skip


def condition_of(sentences: Sequence[Sentence]) -> Condition:
    """Return the condition that these sentences of a listing, all of them, bear out."""
    if any(_damaging(sentence) for sentence in sentences):
        return "damaged"
    names = {sentence.id for sentence in sentences}
    disclosed = {sentence.id for sentence in sentences if sentence.disclosure}
    repaired = "opened.by_us" in names and any(name.startswith("part.") for name in names)
    tested = "works.tested" in names and "works.undated" not in names
    return "refurbished" if repaired and tested and disclosed <= _MAY_STAND else "used"


def _damaging(sentence: Sentence) -> bool:
    if sentence.id in DAMAGING or sentence.id.startswith("stop."):
        return True
    kinds = (key.rpartition(":")[2] for key in sentence.facts if key.startswith("mark:"))
    return sentence.disclosure and any(kind in BROKEN_MARKS for kind in kinds)
