"""The ways in which listings mislead, each with the rule that holds its phrases against the record.

The phrases of each way are data of the language (``words/<tag>.toml``, table ``[ways]``); what makes them a finding
is the same in all languages and stands here. A phrase that is denied ("not mint"), or quoted from somebody else
("the maker calls it waterproof"), misleads nobody.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from listing_templates.honesty import ways_function, ways_look, ways_sale
from listing_templates.honesty.lookup import Found
from listing_templates.honesty.network import Network
from listing_templates.honesty.said import Known, Said
from listing_templates.honesty.sentences import pieces_of
from listing_templates.honesty.talk import (
    CONCEIVABLE,
    CONCEIVABLE_IF_SHORT,
    LIKELY,
    LIKELY_IF_SHORT,
    PLAIN,
    SHORT,
    SURE,
    SURE_OF_A_PIECE,
    SURE_OF_SOME,
    SURE_OF_SOME_SALE,
    SURE_OF_THE_SALE,
    marks_of,
    ways_of,
)
from listing_templates.honesty.verdict import Rule, Told, Verdict, always
from listing_templates.honesty.vocabulary import Vocabulary, phrases
from listing_templates.honesty.words import read_words
from pricing.records.finding import Finding

# Ways of making little of a defect. Who tells it plainly in another sentence makes little of nothing there; a guess or
# a shrug that follows at once still speaks of it.
_OF_WHAT_IS_TOLD = frozenset({"doubt", "hedge", "excuse", "past", "shrink", "cover", "quirk"})
_OF_WHAT_WAS_JUST_TOLD = frozenset({"guess", "belittle", "usual"})
# Praise of the whole unit and its past, which a negator anywhere before or right behind it in the sentence denies.
_PRAISE = frozenset({"price story", "life story", "origin", "original accessory", "runtime", "new cell", "gilded work"})
# Ways whose phrases hardly ever stand in honest sentences, unless they are taken back there.
_SPEAKS_FOR_ITSELF = frozenset({
    "superlative", "as new", "origin", "life story", "excuse", "past", "belittle", "cover", "shrink", "quirk",
})  # fmt: skip
# Ways that are about no thing of the unit.
_OF_THE_SALE = frozenset({"rights", "pushed", "life story", "superlative"})
_REACH = 3  # words before a phrase in which a negator turns it round
_CONDITIONAL = frozenset({"doubt", "hedge", "sealed", "as new", "superlative", "wiped"})
_BESIDE = 3  # words on either side of a phrase that it may speak of
_FAR = 7  # words before a phrase in which a denial ("do not expect") takes it back

RULES: Mapping[str, Rule] = MappingProxyType(
    {
        "hedge": ways_function.hedged,
        "doubt": ways_function.doubted,
        "excuse": ways_function.excused,
        "past": ways_function.past,
        "guess": ways_function.guessed,
        "outcome": ways_function.outcome,
        "quirk": ways_function.renamed,
        "by design": ways_function.by_design,
        "rest praised": ways_function.rest_praised,
        "danger renamed": ways_function.danger_renamed,
        "runtime": ways_function.runtime,
        "shrink": ways_look.shrunk,
        "belittle": ways_look.belittled,
        "usual": ways_look.usual,
        "cover": ways_look.covered_up,
        "as new": always("superlative", "grade"),
        "superlative": ways_look.superlative,
        "grade a": ways_look.worded_grade("A"),
        "grade b": ways_look.worded_grade("B"),
        "stars": always("better than grade", "grade"),
        "gilded part": ways_sale.gilded_part,
        "gilded work": ways_sale.gilded_work,
        "sealed": ways_sale.sealed,
        "new cell": ways_sale.new_cell,
        "way round": ways_sale.way_round,
        "origin": ways_sale.story,
        "wiped": ways_sale.wiped,
        "pushed": ways_sale.pushed,
        "rights": always("rights denied", hard=True),
        "price story": ways_sale.story,
        "life story": ways_sale.story,
        "complete": ways_sale.complete,
        "original accessory": ways_sale.original_accessory,
    }
)
INNOCENT = "innocent"
# Ways that have no example sentences: their phrases count as they are.
_UNTAUGHT = frozenset({"grade a", "grade b", "stars"})
TAUGHT = frozenset(RULES) - _UNTAUGHT
# Ways that count without any phrase, where a sentence is like those that take them; of the others, the words that are
# about what comes along or about nothing certain are needed.
_KNOWN_WITHOUT = TAUGHT - {"complete", "original accessory", "cover", "doubt"}


class Phrase(NamedTuple):
    """A phrase of a way in a sentence; ``taken_back``: it is denied, or told as what somebody else says."""

    found: Found
    way: str
    taken_back: bool

    @property
    def mark(self) -> str:
        """What the phrase is to ``Talk``."""
        return f"~{self.way}" if self.taken_back else self.way


class Talked(NamedTuple):
    """The phrases of ways in a sentence, and by the examples the chance of each way that it takes it, 0 to 1.

    ``of_pieces`` holds the same for the likeliest piece of a sentence that has several.
    """

    phrases: tuple[Phrase, ...]
    chances: Mapping[str, float]
    of_pieces: Mapping[str, float] = MappingProxyType({})

    @property
    def likely(self) -> float:
        """The chance that it talks round a fault at all; 1 without examples, as then the phrases decide."""
        return 1 - self.chances.get(PLAIN, 0.0)

    @property
    def likeliest(self) -> str:
        """The way that it takes if any; "" without examples."""
        return max(self.chances.keys() - {PLAIN}, key=lambda way: (self.chances[way], way), default="")


def misleading(
    sentences: Iterable[tuple[Said, Talked]], known: Known, vocabulary: Vocabulary, suggestions: Mapping[str, str]
) -> Iterator[Finding]:
    """Yield a finding for each phrase of a way that the record does not bear out.

    By examples, a phrase counts only in a sentence that is like those that talk round a fault, and some ways count
    without a phrase.
    """
    for said, talked in sentences:
        if said.asks:
            continue
        for verdict in dict.fromkeys(_verdicts(said, talked, known, vocabulary)):
            yield Finding(
                kind=verdict.kind,
                start=said.start,
                end=said.end,
                fact=verdict.fact,
                suggestion=suggestions.get(verdict.fact, ""),
                hard=verdict.hard,
            )


def phrases_in(said: Said, vocabulary: Vocabulary) -> Iterator[Phrase]:
    """Yield each phrase of a way in a sentence, once for each way that it may be of."""
    for found in vocabulary.ways.find(said.sentence):
        if INNOCENT in found.means:
            continue
        innocent = _is_innocent(said, found.start, found.end, vocabulary)
        for way in sorted(found.means):
            denied = way in _PRAISE and _is_denied(said, found, vocabulary)
            yield Phrase(found, way, denied or (innocent and way != "doubt"))


def talk_in(
    sentences: Iterable[Said], vocabulary: Vocabulary, *, learnt: bool = True, network: Network | None = None
) -> tuple[Talked, ...]:
    """Return how each sentence talks round a fault; ``learnt``: by the examples, not by phrases alone.

    ``network``: another fit than the one that is kept.
    """
    spoken = tuple(sentences)
    phrased = [tuple(phrases_in(said, vocabulary)) for said in spoken]
    if not learnt:
        return tuple(Talked(found, {}) for found in phrased)
    marks = [
        marks_of([phrase.mark for phrase in found], said.signals) for said, found in zip(spoken, phrased, strict=True)
    ]
    pieces = [pieces_of(said.raw) for said in spoken]
    read = [said.raw for said in spoken] + [piece for some in pieces for piece in some]
    chances = iter(ways_of(read, marks + [frozenset[str]()] * (len(read) - len(marks)), network))
    whole = [next(chances) for _ in spoken]
    in_pieces = (_likeliest([next(chances) for _ in some]) for some in pieces)
    return tuple(Talked(*each) for each in zip(phrased, whole, in_pieces, strict=True))


def _likeliest(of_pieces: Sequence[Mapping[str, float]]) -> Mapping[str, float]:
    """Return the chance of each way in the piece that is likeliest to take it; of no piece none."""
    return {way: max(one[way] for one in of_pieces) for way in of_pieces[0]} if of_pieces else {}


def _verdicts(said: Said, talked: Talked, known: Known, vocabulary: Vocabulary) -> Iterator[Verdict]:
    for way, told in _taken(said, talked, known, vocabulary):
        if way == "way round" and said.wished:
            continue
        verdict = RULES[way](told)
        if verdict is not None and not _is_told_plainly(way, said, verdict.fact, known):
            yield verdict
    yield from ways_look.scales(said, known, vocabulary.words.out_of)


def _taken(said: Said, talked: Talked, known: Known, vocabulary: Vocabulary) -> Iterator[tuple[str, Told]]:
    """Yield each way that a sentence takes, with what its rule sees: those known without a phrase, then the phrases."""
    for way in sorted(_KNOWN_WITHOUT & talked.chances.keys()):
        if _is_sure(way, talked):
            yield way, Told(said, known, 0, said.signals, sure=True)
    for phrase in talked.phrases:
        if phrase.taken_back:
            continue
        counts = phrase.way not in TAUGHT or talked.likely >= _enough(phrase.way, said)
        if counts and not _is_out_of_place(phrase, said, known, vocabulary):
            yield phrase.way, Told(said, known, phrase.found.start, _near(said, phrase.found, vocabulary))


def _enough(way: str, said: Said) -> float:
    """Return from which chance of talking round a phrase of a way counts.

    A short sentence is hardly more than its phrase, and the examples are longer: its chance is low in any case.
    """
    if len(said.raw.split()) <= SHORT:
        return CONCEIVABLE_IF_SHORT if way in _SPEAKS_FOR_ITSELF else LIKELY_IF_SHORT
    return CONCEIVABLE if way in _SPEAKS_FOR_ITSELF else LIKELY


def _is_sure(way: str, talked: Talked) -> bool:
    """Return whether a sentence, or a piece of it, takes a way so surely that no phrase of it is needed."""
    of_the_sale = way in _OF_THE_SALE
    sure = SURE_OF_THE_SALE if of_the_sale else SURE
    if talked.chances[way] >= sure or talked.of_pieces.get(way, 0.0) >= max(sure, SURE_OF_A_PIECE):
        return True
    return talked.likely >= (SURE_OF_SOME_SALE if of_the_sale else SURE_OF_SOME) and way == talked.likeliest


def _is_out_of_place(phrase: Phrase, said: Said, known: Known, vocabulary: Vocabulary) -> bool:
    """Return whether a phrase speaks of something that its way is not about."""
    if phrase.way == "superlative":
        return _is_of_the_rest(said, known, vocabulary) or _is_of_opening(said, vocabulary)
    if phrase.way == "original accessory" and _is_of_own_box(said, phrase.found, known, vocabulary):
        return True
    return phrase.way in _CONDITIONAL and vocabulary.conditions.search(said.sentence) is not None


def _is_told_plainly(way: str, said: Said, fact: str, known: Known) -> bool:
    """Return whether another sentence discloses what this one seems to make little of."""
    places = known.disclosed.get(fact)
    if places is None or said.start in places or way not in _OF_WHAT_IS_TOLD | _OF_WHAT_WAS_JUST_TOLD:
        return False
    return way in _OF_WHAT_IS_TOLD or said.before is None or said.before.start not in places


def _is_of_the_rest(said: Said, known: Known, vocabulary: Vocabulary) -> bool:
    """Return whether it says "unmarked" of what is left beside the marks, all of which the text tells.

    That is: in words ("else"), or right behind a sentence that tells of a mark or names a surface.
    """
    beside = said.before is not None and (said.before.kinds or _names_surface(said.before))
    if "clean" not in said.signals or not (beside or vocabulary.rest.search(said.sentence)):
        return False
    return all(fact.key in known.disclosed for fact in (*known.marks, *known.unseen))


def _is_of_own_box(said: Said, found: Found, known: Known, vocabulary: Vocabulary) -> bool:
    """Return whether it speaks of a box, and the record has one: a box is always its maker's."""
    boxes = (*vocabulary.words.accessories.get("box", ()), *read_words("en").accessories.get("box", ()))
    recorded = any(name in known.accessories for name in boxes)
    return recorded and phrases(boxes, vocabulary.tag).search(said.sentence[found.start : found.end]) is not None


