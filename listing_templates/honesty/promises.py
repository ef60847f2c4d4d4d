"""Claims about the unit as a whole that are no functions: never opened, dry, erased, what is included, its identity."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from listing_templates.fact import Fact
from listing_templates.honesty.contradictions import Disclosed, Suggestions
from listing_templates.honesty.statements import Statement
from listing_templates.honesty.visible import Visible
from listing_templates.honesty.vocabulary import Vocabulary, phrases
from listing_templates.honesty.words import read_words
from listing_templates.identity import compact
from pricing.records.finding import Finding
from pricing.records.unit import Unit

_BEHIND = 2  # words behind the name of a thing in which it is said not to come along
# Attributes that record what comes along.
_COME_ALONG = frozenset({"attribute:controllers", "attribute:supply_included"})


def broken_promises(
    statements: Iterable[Statement],
    facts: Mapping[str, Fact],
    disclosed: Disclosed,
    vocabulary: Vocabulary,
    suggestions: Suggestions,
) -> Iterator[Finding]:
    """Yield a finding for each such claim that the record contradicts or does not bear out."""
    accessories = " ".join(
        f"{fact.label} {fact.state}".casefold() for fact in facts.values() if fact.noun in ("accessory", "attribute")
    )
    recorded = sum(fact.noun == "accessory" or fact.key in _COME_ALONG for fact in facts.values())
    read: set[int] = set()
    told = facts["opened"].state == "by others" and "opened" in disclosed if "opened" in facts else False
    for statement in statements:
        if statement.start in read or statement.claims_nothing:
            continue
        read.add(statement.start)
        for finding in _claims(statement, facts, vocabulary, suggestions):
            # "We did not open it" is right beside "somebody before us did"; "erased: not recorded" claims nothing.
            tells = statement.start in disclosed.get(finding.fact, ())
            if not (tells or (told and finding.fact == "opened")):
                yield finding
        yield from _included(statement, accessories, recorded, vocabulary)
    yield from _unlocked(statements, facts, vocabulary, suggestions)


def shown_identity(seen: Visible, unit: Unit, suggestions: Suggestions) -> Iterator[Finding]:
    """Yield a finding where the identity stands in full, with whatever separators."""
    bare = compact(unit.identity or "")
    if len(bare) < 6:
        return
    pattern = r"[^0-9A-Za-z\n]{0,2}".join(map(re.escape, bare))
    for match in re.finditer(pattern, seen.text, re.IGNORECASE):
        start, end = seen.place(match.start(), match.end())
        yield Finding(
            kind="identity shown", start=start, end=end, fact="identity", suggestion=suggestions.get("identity", "")
        )


def _claims(
    statement: Statement, facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    for claim in vocabulary.words.claims:
        match = phrases(claim.phrases, vocabulary.tag).search(statement.sentence)
        fact = facts.get(claim.fact)
        if match is None or fact is None or _negated(statement.sentence[: match.start], vocabulary):
            continue
        if _negated_behind(statement.sentence[match.end :], vocabulary):
            continue
        if fact.state in claim.borne_out or vocabulary.conditions.search(statement.sentence[: match.start]):
            # "Whether it was erased is not recorded" claims nothing.
            continue
        against = fact.state in claim.against
        yield Finding(
            kind="against fact" if against else "no fact",
            start=statement.start,
            end=statement.end,
            fact=fact.key,
            suggestion=suggestions.get(fact.key, ""),
            hard=against,
        )
        return


def _unlocked(
    statements: Iterable[Statement], facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    """Yield a finding for "unlocked" or "no locks" said of the unit, while a lock holds or was not checked."""
    held = sorted(
        (fact for fact in facts.values() if fact.noun == "lock" and fact.state != "free"),
        key=lambda fact: fact.state != "locked",
    )
    free = phrases(vocabulary.words.unit_is_free, vocabulary.tag)
    for statement in statements:
        names_lock = any(key.startswith("lock:") for key in statement.subjects)
        match = free.search(statement.piece)
        if statement.claims_nothing or vocabulary.rest.search(statement.piece) is not None:
            continue
        if not held or names_lock or match is None or _negated(statement.piece[: match.start], vocabulary):
            continue
        yield Finding(
            kind="against fact" if held[0].state == "locked" else "no fact",
            start=statement.start,
            end=statement.end,
            fact=held[0].key,
            suggestion=suggestions.get(held[0].key, ""),
        )


def _included(
    statement: Statement, accessories: str, recorded: int, vocabulary: Vocabulary
) -> Iterator[Finding]:
    words = vocabulary.words
    said = phrases(words.included, vocabulary.tag).search(statement.sentence)
    if said is None or phrases(words.not_included, vocabulary.tag).search(statement.sentence) is not None:
        return
    spoken_of = (phrases(names, vocabulary.tag).search(statement.sentence) for names in words.accessories.values())
    claimed = [found for found in spoken_of if found is not None]
    if len(claimed) <= recorded:
        # Nobody calls a thing as the record does: only more things than it holds are a promise too much.
        return
    for key, names in words.accessories.items():
        noun = phrases(names, vocabulary.tag).search(statement.piece)
        # A record names its accessories as somebody typed them, often in English.
        known = (*names, *read_words("en").accessories.get(key, ()))
        if noun is None or any(name in accessories for name in known):
            continue
        behind = [word.strip(".,;:!") for word in statement.piece[noun.end :].split()[:_BEHIND]]
        if any(word in vocabulary.negators or word in vocabulary.negators_after for word in behind):
            # "The box comes along, the charger does not."
            continue
        spoken_for = any(key.startswith(("function:", "part:", "surface:")) for key in statement.subjects)
        before = statement.sentence[: max(noun.start, said.start)]
        if not spoken_for and not _negated(before, vocabulary, reach=6):
            yield Finding(
                kind="no fact", start=statement.start, end=statement.end, fact="", suggestion="", hard=False
            )
            return


def _negated_behind(after: str, vocabulary: Vocabulary) -> bool:
    """Return whether a verb is denied at the end of its clause: "trocken geblieben ist sie nicht"."""
    words = [word.strip(".!?:)") for word in next(vocabulary.clauses(after.partition(",")[0])).split()]
    return not vocabulary.words.particles and any(word in vocabulary.negators_after for word in words[-1:])


def _negated(before: str, vocabulary: Vocabulary, reach: int = 3) -> bool:
    return any(word in vocabulary.negators for word in before.split()[-reach:])
