"""Whether a text discloses a fact in words of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from listing_templates.fact import Fact
from listing_templates.honesty.statements import Statement
from listing_templates.honesty.vocabulary import Vocabulary, normal, phrases

# What a text must assert of a function in each recorded state; one of them is enough. To say less of a function
# than the record ("not working" of one that was not tested) leaves the buyer warned.
_ENOUGH: dict[str, frozenset[str]] = {
    "dead": frozenset({"dead", "fault"}),
    "impaired": frozenset({"impaired", "fault", "dead"}),
    "removed": frozenset({"removed"}),
    "untested": frozenset({"untested", "dead", "fault"}),
    "third-party": frozenset({"third-party"}),
    "salvaged": frozenset({"salvaged"}),
    "unknown": frozenset({"unknown origin"}),
    "locked": frozenset({"locked"}),
    "not checked": frozenset({"lock not checked"}),
    "covered": frozenset({"not looked at"}),
    "not looked at": frozenset({"not looked at"}),
}
_ALIKE = 0.6  # share of a sentence's weighty words that a rewording has to keep


def is_disclosed(fact: Fact, statements: Sequence[Statement], vocabulary: Vocabulary) -> bool:
    """Return whether the statements disclose the fact."""
    if fact.noun == "mark":
        return _mark_disclosed(fact, statements)
    if fact.noun == "combination":
        return _reworded(fact.detail or "", statements, vocabulary)
    if fact.noun in ("opened", "liquid", "data", "battery_share"):
        return _condition_disclosed(fact, statements, vocabulary)
    # A part that was fitted twice has a numbered key for the second time; people name it the same.
    named = ":".join(fact.key.split(":")[:2]) if fact.noun == "part" else fact.key
    about = [statement for statement in statements if named in statement.subjects]
    if any(statement.signals & _ENOUGH[fact.state] for statement in about):
        return True
    return fact.state == "impaired" and _symptom_named(fact, about, vocabulary)


def _mark_disclosed(fact: Fact, statements: Iterable[Statement]) -> bool:
    surface = "surface:" + fact.name.rsplit(":", 1)[0]
    kind = f"kind:{fact.state}"
    by_sentence: dict[tuple[int, str], set[str]] = {}
    for statement in statements:
        found = by_sentence.setdefault((statement.start, statement.sentence), set())
        found |= statement.subjects | statement.signals
    return any(surface in found and kind in found for found in by_sentence.values())


def _condition_disclosed(fact: Fact, statements: Iterable[Statement], vocabulary: Vocabulary) -> bool:
    state = fact.way or "" if fact.noun == "battery_share" else fact.state
    evidence = vocabulary.words.evidence.get(f"{fact.noun}:{state}")
    if evidence is None:
        return False
    for text in dict.fromkeys(statement.sentence for statement in statements):
        taken_back = bool(evidence.never) and phrases(evidence.never, vocabulary.tag).search(text) is not None
        if not taken_back and all(_has_one(words, fact.state, text, vocabulary.tag) for words in evidence.every):
            return True
    return False


def _has_one(words: tuple[str, ...], state: str, text: str, tag: str) -> bool:
    number = state.rstrip("0").rstrip(".") if "." in state else state
    filled = tuple(word.replace("{state}", number) for word in words)
    plain = text.replace("%", " %").replace("  %", " %")
    if any("%" in word for word in filled):
        return any(re.search(r"(?<![\d.,])" + re.escape(word), plain) for word in filled)
    return phrases(filled, tag).search(plain) is not None


def _symptom_named(fact: Fact, about: Iterable[Statement], vocabulary: Vocabulary) -> bool:
    words = _weighty(fact.detail or "", vocabulary)
    return bool(words) and any(
        len(words & _weighty(statement.sentence, vocabulary)) >= len(words) / 2 for statement in about
    )


def _reworded(sentence: str, statements: Iterable[Statement], vocabulary: Vocabulary) -> bool:
    words = _weighty(sentence, vocabulary)
    texts = list(dict.fromkeys(statement.sentence for statement in statements))
    windows = [" ".join(texts[place : place + 2]) for place in range(len(texts))]
    return any(len(words & _weighty(window, vocabulary)) >= _ALIKE * len(words) for window in windows)


def _weighty(text: str, vocabulary: Vocabulary) -> set[str]:
    words = re.findall(r"[^\W_]+", normal(text, vocabulary.words.rewrites))
    return {word.rstrip("s") or word for word in words} - set(vocabulary.words.idle)
