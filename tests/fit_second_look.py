"""Fit how much likeness is enough, for ``honesty/second_look.py``: ``python -m tests.fit_second_look``.

Fitted on those texts of the half ``build`` that say where they tell each defect: sentences that tell one,
against all sentences asked about things that are whole on the record, as if they were not. The texts are read in two
halves, each by states, topics and examples fitted without it. The half ``measured`` is not read.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from sklearn.linear_model import LogisticRegression

from data.catalogue.reader import find_class
from data.importing.unit_json import read_unit
from listing_templates.class_texts import class_texts
from listing_templates.fact import Fact
from listing_templates.fact_texts import facts_in
from listing_templates.honesty.clues import TERMS, chances_of, terms_of
from listing_templates.honesty.network import Network
from listing_templates.honesty.second_look import look_again
from listing_templates.honesty.vocabulary import vocabulary_of
from listing_templates.honesty.ways import talk_in
from pricing.records.device_class import MARK_KINDS, DeviceClass
from tests.fit_states import CORPUS, LANGUAGES, PRAISED, TELLING, corpus_rows, example_rows, read, texts_of
from tests.fit_talk import way_rows
from tests.fit_topics import LEAST_WEIGHT, topic_rows
from tests.networks import EXAMPLES, ROUNDS, fit

STRENGTH = 0.3
SILENCE = 1  # the way that tells nothing of a defect
ENOUGH = 0.15
MOST = 300  # texts of each language and half that are read: all would take twice as long and weigh alike
BOUNDS = (0.05, 0.07, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)

Case = tuple[str, str, str, bool, bool, list[tuple[bool, tuple[float, ...]]]]
# language, noun, state, recorded, told by the rules, and for each look whether it tells it and its clues


def main() -> None:
    """Fit, show how each language does by the weights of the others, and write those of all."""
    cases = [case for half in (0, 1) for case in cases_of(half, most=MOST)]
    for tag in LANGUAGES:
        show([case for case in cases if case[0] == tag], *fitted([case for case in cases if case[0] != tag]))
    base, weights = fitted(cases)
    rounded = dict(zip(TERMS, np.round(weights, 3).tolist(), strict=True))
    written = {"base": round(base, 2), "weights": rounded, "enough": ENOUGH}
    (EXAMPLES / "second_look.json").write_text(json.dumps(written, indent=1) + "\n", encoding="utf-8")


def fitted(cases: Sequence[Case]) -> tuple[float, list[float]]:
    """Return base and weights, one for each of ``TERMS``, for terms as they are (they are fitted at one scale)."""
    asked = [look for *_, recorded, _, looks in cases for look in looks if look[0] or not recorded]
    terms = terms_of([clues for _, clues in asked])
    middle, spread = terms.mean(axis=0), terms.std(axis=0)
    spread[spread == 0] = 1.0  # a term that is always nought, such as that of two clues that exclude each other
    model = LogisticRegression(C=STRENGTH, max_iter=5000)
    model.fit((terms - middle) / spread, np.array([tells for tells, _ in asked]))
    weights = model.coef_[0] / spread
    return float(model.intercept_[0] - weights @ middle), weights.tolist()


def show(cases: Sequence[Case], base: float, weights: Sequence[float]) -> None:
    """Print for several bounds which share of what the rules missed is found, and of what is whole is taken as told."""
    best: dict[tuple[str, str], list[float]] = defaultdict(list)
    for tag, noun, _, recorded, by_rules, looks in cases:
        sort = "whole" if not recorded else "told by rules" if by_rules else "missed by rules"
        chances = chances_of([clues for _, clues in looks], base, weights)
        for what in (noun, f"all, {tag}"):
            best[what, sort].append(max(chances, default=0.0))
    for what in sorted({what for what, _ in best}):
        for sort in ("missed by rules", "whole"):
            found = np.array(best[what, sort])
            shares = " ".join(f"{bound}: {np.mean(found >= bound):.3f}" for bound in BOUNDS) if len(found) else ""
            print(f"{what:10} {sort:16} {len(found):5}  {shares}")


class Fits(NamedTuple):
    """What a text is read by: the networks of states, topics and ways."""

    states: Network
    topics: Network
    ways: Network


def cases_of(
    half: int,
    tags: Sequence[str] = LANGUAGES,
    rounds: int = ROUNDS,
    ways: Network | None = None,
    most: int | None = None,
) -> Iterator[Case]:
    """Yield each recorded defect of one half of the texts, and each thing that is whole as if it had one.

    What a text misleads about counts as whole: nothing in it tells of that. States and topics are fitted on the
    languages of these tags. ``ways``: taken as it is, not fitted anew. ``most``: texts of each language that are read.
    """
    texts = {tag: [one for kind in TELLING for one in texts_of(kind, tag)][half::2] for tag in LANGUAGES}
    without = frozenset(entry["id"] for tag in LANGUAGES for entry in texts[tag])
    state_rows = [row for tag in tags for row in (*example_rows(tag), *corpus_rows(tag, without))]
    fits = Fits(
        fit(state_rows, members=1, rounds=rounds),
        fit(topic_rows(without, tags), members=1, rounds=rounds, least_weight=LEAST_WEIGHT),
        ways or fit(way_rows(without), members=1, rounds=rounds),
    )
    for tag in tags:
        for entry in texts[tag][-most:] if most else texts[tag]:
            yield from _cases(entry, tag, fits)


def _cases(entry: Mapping[str, Any], tag: str, fits: Fits) -> Iterator[Case]:
    unit = read_unit(CORPUS / "units" / f"{entry['unit']}.json")
    device_class = find_class(unit.device_class)
    facts = {fact.key: fact for fact in facts_in(unit, device_class, tag)}
    said, told, wanted = read(entry["text"], unit, tag)
    vocabulary = vocabulary_of(class_texts(device_class, tag), facts.values(), tag)
    tellings = [(facts[key], places) for key, places in told.items()]
    untold = [facts[key] for key in wanted if key not in told]
    talked = talk_in(said, vocabulary, network=fits.ways)
    again = look_again(said, talked, vocabulary, tellings, untold)
    if again is None:
        return
    second = replace(again, state_network=fits.states, topic_network=fits.topics)
    raw = {one.start: one.raw for one in said}
    for find in entry["finds"]:
        if find["fact"] in wanted:
            fact = facts[find["fact"]]
            looks = [(False, look.clues) for look in second.looks(fact) if _misleads(entry, raw[look.start])]
            yield tag, fact.noun, fact.state, False, False, looks
    for key, quote in entry.get("tells", {}).items():
        if key in facts:
            looks = [
                (raw[look.start] in quote or quote in raw[look.start] or quote[:25] in raw[look.start], look.clues)
                for look in second.looks(facts[key])
            ]
            yield tag, facts[key].noun, facts[key].state, True, key in told, looks
    for fact in as_if(facts, class_texts(device_class, tag), wanted) if entry["honest"] else ():
        yield tag, fact.noun, fact.state, False, False, [(False, look.clues) for look in second.looks(fact)]


def _misleads(entry: Mapping[str, Any], sentence: str) -> bool:
    """Return whether it is known of a sentence of a misleading text that it tells nothing of what is misled about."""
    quote = entry.get("misleads", "")
    return set(entry["ways"]) <= {SILENCE, *PRAISED} or (bool(quote) and (sentence in quote or quote in sentence))


def as_if(facts: Mapping[str, Fact], worded: DeviceClass, wanted: Mapping[str, str]) -> Iterator[Fact]:
    """Yield each thing that is whole on the record, with a defect; ``worded`` is the class in the language."""
    symptoms = {f"function:{function.name}": function.symptoms for function in worded.functions}
    for place, fact in enumerate(facts.values()):
        if fact.key not in wanted and (fact.noun, fact.state) in _WORSE:
            for state in _WORSE[fact.noun, fact.state]:
                usual = symptoms.get(fact.key, ()) if state == "impaired" else ()
                yield fact.model_copy(update={"state": state, "detail": usual[place % len(usual)] if usual else None})
    for part in worded.parts:
        if f"part:{part.name}" not in facts:
            yield Fact(key=f"part:{part.name}", label=part.title, state="third-party")
    for place, surface in enumerate(worded.surfaces):
        if not any(key.startswith(f"mark:{surface.name}:") for key in facts):
            kind = MARK_KINDS[place % len(MARK_KINDS)]
            yield Fact(key=f"mark:{surface.name}:{kind}", label=surface.title, state=kind)


_WORSE = {
    ("function", "works"): ("dead", "impaired", "untested"),
    ("lock", "free"): ("not checked",),
    ("liquid", "white"): ("red", "cannot be seen"),
    ("opened", "no sign"): ("by us", "by others", "not known"),
    ("data", "verified"): ("not verified", "not recorded"),
}


if __name__ == "__main__":
    main()
