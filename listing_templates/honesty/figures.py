"""Numbers in a text against the record: specifications, battery share, count and size of marks, the grade."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal, InvalidOperation

from listing_templates.fact import Fact
from listing_templates.honesty.contradictions import Suggestions
from listing_templates.honesty.statements import Statement
from listing_templates.honesty.vocabulary import Vocabulary, phrases
from pricing.records.finding import Finding

# "1,000", "1.000" and "1 000" are all a thousand; "P2 512" is a name and a number.
_NUMBER = (
    r"(?<![\d.,])((?<!\w)(?:\d{1,3}(?:[.,'\u00a0\u202f]\d{3})+(?!\d)|\d{1,2} (?:000|024|048)\b)"
    r"|\d{1,9}(?:[.,]\d{1,3})?)"
)
_GROUPED = re.compile(r"\d{1,3}(?:[.,' \u00a0\u202f]\d{3})+")
_PERCENT = re.compile(_NUMBER + r" ?(?:%|percent\b)")
_LENGTH = re.compile(_NUMBER + r" ?(mm|cm)\b")
_OFTEN = re.compile(r"(?<![\w.,])(\d{1,2}) ?[x×*] ?$")
_CAPITAL_A = re.compile(r"\bA\b")
_GRADE = re.compile(r" ?:? ?([a-d])(?![a-z0-9'])")
# A year that stands alone: "2021", not "14.01.2021", "2021-01" or "1/2021".
_YEAR = re.compile(r"(?<![\d./-])(?:19|20)\d\d(?![\d/-]|\.\d)")
_WORDS_BEFORE_YEAR = 2  # "14 de enero de 2026"
_FIRST_LINES = 2
_THOUSANDS = re.compile(r"(?<![\d.,])\d{1,3}(?:[.,' \u00a0\u202f]\d{3})+(?!\d)|(?<![\d.,])\d{4,7}(?![\d.,]\d)")
_TOLERANCE_MM = Decimal("0.5")


def wrong_figures(
    statements: Sequence[Statement], facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    """Yield a finding for each number that differs from the record or that the record does not hold."""
    sentences = {statement.start: statement for statement in reversed(statements)}
    stated = _rightly_stated(sentences.values(), facts, vocabulary)
    for start in sorted(sentences):
        statement = sentences[start]
        yield from (
            finding
            for finding in _specifications(statement, facts, vocabulary, suggestions)
            # Who states it rightly elsewhere speaks of something else here: of a card, or another edition.
            if finding.fact not in stated or facts[finding.fact].label.casefold() in statement.sentence
        )
        yield from _share(statement, facts, vocabulary, suggestions)
        yield from _grade(statement, facts, vocabulary, suggestions)
    yield from _year([sentences[start] for start in sorted(sentences)], facts, vocabulary, suggestions)
    yield from _counts(sentences.values(), facts, vocabulary, suggestions)
    yield from _marks(statements, facts, vocabulary, suggestions)


def _rightly_stated(
    sentences: Iterable[Statement], facts: Mapping[str, Fact], vocabulary: Vocabulary
) -> frozenset[str]:
    """Return the keys of specifications that some sentence gives with the value on record."""
    written = " ".join(statement.sentence for statement in sentences)
    found = set()
    for fact in facts.values():
        if fact.noun != "attribute" or not fact.detail:
            continue
        factors = {fact.detail: (1,), **vocabulary.words.same_unit.get(fact.detail, {})}
        value = _decimal(fact.state)
        for unit, several in factors.items():
            said = _figures_in(written, unit)
            if any(one is not None and one * factor == value for one in said for factor in several):
                found.add(fact.key)
    return frozenset(found)


def _specifications(
    statement: Statement, facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    words = vocabulary.words
    if phrases(words.variants, vocabulary.tag).search(statement.sentence) is not None:
        return
    measured: dict[str, list[Fact]] = {}
    for fact in facts.values():
        if fact.noun == "attribute" and fact.detail and fact.detail.casefold() not in words.ambiguous_units:
            measured.setdefault(fact.detail, []).append(fact)
    for unit, alike in measured.items():
        factors = {unit: (1,), **words.same_unit.get(unit, {})}
        for written, values in factors.items():
            for said in _figures_in(statement.sentence, written):
                recorded = [_decimal(fact.state) for fact in alike]
                if said is not None and not any(said * factor == value for factor in values for value in recorded):
                    meant = min(alike, key=lambda fact: _distance(said, fact, statement))
                    yield _finding("against fact", statement, meant.key, suggestions)


def _figures_in(text: str, unit: str) -> list[Decimal | None]:
    """Return the numbers that stand before a unit, multiplied where the text says how often; None: no number."""
    figure = _NUMBER + " ?" + re.escape(unit.casefold()) + r"(?![a-z0-9])"
    return [_times(match[1], text[: match.start()]) for match in re.finditer(figure, text)]


def _times(number: str, before: str) -> Decimal | None:
    """Return a number, multiplied where the text says how often: "2 x 16"."""
    said, often = _decimal(number), _OFTEN.search(before)
    return said if said is None or often is None else said * int(often[1])


def _distance(said: Decimal, fact: Fact, statement: Statement) -> tuple[bool, Decimal]:
    """Return how far a number is from a fact's: first whether its label is named, then by the larger to the smaller."""
    recorded = _decimal(fact.state) or Decimal(1)
    low, high = sorted((said or Decimal(1), recorded or Decimal(1)))
    return fact.label.casefold() not in statement.sentence, high / low


