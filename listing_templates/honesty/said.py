"""A sentence of a text with what it says, and the unit's record seen from a sentence."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from listing_templates.fact import Fact
from listing_templates.honesty.statements import Statement

_QUOTED = re.compile(r"[\"“„«»‟‚‘']([^\"“”„«»\n]{2,120}?)[\"”“«»‘’'](?!\w)")
_LENGTH = re.compile(r"\d ?(?:mm|cm|millimet|centimet|milímet|centímet|millimèt|centimèt)", re.IGNORECASE)
_LENGTHS = re.compile(r"(?<![\d.,])(\d{1,4}(?:[.,]\d)?) ?(mm|cm|mill[ií]m|cent[ií]m)", re.IGNORECASE)
_FAULTY = frozenset({"dead", "impaired", "removed"})


@dataclass(frozen=True)
class Said:
    """A sentence: its statements, and the sentence before it.

    Attributes:
        start, end: Place in the text as given.
        sentence: In ``normal`` spelling.
        raw: As seen.
        statements: What it says of what.
        before: The sentence before, if any.
    """

    start: int
    end: int
    sentence: str
    raw: str
    statements: tuple[Statement, ...]
    before: Said | None = None

    @cached_property
    def subjects(self) -> frozenset[str]:
        """Keys of all that it names."""
        return frozenset[str]().union(*(statement.subjects for statement in self.statements))

    @cached_property
    def signals(self) -> frozenset[str]:
        """All that it asserts."""
        return frozenset[str]().union(*(statement.signals for statement in self.statements))

    @cached_property
    def names(self) -> tuple[frozenset[str], ...]:
        """What it names, each as the keys that the name may mean."""
        return tuple(dict.fromkeys(name for statement in self.statements for name in statement.names))

    @cached_property
    def kinds(self) -> frozenset[str]:
        """Kinds of mark that it speaks of."""
        return frozenset(signal.partition(":")[2] for signal in self.signals if signal.startswith("kind:"))

    @cached_property
    def heading(self) -> str:
        """The heading that a line stands under which asserts nothing by itself, and a space; "" without one."""
        under = self.statements[0].under.strip(" #*_")
        return f"{under} " if under else ""

    @property
    def in_full(self) -> str:
        """As seen, with that heading: "Not reached: the tray"."""
        return f"{self.heading}{self.raw}"

    @property
    def asks(self) -> bool:
        """Whether it is a question, which claims nothing."""
        return any(statement.asks for statement in self.statements)

    @property
    def wished(self) -> bool:
        """Whether it tells what to look for elsewhere."""
        return any(statement.wished for statement in self.statements)

    @property
    def leads(self) -> bool:
        """Whether it only leads in what stands below it."""
        return any(statement.leads for statement in self.statements)

    @cached_property
    def quoted(self) -> str:
        """What stands between quotation marks, in small letters."""
        return " ".join(found[1] for found in _QUOTED.finditer(self.raw)).casefold()

    @cached_property
    def lengths_mm(self) -> tuple[float, ...]:
        """Lengths that it states, in millimetres."""
        return tuple(
            float(found[1].replace(",", ".")) * (10 if found[2].casefold().startswith("c") else 1)
            for found in _LENGTHS.finditer(self.raw)
        )

    @cached_property
    def is_measured(self) -> bool:
        """Whether it states a length."""
        return _LENGTH.search(self.raw) is not None


def said_in(statements: Iterable[Statement]) -> Iterator[Said]:
    """Yield the sentences of a text from its statements, in order."""
    by_place: dict[tuple[int, int, str], list[Statement]] = {}
    for statement in statements:
        by_place.setdefault((statement.start, statement.end, statement.sentence), []).append(statement)
    before: Said | None = None
    for (start, end, sentence), found in by_place.items():
        # One step back is enough, and a long text must not hold all its sentences in a chain.
        last = None if before is None else Said(
            before.start, before.end, before.sentence, before.raw, before.statements
        )
        before = Said(start, end, sentence, found[0].raw, tuple(found), last)
        yield before


def accessories_in(facts: Iterable[Fact]) -> str:
    """Return the names of what comes along, in small letters, as a record has them."""
    return " ".join(fact.label for fact in facts if fact.noun == "accessory").casefold()


@dataclass(frozen=True)
class Known:
    """The record of a unit, as rules ask it.

    Attributes:
        facts: All facts by key.
        disclosed: Key that the text discloses -> where the sentences start that do so.
        own_supply: Whether the supply that comes along is the maker's, as recorded.
    """

    facts: Mapping[str, Fact]
    disclosed: Mapping[str, frozenset[int]]
    own_supply: bool = False

    @cached_property
    def functions(self) -> tuple[Fact, ...]:
        """All functions that are fitted, the ones that buyers care most for first."""
        fitted = (fact for fact in self.facts.values() if fact.noun == "function" and fact.state != "not fitted")
        return tuple(sorted(fitted, key=lambda fact: -fact.weight))

    @cached_property
    def faulty(self) -> tuple[Fact, ...]:
        """Functions that are dead, impaired or removed."""
        return tuple(fact for fact in self.functions if fact.state in _FAULTY)

    @cached_property
    def untested(self) -> tuple[Fact, ...]:
        """Functions that nobody tested."""
        return tuple(fact for fact in self.functions if fact.state == "untested")

    @cached_property
    def marks(self) -> tuple[Fact, ...]:
        """Marks by surface and kind."""
        return tuple(fact for fact in self.facts.values() if fact.noun == "mark")

    @cached_property
    def unseen(self) -> tuple[Fact, ...]:
        """Surfaces that were covered or not looked at."""
        states = ("covered", "not looked at")
        return tuple(fact for fact in self.facts.values() if fact.noun == "surface" and fact.state in states)

    @cached_property
    def parts(self) -> tuple[Fact, ...]:
        """Parts that are not recorded as original."""
        return tuple(fact for fact in self.facts.values() if fact.noun == "part" and fact.state != "original")

    @cached_property
    def accessories(self) -> str:
        """Names of what comes along, in small letters."""
        return accessories_in(self.facts.values())

    @cached_property
    def held(self) -> tuple[Fact, ...]:
        """Locks that hold or were not checked, those that hold first."""
        locks = (fact for fact in self.facts.values() if fact.noun == "lock" and fact.state != "free")
        return tuple(sorted(locks, key=lambda fact: fact.state != "locked"))

    @cached_property
    def defects(self) -> tuple[Fact, ...]:
        """All that a buyer has to be told of functions, look, locks, parts and what nobody saw."""
        return (*self.faulty, *self.marks, *self.untested, *self.held, *self.parts, *self.unseen)

    @property
    def is_opened(self) -> bool:
        """Whether the unit has been opened."""
        return self.state("opened") in ("by us", "by others", "opened")

    def state(self, key: str) -> str:
        """Return the state of a fact, "" when there is none."""
        return self.facts[key].state if key in self.facts else ""

    def doubtful(self, said: Said, *, look_back: bool = True) -> Fact | None:
        """Return a function that the sentence is about and that does not work for certain.

        A sentence that names none goes on about what the one before named.
        """
        found = self._doubtful(said.names)
        speaks_of_all = any(statement.whole for statement in said.statements)
        if found is None and look_back and not (said.subjects or speaks_of_all) and said.before is not None:
            found = self._doubtful(said.before.names)
        return found

    def _doubtful(self, names: Sequence[frozenset[str]]) -> Fact | None:
        for name in names:
            alike = [self.facts[key] for key in sorted(name) if key in self.facts and key.startswith("function:")]
            if alike and all(fact.state not in ("works", "not fitted") for fact in alike):
                # Of several that bear the name, the one that the text is silent on.
                return min(alike, key=lambda fact: fact.key in self.disclosed)
        return None

    def marks_of(self, said: Said) -> tuple[Fact, ...]:
        """Return the recorded marks that a sentence may speak of, by the kinds and surfaces it names."""
        surfaces = {key for key in said.subjects if key.startswith("surface:")}
        return tuple(
            mark
            for mark in self.marks
            if (not said.kinds or mark.state in said.kinds)
            and (not surfaces or mark.thing in surfaces)
            and (said.kinds or surfaces)
        )
