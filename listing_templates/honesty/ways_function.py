"""Ways of talking round functions: hedges, excuses, the past, guessed causes, faults made small or renamed."""

from __future__ import annotations

from collections.abc import Iterator

from listing_templates.fact import Fact
from listing_templates.honesty.said import Known, Said
from listing_templates.honesty.statements import Statement
from listing_templates.honesty.verdict import Told, Verdict, unproven

_TOLD = frozenset({"dead", "fault", "impaired", "removed"})
_UNCHECKED = frozenset({"untested", "not checked", "covered", "not looked at"})
_NOT_CHECKED = frozenset({"untested", "lock not checked", "not looked at"})
_FIRST_WORDS = 6  # signs before a doubt that still opens its sentence
_WORKS = frozenset({"works", "tested"})


def hedged(told: Told) -> Verdict | None:
    """A hedge ("should", "as far as I know") about what does not work for certain."""
    doubtful = told.known.doubtful(told.said)
    if doubtful is not None:
        return Verdict("no fact" if doubtful.state == "untested" else "weakened", doubtful.key)
    named_before = told.said.before is not None and told.said.before.names
    if told.said.subjects or named_before or not told.said.signals & _WORKS:
        return _held(told.said, told.known)
    return _first(told.known)


def _held(said: Said, known: Known) -> Verdict | None:
    for fact in known.held:
        if fact.key in said.subjects:
            return unproven(fact)
    for fact in known.parts:
        if fact.key in said.subjects and "original" in said.signals:
            return unproven(fact)
    return None


def _first(known: Known) -> Verdict | None:
    for fact in (*known.untested, *known.faulty):
        if fact.key not in known.disclosed:
            return unproven(fact)
    return None


def doubted(told: Told) -> Verdict | None:
    """A certain defect told as a mere possibility ("may have a scratch")."""
    # What nobody checked may be so or not: who says first that, then this, hides nothing.
    explained = told.place > _FIRST_WORDS and told.said.signals & _NOT_CHECKED
    here = {
        key
        for key, places in told.known.disclosed.items()
        if told.said.start in places and not (explained and told.known.state(key) in _UNCHECKED)
    }
    about = {key for statement in _around(told) for key in statement.subjects}
    certain = {key for key in about if key in told.known.facts and _is_certain(told.known.facts[key], told)}
    marks = {mark.key for mark in told.known.marks_of(told.said)} if told.said.kinds else set()
    # What a sentence tells in its first words, it tells of all that follows.
    doubted_here = here if told.place <= _FIRST_WORDS else here & about
    found = [*sorted(doubted_here, key=_functions_last), *sorted(certain, key=_functions_last), *sorted(marks)]
    return Verdict("weakened", found[0]) if found else None


def _around(told: Told) -> Iterator[Statement]:
    """Yield the statements of the clause in which the phrase stands."""
    for statement in told.said.statements:
        start = told.said.sentence.find(statement.piece)
        if start <= told.place < start + max(len(statement.piece), 1):
            yield statement


def _functions_last(key: str) -> tuple[bool, str]:
    # A part and its function bear one name; where both are told, the sentence is about the part.
    return key.startswith("function:"), key


def _is_certain(fact: Fact, told: Told) -> bool:
    if fact.state == "untested":
        return "untested" not in told.said.signals
    return fact.state in ("dead", "impaired", "removed", "third-party", "salvaged", "locked")


def excused(told: Told) -> Verdict | None:
    """A reason why nothing was tested, without the plain word that it was not."""
    if not told.known.untested or "untested" in told.said.signals:
        return None
    doubtful = told.known.doubtful(told.said)
    if doubtful is not None:
        return Verdict("no fact", doubtful.key)
    return _first(told.known)


def past(told: Told) -> Verdict | None:
    """What worked once, told of a function that nobody knows to work today."""
    if told.said.signals & _TOLD:
        return None
    # A past without a function ("it served us well") is about none in particular.
    doubtful = told.known.doubtful(told.said)
    return None if doubtful is None else Verdict("no fact", doubtful.key)


def guessed(told: Told) -> Verdict | None:
    """A cause or a cheap cure that nobody has found."""
    named = told.known.doubtful(told.said)
    marks = told.known.marks_of(told.said)
    defects = [*([named] if named else []), *marks, *told.known.faulty, *told.known.untested, *told.known.marks]
    return Verdict("guessed cause", defects[0].key) if defects else None


def outcome(told: Told) -> Verdict | None:
    """Work done, told as if it had cured what nobody tested since."""
    if "untested" in told.said.signals:
        return None
    doubtful = told.known.doubtful(told.said)
    if doubtful is None or (doubtful.state != "untested" and told.said.signals & _TOLD):
        return None
    return Verdict("no fact", doubtful.key)


def renamed(told: Told) -> Verdict | None:
    """A fault told as a habit of the thing ("it has its knack")."""
    doubtful = told.known.doubtful(told.said)
    if doubtful is None:
        named = any(key.startswith("function:") for key in told.said.subjects)
        untold = [fact.key for fact in told.known.faulty if fact.key not in told.known.disclosed]
        return None if named or not untold else Verdict("weakened", untold[0])
    return Verdict("no fact" if doubtful.state == "untested" else "weakened", doubtful.key)


def by_design(told: Told) -> Verdict | None:
    """What was taken out, told as if the model never had it."""
    for name in told.said.names:
        for key in sorted(name):
            told_of = "removed" in told.said.signals or _is_told_elsewhere(key, told)
            if told.known.state(key) == "removed" and not told_of:
                return Verdict("against fact", key, hard=True)
    named = any(key.startswith("function:") for key in told.said.subjects)
    removed = [fact for fact in told.known.faulty if fact.state == "removed" and fact.key not in told.known.disclosed]
    return Verdict("against fact", removed[0].key, hard=True) if removed and not named else None


def _is_told_elsewhere(key: str, told: Told) -> bool:
    """Return whether another sentence discloses it; the one that says "comes without" does not count."""
    places = told.known.disclosed.get(key)
    return places is not None and places != frozenset({told.said.start})


def rest_praised(told: Told) -> Verdict | None:
    """"Apart from that perfect" while there is more that the text does not tell."""
    hidden = [fact for fact in told.known.defects if fact.key not in told.known.disclosed]
    return Verdict("against fact", hidden[0].key, hard=True) if hidden else None


def danger_renamed(told: Told) -> Verdict | None:
    """A swollen cell or what looks like one, in words that hide the danger."""
    for fact in told.known.facts.values():
        if fact.danger and fact.noun != "lock":
            return Verdict("weakened", fact.key, hard=True)
    lifted = [mark for mark in told.known.marks if mark.state in ("lifted edge", "gap")]
    return Verdict("weakened", lifted[0].key, hard=True) if lifted else None


def runtime(told: Told) -> Verdict | None:
    """How long a charge lasts, which no record holds; a run time that failed contradicts it."""
    things = [key for key in told.said.subjects if key.startswith(("function:", "part:", "surface:"))]
    if things and not any("battery" in key or "cell" in key or "charging" in key for key in things):
        # A hinge that "holds well" says nothing of a charge.
        return None
    fact = told.known.facts.get("function:battery_runtime")
    if fact is not None and fact.state in ("dead", "impaired", "removed"):
        if fact.key in told.known.disclosed:
            return None
        return Verdict("against fact", fact.key, hard=True)
    return Verdict("no fact", "" if fact is None else fact.key)