def _share(
    statement: Statement, facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    about = phrases(vocabulary.words.battery, vocabulary.tag).search(statement.sentence)
    match = _PERCENT.search(statement.sentence)
    symptoms = (fact.detail or "" for fact in facts.values() if fact.state == "impaired")
    if about is None or match is None or any(match[1] in symptom for symptom in symptoms):
        return
    fact = facts.get("battery_share")
    if fact is None:
        yield _finding("no fact", statement, "battery_share", suggestions)
    elif _decimal(match[1]) != Decimal(fact.state):
        yield _finding("against fact", statement, "battery_share", suggestions)


def _year(
    sentences: Sequence[Statement], facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    """Yield a finding where years are stated that belong to no date, and none of them is the one on record."""
    fact = facts.get("attribute:year")
    if fact is None:
        return
    months = vocabulary.words.months
    stated = {
        found[0]: statement
        for statement in reversed(sentences)
        for found in _YEAR.finditer(statement.sentence)
        if not any(
            word.strip(".,") in months for word in statement.sentence[: found.start()].split()[-_WORDS_BEFORE_YEAR:]
        )
    }
    if fact.state in stated:
        return
    # Further down a text a year is when somebody bought or opened it; in its first lines, or by its name, its own.
    first = sentences[min(_FIRST_LINES, len(sentences)) - 1].start if sentences else 0
    named = [facts[key].state.casefold() for key in ("attribute:brand", "attribute:model") if key in facts]
    for said in sorted(stated.values(), key=lambda said: said.start):
        if said.start <= first or any(name in said.sentence for name in named):
            yield _finding("against fact", said, fact.key, suggestions)
            return


def _counts(
    sentences: Iterable[Statement], facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    """Yield a finding where what a unit counts ("shutter releases") is told with another number than on record."""
    for key, words in vocabulary.words.counters.items():
        fact = facts.get(f"attribute:{key}")
        if fact is None:
            continue
        about = phrases(words, vocabulary.tag)
        for statement in sentences:
            said = [re.sub(r"\D", "", found[0]) for found in _THOUSANDS.finditer(statement.sentence)]
            figures = [number for number in said if _YEAR.fullmatch(number) is None]
            if figures and fact.state not in figures and about.search(statement.sentence) is not None:
                yield _finding("against fact", statement, fact.key, suggestions)


def _grade(
    statement: Statement, facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    fact = facts["grade"]
    word = phrases(vocabulary.words.grade, vocabulary.tag).search(statement.sentence)
    said = None if word is None else _GRADE.match(statement.sentence, word.end)
    if said is None or said[1].upper() == fact.state:
        return
    if said[1] == "a" and _CAPITAL_A.search(statement.raw) is None:
        # "No ponemos nota a una marca": a small "a" is a word.
        return
    if fact.state == "not graded" or said[1].upper() < fact.state:
        yield _finding("better than grade", statement, "grade", suggestions)


def _marks(
    statements: Sequence[Statement], facts: Mapping[str, Fact], vocabulary: Vocabulary, suggestions: Suggestions
) -> Iterator[Finding]:
    for fact in facts.values():
        if fact.noun != "mark":
            continue
        about = _sentences_on(fact.thing, f"kind:{fact.state}", statements)
        sizes = [Decimal(str(mark.size_mm)) for mark in fact.marks if mark.size_mm is not None]
        for statement in about:
            said = [_millimetres(match) for match in _LENGTH.finditer(statement.sentence)]
            wrong = [size for size in said if not any(abs(size - known) <= _TOLERANCE_MM for known in sizes)]
            if wrong and not _measures_other_marks(statement, facts, fact):
                yield _finding("against fact" if sizes else "no fact", statement, fact.key, suggestions)
        counts = [_count(fact, statement, vocabulary) for statement in about]
        total = sum(mark.count for mark in fact.marks)
        told = any(_states(total, statement, vocabulary) for statement in about)
        if about and None not in counts and sum(filter(None, counts)) < total and not told:
            yield _finding("against fact", about[0], fact.key, suggestions)


def _sentences_on(surface: str, kind: str, statements: Iterable[Statement]) -> list[Statement]:
    found: dict[int, Statement] = {}
    said: dict[int, set[str]] = {}
    for statement in statements:
        found.setdefault(statement.start, statement)
        said.setdefault(statement.start, set()).update(statement.subjects | statement.signals)
    return [statement for start, statement in found.items() if {surface, kind} <= said[start]]


def _measures_other_marks(statement: Statement, facts: Mapping[str, Fact], fact: Fact) -> bool:
    """Return whether each length in the sentence may belong to another mark of the unit."""
    others = [mark for other in facts.values() if other.noun == "mark" and other is not fact for mark in other.marks]
    known = [Decimal(str(mark.size_mm)) for mark in (*others, *fact.marks) if mark.size_mm is not None]
    said = [_millimetres(match) for match in _LENGTH.finditer(statement.sentence)]
    return all(any(abs(size - length) <= _TOLERANCE_MM for length in known) for size in said)


def _count(fact: Fact, statement: Statement, vocabulary: Vocabulary) -> int | None:
    """Return the number said before the kind of mark, or None where the sentence states none."""
    words = vocabulary.words.signals.get(f"kind:{fact.state}", ())
    numbers = vocabulary.words.numbers
    one_of = "|".join([r"\d{1,4}", *map(re.escape, numbers)])
    kinds = "|".join(map(re.escape, sorted(words, key=len, reverse=True)))
    if not words:
        return None
    counted = rf"(?<![a-z0-9.,])({one_of}) (?:[^\W\d_]+ ){{0,2}}?(?:{kinds})(?![a-z0-9])"
    found = re.findall(counted, statement.sentence)
    return sum(numbers[word] if word in numbers else int(word) for word in found) if found else None


def _states(number: int, statement: Statement, vocabulary: Vocabulary) -> bool:
    """Return whether a sentence states a number, in words or signs, that is no length."""
    spelled = [str(number), *(word for word, value in vocabulary.words.numbers.items() if value == number)]
    one_of = "|".join(map(re.escape, spelled))
    return re.search(rf"(?<![\w.,])(?:{one_of})(?![\w.,]\d| ?(?:mm|cm)\b)(?!\w)", statement.sentence) is not None


def _millimetres(match: re.Match[str]) -> Decimal:
    value = _decimal(match[1]) or Decimal(0)
    return value * 10 if match[2] == "cm" else value


def _decimal(text: str) -> Decimal | None:
    if _GROUPED.fullmatch(text):
        return Decimal(re.sub(r"\D", "", text))
    try:
        return Decimal(text.replace(",", "."))
    except InvalidOperation:
        return None


def _finding(kind: str, statement: Statement, fact: str, suggestions: Suggestions) -> Finding:
    return Finding.model_validate({
        "kind": kind, "start": statement.start, "end": statement.end, "fact": fact,
        "suggestion": suggestions.get(fact, ""), "hard": kind == "against fact",
    })  # fmt: skip