def _names_surface(said: Said) -> bool:
    return any(key.startswith("surface:") for key in said.subjects)


def _is_of_opening(said: Said, vocabulary: Vocabulary) -> bool:
    """Return whether it speaks of opening or of screws: "no traces" is then none of a screwdriver."""
    spoken = [wanted.every[0] for key, wanted in vocabulary.words.evidence.items() if key == "opened:opened"]
    spoken += [claim.phrases for claim in vocabulary.words.claims if claim.fact == "opened"]
    return any(phrases(words, vocabulary.tag).search(said.sentence) is not None for words in spoken)


def _near(said: Said, found: Found, vocabulary: Vocabulary) -> frozenset[str]:
    before = " ".join(said.sentence[: found.start].split()[-_BESIDE:])
    after = " ".join(said.sentence[found.end :].split()[:_BESIDE])
    return frozenset[str]().union(*(one.means for text in (before, after) for one in vocabulary.signals.find(text)))


def _is_denied(said: Said, found: Found, vocabulary: Vocabulary) -> bool:
    """Return whether a negator stands anywhere before a phrase in its sentence, or among the next few words."""
    before, after = said.sentence[: found.start].split(), said.sentence[found.end :].split()
    words = [word.strip(".:()!") for word in (*before, *after[:_BESIDE])]
    return any(word in vocabulary.negators or word in vocabulary.negators_after for word in words)


def _is_innocent(said: Said, start: int, end: int, vocabulary: Vocabulary) -> bool:
    """Return whether a phrase is denied, or told as what somebody else says."""
    before, after = said.sentence[:start], said.sentence[end:]
    words = before[vocabulary.turn(before) :].replace("(", " ").split()
    if any(word in vocabulary.negators for word in words[-_REACH:]):
        return True
    if vocabulary.denials.search(" ".join(words[-_FAR:])) is not None:
        return True
    if vocabulary.taken_back.search(after) is not None or vocabulary.attributions.search(before) is not None:
        return True
    return said.sentence[start:end] in said.quoted and vocabulary.attributions.search(after) is not None
