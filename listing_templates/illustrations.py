"""Photos in a listing: each beside the first sentence that states what it proves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from listing_templates.disclosures import disclosed_by
from pricing.records.listing import Sentence

_WHOLE = "class"


@dataclass(frozen=True)
class Illustration:
    """A photo as a listing can show it.

    Attributes:
        digest: SHA-256 of the picture.
        facts: Keys of the facts that it proves.
        source: A small copy as a data: address, for a page that stands alone.
        address: Where the picture lies on the net; "" where the shop has not said so.
    """

    digest: str
    facts: tuple[str, ...]
    source: str
    address: str = ""


def placed(
    sentences: Sequence[Sentence], illustrations: Sequence[Illustration]
) -> Mapping[int, tuple[Illustration, ...]]:
    """Return the illustrations by place of the sentence that they stand beside.

    That is the first one that discloses one of their facts; where none does, the first that rests on one. A photo of
    the whole unit stands beside the first sentence of all. Each stands once; one that no sentence is about is left out.
    """
    found: dict[int, tuple[Illustration, ...]] = {}
    for illustration in illustrations:
        place = _place(sentences, frozenset(illustration.facts))
        if place is not None:
            found[place] = (*found.get(place, ()), illustration)
    return found


def _place(sentences: Sequence[Sentence], facts: frozenset[str]) -> int | None:
    disclosing = (place for place, sentence in enumerate(sentences) if facts & set(disclosed_by(sentence)))
    # The title rests on facts too, and a picture cannot stand in it.
    below = [place for place, sentence in enumerate(sentences) if sentence.section != "title"]
    if _WHOLE in facts:
        return below[0] if below else None
    resting = (place for place in below if facts & set(sentences[place].facts))
    return next(disclosing, next(resting, None))
