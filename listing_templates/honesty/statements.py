"""What a sentence asserts of which things: its subjects, and the signals that belong to them.

A sentence is cut at words that turn it ("but"), then at commas; pieces that only name things join the piece that says
something of them. Within a piece, names take the signal that follows ("NFC was not tested"), or, when the piece
begins with a signal, the one before ("Not tested: NFC").
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from listing_templates.honesty.sentences import Span, spans_of
from listing_templates.honesty.visible import Visible
from listing_templates.honesty.vocabulary import Vocabulary, normal, phrases

_ABSENT = frozenset({"absent"})
_DEAD = frozenset({"dead"})
_PRAISE = frozenset({"works", "tested"})
_FAILS = frozenset({"dead", "untested", "removed", "lock not checked", "not looked at"})
# The maker's name, and verbs that assert something only when they are denied.
_NEUTRAL = frozenset({"tries", "acts", "brand"})
_SHORT = 4  # words of a claim that stands for itself
_REACH = 2  # words between a negator and what it turns round
_WORD = re.compile(r"[^\W\d_]+")
_ANSWER = re.compile(r"[:;!–—]| - ")


@dataclass(frozen=True)
class Statement:
    """One thing said.

    Attributes:
        start, end: Place of its sentence in the text as given.
        sentence: The whole sentence, ``normal``.
        raw: The sentence as seen.
        piece: The part that says it, ``normal``.
        names: For each thing named, the keys of the facts that the name may mean, and "group:KIN".
        signals: What is asserted of them.
        whole: It speaks of the unit as a whole.
        excepted: Functions that its sentence leaves out of the claim.
        leads: It is a heading or leads in a list: what it says counts for the lines below it.
        borrowed: Its names stand in the sentence before or in its heading.
        wished: It tells what to look for elsewhere: "whoever wants one free of debt must pass on this".
        retold: It retells a question without its answer: "you ask whether the Wi-Fi works".
        under: The heading or lead-in, as seen, that a line stands under which asserts nothing by itself.
    """

    start: int
    end: int
    sentence: str
    piece: str
    raw: str = ""
    names: tuple[frozenset[str], ...] = ()
    signals: frozenset[str] = frozenset()
    whole: bool = False
    excepted: frozenset[str] = frozenset()
    leads: bool = False
    borrowed: bool = False
    wished: bool = False
    retold: bool = False
    under: str = ""

    @property
    def asks(self) -> bool:
        """Whether it stands in a question."""
        return self.retold or self.raw.rstrip(" *_\"”»").endswith("?")

    @property
    def claims_nothing(self) -> bool:
        """Whether it names and praises without a claim: in a question, or as what may be found elsewhere."""
        return self.asks or self.wished

    @cached_property
    def subjects(self) -> frozenset[str]:
        """All keys that its names may mean; a use ("video calls") names no function."""
        return frozenset[str]().union(*(name for name in self.names if not is_use(name)))


def is_use(name: frozenset[str]) -> bool:
    """Return whether a name is a use that needs all its functions at once ("video calls")."""
    return any(key.startswith("use:") for key in name)


@dataclass
class _Piece:
    text: str
    items: list[tuple[bool, frozenset[str]]] = field(default_factory=list)  # (is it a name, what it means)
    whole: bool = False

    @property
    def names(self) -> bool:
        """Whether it names anything."""
        return any(is_name for is_name, _ in self.items)

    @property
    def says(self) -> bool:
        """Whether it asserts anything."""
        return any(not is_name for is_name, _ in self.items)

    @property
    def only_praises(self) -> bool:
        """Whether it names things and says of them that they work: a bare "works" behind it is said of them."""
        said = frozenset[str]().union(*(meant for is_name, meant in self.items if not is_name))
        return self.names and bool(said) and said <= _PRAISE

    @property
    def says_first(self) -> bool:
        """Whether what it asserts stands before what it names."""
        return bool(self.items) and not self.items[0][0]


def statements_of(seen: Visible, rest: str, vocabulary: Vocabulary) -> list[Statement]:
    """Return the statements of a text (``rest``: the seen text with what need not be read blanked out)."""
    words = vocabulary.words
    lead: list[Statement] = []
    heading: list[Statement] = []
    before: tuple[frozenset[str], ...] = ()
    made: list[Statement] = []
    whole_before = False
    for span in spans_of(rest, frozenset(words.abbreviations), frozenset(words.months)):
        if span.ends_lead:
            lead = heading
        found = list(_statements(seen, rest, span, vocabulary))
        if span.leads:
            # A heading such as "Tested" is no claim yet; what stands under it is.
            lead = found = [_as_lead(above, vocabulary) for above in found]
            heading = lead if span.heading else heading
        else:
            # "They work" behind "the others were tested" says it of those, not of all.
            # Nearer than those are the names in its own sentence: "that is the Wi-Fi, which works".
            meant = list[Statement]()
            for statement in found:
                named = next((said.names for said in reversed(meant) if said.names and not said.borrowed), before)
                meant.append(_meant(statement, named, whole_before and named is before, vocabulary))
            found = [_under(lead, statement) for statement in meant]
        made.extend(found)
        before = next((said.names for said in reversed(found) if said.names), ())
        whole_before = not before and any(said.whole for said in found)
    return made


def _statements(seen: Visible, rest: str, span: Span, vocabulary: Vocabulary) -> Iterator[Statement]:
    start, end = seen.place(span.start, span.end)
    sentence = normal(rest[span.start : span.end], vocabulary.words.rewrites)
    sentence = vocabulary.kins.sub("", sentence)
    cut = vocabulary.exceptions.search(sentence)
    head, tail = (sentence, "") if cut is None else (sentence[: cut.start], sentence[cut.end :])
    left_out = tuple(meant for _, _, meant in vocabulary.names.find(tail))
    excepted = frozenset[str]().union(*left_out)
    wished, retold = _is_wished(sentence, vocabulary), _is_retold(sentence, vocabulary)
    plain = Statement(
        start, end, sentence, sentence, rest[span.start : span.end], excepted=excepted, wished=wished, retold=retold
    )
    for part in (head, tail):
        clauses = vocabulary.clauses(part)
        pieces = [_scanned(words, vocabulary) for clause in clauses for words in clause.split(",") if words.strip()]
        for piece in _joined(pieces):
            yield from _assigned(piece, plain)
    if left_out and not any(not is_name for is_name, _ in _scanned(tail, vocabulary).items):
        yield replace(plain, piece=tail, names=left_out, signals=frozenset({"fault", "untested"}))


def _is_wished(sentence: str, vocabulary: Vocabulary) -> bool:
    words = vocabulary.words
    return all(phrases(some, vocabulary.tag).search(sentence) is not None for some in (words.wishes, words.turned_away))


def _is_retold(sentence: str, vocabulary: Vocabulary) -> bool:
    asked = phrases(vocabulary.words.asking, vocabulary.tag).search(sentence)
    # "You ask whether it works: it does not" answers at once.
    return asked is not None and _ANSWER.search(sentence, asked.end) is None


def _scanned(text: str, vocabulary: Vocabulary) -> _Piece:
    names = vocabulary.names.find(text)
    another = phrases(vocabulary.words.another, vocabulary.tag).match(text)
    if another is not None and not any(start <= another.end + 1 for start, _, _ in names):
        # "A sound one charges in an hour, this one does not": only what is named is this unit's too. "Une bonne
        # batterie" praises the battery of this one.
        return _Piece(text.strip(), [(True, meant) for _, _, meant in names])
    # Names are blanked before signals are looked for: "clear glass" is a name here, not praise.
    bare = list(text)
    for start, end, _ in names:
        bare[start:end] = "\x01" * (end - start)
    places = [(start, True, meant) for start, _, meant in names]
    places += [(end, False, _ABSENT) for start, end, meant in names if _is_absent(text[:start], meant, vocabulary)]
    places += [
        (end, False, _DEAD) for start, end, meant in names if _is_verb(text[:start], text[end:], meant, vocabulary)
    ]
    negated_before = False
    last = 0
    plain = "".join(bare)
    for start, end, meant in vocabulary.signals.find(plain):
        between = plain[last:start].strip()
        goes_on = negated_before and between in ("or", "and", ",", "nor")
        negated = goes_on or _negated(plain[:start], vocabulary)
        negated = negated or _negated_after(plain[:start], plain[end:], vocabulary)
        # "Al no tener cable no se probó": what says by itself that it fails is not turned round by a "no" before.
        negated = negated and not (meant & _FAILS and plain[start:end].split()[0] in vocabulary.negators)
        places.append((start, False, _turned(meant, vocabulary) if negated else meant - _NEUTRAL))
        negated_before, last = negated, end
    items = [(is_name, meant) for _, is_name, meant in sorted(places, key=lambda place: place[0]) if meant]
    return _Piece(text.strip(), items, not names and _is_whole(text.strip(), vocabulary))


def _negated(before: str, vocabulary: Vocabulary) -> bool:
    # What stands before a colon is turned round by itself: "no longer tight: lost for good".
    words = before.rpartition(": ")[2].replace("(", " ").replace(")", " ").split()
    return any(word in vocabulary.negators for word in words[-_REACH - 1 :])


def _negated_after(before: str, after: str, vocabulary: Vocabulary) -> bool:
    if not vocabulary.negators_after:
        return False
    particles = vocabulary.words.particles
    # "Ne marche toujours pas" is negated, "marche et pas de rayures" is not.
    reach = 1 if particles and not any(word in particles for word in before.split()[-_REACH - 1 :]) else _REACH
    clause = next(vocabulary.clauses(after.partition(",")[0]))
    words = [word.strip(".!?:)") for word in clause.split()]
    # "From a parts maker and not from ..." takes nothing back.
    words = words[: next((place for place, word in enumerate(words) if word in vocabulary.words.also), len(words))]
    # A German verb is negated at the end of its clause: "geprüft haben wir das nicht".
    last = words[-1:] if not particles else []
    return any(word in vocabulary.negators_after for word in (*words[:reach], *last))


def _is_absent(before: str, meant: frozenset[str], vocabulary: Vocabulary) -> bool:
    """Return whether a negator stands right before the name of a function or lock ("no picture")."""
    about = any(key.startswith(("function:", "lock:")) for key in meant)
    links = vocabulary.words.links
    words = [word for word in _WORD.findall(before) if word not in links] if links else before.split()
    return about and any(word in vocabulary.negators for word in words[-1:])


def _is_verb(before: str, after: str, meant: frozenset[str], vocabulary: Vocabulary) -> bool:
    """Return whether a name is a verb here that is denied from both sides ("ne vibre plus")."""
    particles = vocabulary.words.particles
    about = any(key.startswith("function:") for key in meant)
    if not (particles and about):
        return False
    behind = [word.strip(".,:;!") for word in after.split()[:1]]
    near = any(word in particles for word in _WORD.findall(before)[-_REACH:])
    return near and any(word in vocabulary.negators_after for word in behind)


def _turned(signals: frozenset[str], vocabulary: Vocabulary) -> frozenset[str]:
    turned = {**vocabulary.words.turned, "brand": "third-party"}
    # "No dent" denies dents alone: the surface may have a scratch that is told elsewhere.
    return frozenset(f"no {one}" if one.startswith("kind:") else turned[one] for one in signals if one in turned)


def _joined(pieces: Sequence[_Piece]) -> list[_Piece]:
    """Join pieces that only name, or only say, with the neighbour they belong to."""
    joined: list[_Piece] = []
    waiting: list[_Piece] = []
    for piece in pieces:
        if piece.names and not piece.says and joined and joined[-1].says_first and joined[-1].names and not waiting:
            joined[-1] = _merged([joined[-1], piece])
        elif piece.names and piece.says:
            joined.append(_merged([*waiting, piece]))
            waiting = []
        elif piece.whole and not (joined and joined[-1].only_praises):
            joined.append(piece)
        elif piece.says and joined and not waiting:
            joined[-1] = _merged([joined[-1], piece])
        else:
            waiting.append(piece)
            if any(p.names for p in waiting) and any(p.says for p in waiting):
                joined.append(_merged(waiting))
                waiting = []
    if waiting:
        last = _merged(waiting)
        if joined and last.names:
            joined[-1] = _merged([joined[-1], last])
        else:
            joined.append(last)
    return joined


def _merged(pieces: Sequence[_Piece]) -> _Piece:
    return _Piece(", ".join(piece.text for piece in pieces), [item for piece in pieces for item in piece.items])


def _assigned(piece: _Piece, plain: Statement) -> Iterator[Statement]:
    """Yield one statement for each run of names with the signals that belong to it."""
    runs: list[tuple[bool, tuple[frozenset[str], ...]]] = []
    for is_name, meant in piece.items:
        if runs and runs[-1][0] is is_name:
            runs[-1] = (is_name, (*runs[-1][1], meant))
        else:
            runs.append((is_name, (meant,)))
    said = replace(plain, piece=piece.text)
    if not any(is_name for is_name, _ in runs):
        signals = frozenset[str]().union(*(meant for _, run in runs for meant in run))
        yield replace(said, signals=signals, whole=piece.whole)
        return
    signal_first = not runs[0][0]
    for place, (is_name, names) in enumerate(runs):
        if is_name:
            yield replace(said, names=names, signals=_signals_for(runs, place, signal_first))


def _signals_for(
    runs: Sequence[tuple[bool, tuple[frozenset[str], ...]]], place: int, signal_first: bool
) -> frozenset[str]:
    before = frozenset[str]().union(*runs[place - 1][1]) if place > 0 else frozenset[str]()
    is_last_name = place + 2 >= len(runs)
    after = frozenset[str]().union(*runs[place + 1][1]) if place + 1 < len(runs) else frozenset[str]()
    if signal_first:
        return before | after if is_last_name else before
    return after if after or not is_last_name else before


def _is_whole(piece: str, vocabulary: Vocabulary) -> bool:
    if vocabulary.firm.search(piece) is None:
        return False
    if vocabulary.whole.search(piece) is not None:
        return True
    # "Tested and working" speaks of the unit; "tested the next day for an hour" of what stands before it.
    return vocabulary.bare.match(piece) is not None and len(piece.split()) <= _SHORT


def _speaks_of_all(statement: Statement, vocabulary: Vocabulary) -> bool:
    return vocabulary.whole.search(statement.piece) is not None


def _as_lead(above: Statement, vocabulary: Vocabulary) -> Statement:
    return replace(above, whole=above.whole and _speaks_of_all(above, vocabulary), leads=True)


def _meant(
    statement: Statement, before: tuple[frozenset[str], ...], whole_before: bool, vocabulary: Vocabulary
) -> Statement:
    """Read "it works" as said of what the sentence before spoke of, else of the whole unit."""
    if statement.names or vocabulary.pronouns.match(statement.piece) is None:
        return statement
    if whole_before:
        return replace(statement, whole=False)
    if before:
        return replace(statement, names=before, borrowed=True)
    # "It is free of locks, checked in May" says nothing of functions.
    of_locks = phrases(vocabulary.words.unit_is_free, vocabulary.tag).search(statement.piece) is not None
    return replace(statement, whole=not of_locks and vocabulary.firm.search(statement.piece) is not None)


def _under(lead: Sequence[Statement], statement: Statement) -> Statement:
    """Read a line in the sense of its heading: "Not tested:" above a list, or "Camera:" above what it does."""
    if statement.names and not statement.signals:
        meant = frozenset[str]().union(*(above.signals for above in lead))
        return replace(statement, signals=meant, under=lead[0].raw if lead else "")
    if statement.signals and not statement.names and not statement.whole:
        return replace(statement, names=tuple(name for above in lead for name in above.names), borrowed=True)
    return statement
