"""What stands in a text and yet does not reach its reader: hidden, disguised, in another language, or buried."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from listing_templates.fact import Fact
from listing_templates.honesty.disguise import disguised
from listing_templates.honesty.said import Said
from listing_templates.honesty.tongue import foreign_to
from listing_templates.honesty.visible import Visible
from pricing.records.finding import Finding

_LONG = 15  # sentences
_GRAVE = frozenset({"dead", "removed", "impaired", "locked"})


def unreadable(
    seen: Visible, sentences: Iterable[Said], tag: str, missing: Iterable[str], suggestions: Mapping[str, str]
) -> Iterator[Finding]:
    """Yield a finding for each stretch that is hidden or disguised, and each line in another language.

    A line in another language only counts while something is missing from the text: an honest one may greet so.
    """
    facts = tuple(missing)
    fact = facts[0] if len(facts) == 1 else ""
    for start, end in seen.hidden:
        yield _finding(start, end, fact, suggestions)
    for start, end in dict.fromkeys(seen.place(*stretch) for stretch in disguised(seen.text)):
        yield _finding(start, end, fact, suggestions)
    for said in sentences if facts else ():
        if foreign_to(tag, said.raw) is not None:
            yield _finding(said.start, said.end, fact, suggestions)


def buried(
    sentences: Sequence[Said],
    facts: Mapping[str, Fact],
    disclosed: Mapping[str, frozenset[int]],
    suggestions: Mapping[str, str],
) -> Iterator[Finding]:
    """Yield a finding where a long text tells what does not work, and what is locked, in its last lines only.

    Who reads so far down has decided long before. A text that tells any of it earlier, or is short, buries nothing.
    """
    if len(sentences) < _LONG:
        return
    grave = [key for key in disclosed if facts[key].state in _GRAVE and facts[key].noun in ("function", "lock")]
    first = {key: min(disclosed[key], default=0) for key in grave}
    late = sentences[-max(2, len(sentences) // 10) :]
    if grave and min(first.values()) >= late[0].start:
        place = min(grave, key=lambda key: first[key])
        said = next(said for said in reversed(sentences) if said.start <= first[place])
        yield _finding(said.start, said.end, place, suggestions).model_copy(update={"hard": False})


def _finding(start: int, end: int, fact: str, suggestions: Mapping[str, str]) -> Finding:
    return Finding(
        kind="unreadable", start=start, end=end, fact=fact, suggestion=suggestions.get(fact, ""), hard=bool(fact)
    )
