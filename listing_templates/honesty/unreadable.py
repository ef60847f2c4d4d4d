"""What stands in a text and yet does not reach its reader: hidden, disguised, or in a language that it is not in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from listing_templates.honesty.disguise import disguised
from listing_templates.honesty.said import Said
from listing_templates.honesty.tongue import foreign_to
from listing_templates.honesty.visible import Visible
from pricing.records.finding import Finding


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


def _finding(start: int, end: int, fact: str, suggestions: Mapping[str, str]) -> Finding:
    return Finding(
        kind="unreadable", start=start, end=end, fact=fact, suggestion=suggestions.get(fact, ""), hard=bool(fact)
    )
