"""Claims that a function works, that a part is original, a surface unmarked, a lock free: held against the record."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping

from listing_templates.fact import Fact
from listing_templates.honesty.said import accessories_in
from listing_templates.honesty.statements import Statement, is_use
from listing_templates.honesty.vocabulary import Vocabulary, phrases
from listing_templates.honesty.words import read_words
from pricing.records.finding import Finding

Suggestions = Mapping[str, str]
Disclosed = Mapping[str, frozenset[int]]  # key of a fact -> where the sentences start that disclose it

_PRAISE = frozenset({"works", "tested"})
_FEW_WORDS = 6
_SHARE = re.compile(r"\d ?(?:%|per ?cent|prozent|pour cent|por ciento)")
_HONEST = frozenset({"dead", "fault", "impaired", "removed", "untested", "marked"})


def contradictions(
    statements: Iterable[Statement],
    facts: Mapping[str, Fact],
    disclosed: Disclosed,
    by_words: Disclosed,
    vocabulary: Vocabulary,
    suggestions: Suggestions,
) -> Iterator[Finding]:
    """Yield a finding for each claim that the record does not bear out.

    ``disclosed`` holds the keys that the text discloses, and where: "otherwise everything works" leaves them out;
    ``by_words`` those of them that it discloses in words that we know.
    """
    for statement in statements:
        if statement.claims_nothing:
            continue
        claimed = statement.signals & _PRAISE
        if claimed and not statement.signals & _HONEST:
            yield from _of_functions(statement, claimed, facts, disclosed, suggestions)
        # "Its origin is unknown" names an origin, and tells of none.
        yield from _untold_there(statement, _of_parts(statement, facts, vocabulary, suggestions), by_words)
        yield from _not_told_there(statement, _of_surfaces(statement, facts, vocabulary, suggestions), by_words)
        yield from (
            finding
            for finding in _untold_there(statement, _of_locks(statement, facts, suggestions), by_words)
            # "We have no code": who says that goes on about the lock that was told before.
            if not (finding.fact in by_words and (statement.borrowed or "free" not in statement.signals))
        )


def _untold_there(statement: Statement, findings: Iterable[Finding], disclosed: Disclosed) -> Iterator[Finding]:
    """Yield the findings but those on what the same sentence discloses."""
    return (found for found in findings if statement.start not in disclosed.get(found.fact, ()))


def _not_told_there(statement: Statement, findings: Iterable[Finding], disclosed: Disclosed) -> Iterator[Finding]:
    """Yield the findings but those on what the same sentence discloses: "the top is clean but for one scratch"."""
    return (
        found for found in findings if found.kind == "no fact" or statement.start not in disclosed.get(found.fact, ())
    )


def _of_functions(
    statement: Statement,
    claimed: frozenset[str],
    facts: Mapping[str, Fact],
    disclosed: Disclosed,
    suggestions: Suggestions,
) -> Iterator[Finding]:
    functions = [fact for fact in facts.values() if fact.noun == "function"]
    named = [
        alike
        for name in statement.names
        if not is_use(name) and (alike := [fact for fact in functions if fact.key in name])
    ]
    uses = [fact for name in statement.names if is_use(name) for fact in functions if fact.key in name]
    named_keys = {fact.key for alike in named for fact in alike}
    wide = [
        fact
        for fact in functions
        if fact.state != "not fitted" and (statement.whole or f"group:{fact.kin}" in statement.subjects)
    ]
    # What the text tells elsewhere is left out of all that works, as "the rest" is in plain words.
    left_out = set(statement.excepted) | set(disclosed)
    doubted = [fact for fact in wide if fact.key not in left_out | named_keys]
    for alike in named:
        # One name may mean several functions ("fan"): the claim is false only when it holds for none of them.
        if all(_is_false(statement, fact, claimed, disclosed) for fact in alike):
            yield from (_finding(statement, fact, claimed, suggestions) for fact in alike)
    yield from (
        _finding(statement, fact, claimed, suggestions)
        for fact in uses
        if fact.state != "not fitted" and _is_false(statement, fact, claimed, disclosed)
    )
    for kind in ("against fact", "no fact"):
        # Where several would do, the one that the text is silent on: what it tells elsewhere hides nothing.
        worst = sorted((f for f in doubted if _verdict(f, claimed) == kind), key=lambda fact: fact.key in disclosed)
        if worst:
            yield _finding(statement, worst[0], claimed, suggestions)
            return


def _is_false(statement: Statement, fact: Fact, claimed: frozenset[str], disclosed: Disclosed) -> bool:
    """Return whether a claim about a function is false; "works, but rattles" tells of the fault by itself."""
    if fact.key in statement.excepted and fact.state in ("dead", "removed"):
        # "Every key works except the N key", of a dead keyboard.
        return True
    # What works poorly does work in a way. And a text that tells of a fault elsewhere takes it back only in plain
    # words about nothing else ("the Wi-Fi works"): a longer sentence rather speaks of something beside it.
    plainly = len(statement.piece.split()) <= _FEW_WORDS and len(statement.names) == 1
    if fact.state == "not fitted" and (statement.borrowed or not plainly):
        # A word for what the unit does not have means something else there: "the stand of the dock works".
        return False
    told_anywhere = fact.key in disclosed and (fact.state == "impaired" or not plainly)
    told = told_anywhere or fact.key in statement.excepted or statement.start in disclosed.get(fact.key, ())
    return _verdict(fact, claimed) is not None and not told


def _verdict(fact: Fact, claimed: frozenset[str]) -> str | None:
    if fact.state == "works":
        return None
    if fact.state == "untested":
        return "no fact"
    return "against fact" if "works" in claimed or fact.state == "not fitted" else None


def _finding(
    statement: Statement, fact: Fact, claimed: frozenset[str], suggestions: Suggestions
) -> Finding:
    verdict = _verdict(fact, claimed)
    return Finding(
        kind="no fact" if verdict == "no fact" else "against fact",
        start=statement.start,
        end=statement.end,
        fact=fact.key,
        suggestion=suggestions.get(fact.key, ""),
        hard=verdict != "no fact",
    )


def _of_parts(
    statement: Statement, facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    if "original" not in statement.signals or "third-party" in statement.signals:
        return
    if _is_of_accessory(statement, vocabulary) or _SHARE.search(statement.sentence):
        # "84 % of its original capacity" says nothing of who made the cell.
        return
    named = [key for key in statement.subjects if key.startswith("part:")]
    unknown = any(key in facts and facts[key].state == "unknown" for key in named)
    if unknown and statement.signals & {"unknown origin", "untested", "lock not checked"}:
        # "Its origin is unknown" names an origin, and claims none.
        return
    for key in sorted(named):
        fitted = [fact for other, fact in facts.items() if other == key or other.startswith(key + ":")]
        bad = [fact for fact in fitted if fact.state in ("third-party", "salvaged")]
        if bad:
            yield _plain("against fact", statement, bad[0].key, suggestions.get(bad[0].key, ""))
        elif not any(fact.state == "original" for fact in fitted) and not _comes_along(key, facts, vocabulary):
            yield _plain("no fact", statement, key, suggestions.get(key, ""))
    if not named and not any(key.startswith("function:") for key in statement.subjects):
        bad = [f for f in facts.values() if f.noun == "part" and f.state in ("third-party", "salvaged")]
        if bad and "part" in statement.sentence:
            yield _plain("against fact", statement, bad[0].key, suggestions.get(bad[0].key, ""))


def _comes_along(key: str, facts: Mapping[str, Fact], vocabulary: Vocabulary) -> bool:
    """Return whether what bears this name is recorded among what comes along: a battery, a charger."""
    labels = accessories_in(facts.values())
    supply = facts.get("attribute:supply_included")
    # What it is stands in words of the text's language ("del fabricante").
    own = (
        key == "part:supply"
        and supply is not None
        and (supply.state == "own" or "original" in _signals_of(supply.state, vocabulary))
    )
    # A record names its accessories as somebody typed them, often in English.
    names = (*vocabulary.words.aliases.get(key, ()), *read_words("en").aliases.get(key, ()))
    return own or any(name in labels for name in names)


def _signals_of(words: str, vocabulary: Vocabulary) -> frozenset[str]:
    return frozenset[str]().union(*(found.means for found in vocabulary.signals.find(words.casefold())))


def _is_of_accessory(statement: Statement, vocabulary: Vocabulary) -> bool:
    """Return whether it praises what comes along ("with the maker's power supply"), no part of the unit."""
    words = vocabulary.words
    nouns = tuple(name for names in words.accessories.values() for name in names)
    included, noun = (
        phrases(some, vocabulary.tag).search(text)
        for some, text in ((words.included, statement.sentence), (nouns, statement.piece))
    )
    return included is not None and noun is not None


def _of_surfaces(
    statement: Statement, facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    denied = {signal.removeprefix("no kind:") for signal in statement.signals if signal.startswith("no kind:")}
    if not (denied or "clean" in statement.signals) or "not looked at" in statement.signals:
        return
    told = any(signal.startswith("kind:") for signal in statement.signals)
    if told or vocabulary.within.search(statement.piece) is not None:
        return
    for name in statement.names:
        surfaces = sorted(key for key in name if key.startswith("surface:"))
        found = [_of_surface(key, denied, statement, facts, suggestions) for key in surfaces]
        # One name may mean several surfaces ("front"): the claim is false only when it holds for none of them.
        if None not in found:
            yield from (one for one in found if one is not None)


def _of_surface(
    key: str, denied: Collection[str], statement: Statement, facts: Mapping[str, Fact], suggestions: Suggestions
) -> Finding | None:
    """Return what is wrong with calling a surface clean, or with denying kinds of mark on it."""
    marked = [fact for other, fact in facts.items() if other.startswith("mark:" + key.partition(":")[2] + ":")]
    if "clean" not in statement.signals:
        marked = [fact for fact in marked if fact.state in denied]
    if marked:
        return _plain("against fact", statement, marked[0].key, suggestions.get(marked[0].key, ""))
    if key in facts and facts[key].state in ("covered", "not looked at"):
        return _plain("no fact", statement, key, suggestions.get(key, ""))
    return None


def _of_locks(statement: Statement, facts: Mapping[str, Fact], suggestions: Suggestions) -> Iterator[Finding]:
    if not statement.signals & {"free", "absent"} or statement.signals & {"locked", "lock not checked"}:
        return
    for key in sorted(statement.subjects):
        if key.startswith("lock:") and facts[key].state != "free":
            kind = "against fact" if facts[key].state == "locked" else "no fact"
            # A lock is never a soft finding: a buyer who trusts it can lose the whole unit.
            yield _plain(kind, statement, key, suggestions.get(key, ""), hard=True)


def _plain(kind: str, statement: Statement, fact: str, suggestion: str, *, hard: bool | None = None) -> Finding:
    return Finding.model_validate({
        "kind": kind, "start": statement.start, "end": statement.end, "fact": fact, "suggestion": suggestion,
        "hard": kind != "no fact" if hard is None else hard,
    })  # fmt: skip
