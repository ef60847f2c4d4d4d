"""The honesty reader: any text against one unit's record.

Our own sentences are recognised word for word and need no reading. What is left is cut into sentences, and each is
asked what it says of which function, part, surface or lock; that is compared with the record. There is no list of
bad words: the same phrase is right for one unit and wrong for another.
"""

from __future__ import annotations

from listing_templates.class_texts import class_texts
from listing_templates.composition import sentences_of
from listing_templates.disclosures import disclosed_by
from listing_templates.fact import Fact
from listing_templates.fact_texts import facts_in
from listing_templates.function_disclosures import untested_sentence
from listing_templates.honesty.contradictions import contradictions
from listing_templates.honesty.doubts import surely_claimed, surely_told
from listing_templates.honesty.evidence import disclosures
from listing_templates.honesty.figures import wrong_figures
from listing_templates.honesty.linked import as_linked_data
from listing_templates.honesty.own import OwnSentences, find_own
from listing_templates.honesty.promises import broken_promises, shown_identity
from listing_templates.honesty.said import Known, said_in
from listing_templates.honesty.second_look import told_after_all
from listing_templates.honesty.statements import statements_of
from listing_templates.honesty.tongue import language_of
from listing_templates.honesty.topics import topics_of
from listing_templates.honesty.unreadable import buried, unreadable
from listing_templates.honesty.visible import Visible, as_written, has_tags, without_markup
from listing_templates.honesty.vocabulary import vocabulary_of
from listing_templates.honesty.ways import misleading, talk_in
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass
from pricing.records.finding import Finding
from pricing.records.listing import Sentence
from pricing.records.unit import Unit


def read_text(text: str, unit: Unit, device_class: DeviceClass, *, language: str | None = None) -> tuple[Finding, ...]:
    """Return what is wrong with a text about this unit: plain text, Markdown or HTML, ours or anybody's.

    Findings with a place come first, in the order of the text; ``start`` and ``end`` count characters of ``text``.
    Then each recorded defect, untested function, part, opening, liquid indicator and lock that it does not disclose.

    Args:
        text: The text.
        unit: Whose record it is held against.
        device_class: The class of the unit.
        language: Tag of the language that the text is in; None: told by its commonest words.

    Raises:
        NotFound: There is no such language.
    """
    language = language_of(text) if language is None else language
    wording = Wording(language)
    worded = class_texts(device_class, language)
    facts = {fact.key: fact for fact in facts_in(unit, device_class, language)}
    sentences = sentences_of(unit, device_class, wording)
    seen, own = _read_as(text, sentences)
    vocabulary = vocabulary_of(worded, facts.values(), language)
    statements = statements_of(seen, own.rest, vocabulary)
    spoken = tuple(said_in(statements))
    talked = talk_in(spoken, vocabulary, learnt=not own.is_ours)
    wanted = dict.fromkeys(key for sentence in sentences for key in disclosed_by(sentence))
    by_own = {key: frozenset[int]() for sentence in own.found for key in disclosed_by(sentence)}
    told = disclosures([facts[key] for key in wanted if key not in by_own], spoken, vocabulary)
    if not own.is_ours:
        told = surely_told(told, facts, spoken, talked, vocabulary)
    disclosed = {**told, **by_own}
    # In our own listing each thing has its sentence; one that says two things of it was put there afterwards.
    by_words = {} if own.is_ours else disclosed
    if not own.is_ours:
        untold = (facts[key] for key in wanted if key not in disclosed)
        tellings = ((facts[key], places) for key, places in told.items())
        disclosed = {**disclosed, **told_after_all(untold, spoken, talked, vocabulary, tellings)}
        disclosed |= {key: frozenset() for key in wanted if _follows(facts[key])}
    suggestions = _suggestions(sentences, facts, wording)
    known = Known(facts, disclosed, own_supply=unit.attributes.get("supply_included") == "own")
    claims = contradictions(statements, facts, disclosed, by_words, vocabulary, suggestions)
    placed = [
        *(claims if own.is_ours else surely_claimed(claims, spoken, topics_of(language, vocabulary.spoken))),
        *broken_promises(statements, facts, disclosed, vocabulary, suggestions),
        *misleading(zip(spoken, talked, strict=True), known, vocabulary, suggestions),
        *wrong_figures(statements, facts, vocabulary, suggestions),
        *shown_identity(seen, unit, suggestions),
    ]
    missing = [
        Finding(
            kind="missing",
            start=0,
            end=0,
            fact=key,
            suggestion=suggestions[key],
            hard=facts[key].danger or not _follows(facts[key]),
        )
        for key in wanted
        if key not in disclosed
    ]
    placed += unreadable(seen, spoken, language, (finding.fact for finding in missing), suggestions)
    if not own.is_ours:
        placed += buried(spoken, facts, disclosed, suggestions)
    return (*sorted(dict.fromkeys(placed), key=lambda finding: (finding.start, finding.end)), *missing)


def _follows(fact: Fact) -> bool:
    """Return whether a fact only follows from others: a text that states those hides no defect without it.

    Our own listings tell of it; one that somebody else wrote need not.
    """
    return fact.noun == "combination" and fact.source == "computed"


def _read_as(text: str, sentences: tuple[Sentence, ...]) -> tuple[Visible, OwnSentences]:
    """Read the text with its tags shown or hidden, whichever way more of our own sentences appear."""
    linked = as_linked_data(text)
    if linked is not None:
        return linked, find_own(linked, sentences)
    plain = as_written(text)
    found = find_own(plain, sentences)
    if not has_tags(text):
        return plain, found
    page = without_markup(text)
    found_on_page = find_own(page, sentences)
    # A plain text may hold tags too, in a field that somebody filled badly: then they are shown, not obeyed.
    return (page, found_on_page) if len(found_on_page.found) >= len(found.found) else (plain, found)


def _suggestions(
    sentences: tuple[Sentence, ...], facts: dict[str, Fact], wording: Wording
) -> dict[str, str]:
    """Return for each fact the sentence that would be right; for one of many untested, a sentence of its own."""
    said: dict[str, str] = {}
    for sentence in sorted(sentences, key=lambda sentence: not sentence.disclosure):
        about = disclosed_by(sentence) or sentence.facts
        for key in about:
            alone = len(about) == 1 or facts[key].state not in ("untested", "works")
            said.setdefault(key, sentence.text if alone else _alone(facts[key], sentence, wording))
    return said


def _alone(fact: Fact, sentence: Sentence, wording: Wording) -> str:
    return untested_sentence([fact], wording) if fact.state == "untested" else sentence.text
