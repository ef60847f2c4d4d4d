"""A listing within a channel's limits: descriptions go, disclosures stay.

What does not fit is given up in this order, and told in ``Listing.left_off``:

1. whole sentences that disclose nothing, the least useful first, as ``LEAST_USEFUL_FIRST`` says;
2. lists of specifications and accessories lose entries from their end; an entry is never cut in two;
3. those lists as a whole, then the price, which a channel shows in a field of its own.

Disclosures and texts that a law or the shop's terms ask for never go and are never cut. If even they do not fit, the
listing is refused. A title gives up words of the name from its end, never those that say faulty or locked.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from pricing.errors import ListingRefused, counted
from pricing.records.base import Record
from pricing.records.listing import Sentence

BodyOf = Callable[[Sequence[Sentence]], str]
SizeOf = Callable[[str], int]

LEAST_USEFUL_FIRST: tuple[str, ...] = (
    "included.nothing",
    "summary.counts",
    "works.out_of_reach",
    "system.language",
    "carrier.gone",
    "seal.renewed",
    "look.clean",
    "part.original",
    "opened.no_sign",
    "corrosion.none_seen",
    "liquid.white",
    "works.undated",
    "buyer.look",
    "buyer.opened",
    "buyer.untested",
    "lock.free",
    "data.verified",
    "system.version",
    "cell.handled",
    "supply.own",
    "buyer.faulty",
    "works.tested",
    "buyer.locked",
    "buyer.parts_only",
    "look.not_graded",
    "look.grade",
    "summary.serial",
    "summary.imei_unchecked",
    "summary.imei",
    "summary.imei_wrong",
    "identity.places",
)
LISTS: tuple[str, ...] = ("included.with", "summary.attributes")
LAST = "price.asked"
_BREAK = ", "
_NAME = "{name}"


class Fitted(Record):
    """What became of a listing's sentences.

    Attributes:
        sentences: Those kept, in reading order; a list may have lost entries.
        body: The text that holds what was kept.
    """

    sentences: tuple[Sentence, ...]
    body: str


def fitted(sentences: tuple[Sentence, ...], body_of: BodyOf, limit: int | None, size_of: SizeOf = len) -> Fitted:
    """Return the sentences that fit into a body of at most ``limit`` characters; None: without limit.

    ``size_of`` says how many characters of a body count, all of them by default.

    Raises:
        ListingRefused: Not even the disclosures fit.
    """
    body = body_of(sentences)
    if limit is None or size_of(body) <= limit:
        return Fitted(sentences=sentences, body=body)

    def excess_of(some: Sequence[Sentence]) -> int:
        """Return by how much a body of these sentences is too long."""
        return size_of(body_of(some)) - limit

    order = _order_of_going(sentences)
    kept = _without(sentences, order[: _fewest_gone(sentences, order, excess_of)])
    for name in (*LISTS, LAST):
        kept = _with_shorter(kept, name, excess_of(kept))
    body = body_of(kept)
    if size_of(body) > limit:
        raise _too_long(kept, size_of(body), limit)
    return Fitted(sentences=kept, body=body)


def fitted_title(title: Sentence, pattern: str, limit: int | None) -> Sentence:
    """Return the title in at most ``limit`` characters; ``pattern`` is what its ``{name}`` was filled into.

    Raises:
        ListingRefused: What the title says beside the name does not fit.
    """
    if limit is None or len(title.text) <= limit:
        return title
    before, _, after = pattern.partition(_NAME)
    name = title.text[len(before) : len(title.text) - len(after)]
    room = limit - len(before) - len(after)
    shorter = _shorter_name(name, room)
    if not shorter:
        raise ListingRefused(
            f"the title needs {len(before) + len(after) + 1} characters and more for what it must say "
            f'("{before}…{after}"); {limit} are allowed'
        )
    return title.model_copy(update={"text": f"{before}{shorter}{after}"})


def _shorter_name(name: str, room: int) -> str:
    """Return the name without its last words, "" when no word of it fits; an ellipsis stands where a word went."""
    whole = name.rpartition(_BREAK)[0]
    if whole and len(whole) <= room:
        return whole
    end = name.rfind(" ", 0, max(room, 0))
    return "" if end < 0 else name[:end].rstrip(",") + "…"


def _order_of_going(sentences: Sequence[Sentence]) -> list[Sentence]:
    """Return what may go whole, first to go first; of several alike the last in reading order goes first."""
    place = {name: number for number, name in enumerate(LEAST_USEFUL_FIRST)}
    may_go = [sentence for sentence in reversed(sentences) if sentence.id in place and not sentence.disclosure]
    return sorted(may_go, key=lambda sentence: place[sentence.id])


def _fewest_gone(
    sentences: Sequence[Sentence], order: Sequence[Sentence], excess_of: Callable[[Sequence[Sentence]], int]
) -> int:
    """Return how many of ``order`` have to go, all when even that is too few; by halving, as bodies only shrink."""
    low, high = min(1, len(order)), len(order)
    while low < high:
        middle = (low + high) // 2
        if excess_of(_without(sentences, order[:middle])) <= 0:
            high = middle
        else:
            low = middle + 1
    return high


def _without(sentences: Sequence[Sentence], gone: Sequence[Sentence]) -> tuple[Sentence, ...]:
    return tuple(sentence for sentence in sentences if sentence not in gone)


def _with_shorter(sentences: tuple[Sentence, ...], name: str, excess: int) -> tuple[Sentence, ...]:
    """Return the sentences with the one called ``name`` shorter by at least ``excess`` characters, or gone."""
    if excess <= 0:
        return sentences
    kept = []
    for sentence in sentences:
        if sentence.id == name and not sentence.disclosure:
            text = "" if name == LAST else _fewer_entries(sentence.text, excess)
            if text:
                kept.append(sentence.model_copy(update={"text": text}))
        else:
            kept.append(sentence)
    return tuple(kept)


def _fewer_entries(text: str, excess: int) -> str:
    """Return the list without its last entries, or "" when too little is left of it."""
    # What a format escapes only gets longer, so taking away ``excess`` signs of the text is always enough.
    end = text.rfind(_BREAK, 0, max(len(text) - excess, 0))
    return "" if end < 0 else text[:end] + "…"


def _too_long(kept: Sequence[Sentence], size: int, limit: int) -> ListingRefused:
    disclosures = sum(sentence.disclosure for sentence in kept)
    return ListingRefused(
        f"the listing needs {size:,} characters with nothing in it but what must be said "
        f"({counted(disclosures, 'disclosure')}); {limit:,} are allowed; nothing was cut: choose another channel, "
        "or sell it in person with the sheet"
    )
