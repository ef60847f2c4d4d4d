"""A device class: what kind of goods it is, as a user's TOML file describes it.

Only ``name`` and each attribute's name and kind are required; the rest has defaults.
"""

from __future__ import annotations

from functools import cached_property
from typing import Literal

from pydantic import Field, field_validator, model_validator

from pricing.records.base import Record
from pricing.records.grade import GradeRule
from pricing.records.lot_rates import LotRates
from pricing.records.priors import FaultPrior
from pricing.records.waiting import WaitingAssumption

Trait = Literal["stored data", "liquid indicator"]
DangerName = Literal["cell", "mains", "flash capacitor", "laser", "tube light", "glass"]
AttributeKind = Literal["number", "choice", "group"]
Effect = Literal["raises", "lowers", "free"]

STATUSES = ("works", "impaired", "dead", "removed", "untested", "not fitted")
FAULT_STATUSES = ("impaired", "dead", "removed", "untested")
ORIGINS = ("original", "third-party", "salvaged")
LOCK_STATES = ("free", "locked", "not checked")
SOLD_AS = ("working", "faulty", "parts")
MARK_KINDS = (
    "scratch", "scuff", "dent", "chip", "crack", "gap", "lifted edge", "discolouring", "worn coating",
    "engraving", "sticker rest", "missing piece", "paint over", "glue rest",
)  # fmt: skip
CLEAN = "none"
COVERED = "covered"

# Columns that mean something in a sales or units file; an attribute may not have such a name.
CONTRACT_COLUMNS = frozenset({
    "price", "currency", "sold_on", "sold_as", "asked", "ask", "listed_on", "withdrawn_on", "still_listed",
    "channel", "country", "price_includes_postage", "refunded", "opened", "battery_share", "class",
    "estimate", "expected", "support", "abstained", "low_50", "high_50", "low_80", "high_80", "low_90",
    "high_90", "low_95", "high_95",
})  # fmt: skip
CONTRACT_PREFIXES = ("fault:", "mark:", "part:", "lock:")


class Attribute(Record):
    """A specification that moves price.

    Attributes:
        name: Column name in sales and units files.
        kind: number, choice (a small set known beforehand) or group (an open set: brand, model).
        label: What a listing calls it; the name with spaces by default.
        unit: Unit of a number, for display ("GB"); no conversion is done.
        scale: Scale on which a number enters the model; log needs values above 0.
        within: For a group: the parent group it is nested in (model within brand).
        effect: raises or lowers bounds the direction in which a number may move the price.
        options: Allowed values of a choice; None: what the sales contain.
    """

    name: str = Field(min_length=1)
    kind: AttributeKind
    label: str | None = None
    unit: str | None = None
    scale: Literal["linear", "log"] = "linear"
    within: str | None = None
    effect: Effect = "free"
    options: tuple[str, ...] | None = None

    @field_validator("name")
    @classmethod
    def _not_a_contract_column(cls, name: str) -> str:
        if name in CONTRACT_COLUMNS or name.startswith(CONTRACT_PREFIXES):
            raise ValueError(f'"{name}" is the name of a column with a fixed meaning; choose another')
        return name

    @property
    def title(self) -> str:
        """The label shown to people."""
        return self.label or self.name.replace("_", " ")


class Consequence(Record):
    """What each status of a function means to the buyer, a sentence without subject; None: nothing to add."""

    impaired: str | None = None
    dead: str | None = None
    removed: str | None = None
    untested: str | None = None


class Function(Record):
    """Something a buyer expects to work, with the way to test it.

    Attributes:
        name: Used in ``fault:<name>`` columns.
        label: What a listing calls it ("ultra-wide camera").
        how_to_test: One line for the bench.
        consequence: What each status means in use.
        gate: Others cannot be tested without it.
        hidden: A buyer cannot see from outside, or on first use, that it is gone.
        safety: Touches a danger (cell, mains, glass).
        weight: 3 sells as faulty without it, 2 most buyers ask, 1 some do not notice.
        kin: Faults of one kin share part of their effect ("camera", "sound").
        requires: Functions without which this one cannot be tested.
        fitted_if: Attribute name -> values with which the unit has this function; empty: always fitted.
        optional: Only some models have it; then it may be recorded as not fitted.
        symptoms: What "works poorly" can look like.
        minutes: Length of the test in minutes.
        restart: The test counts only after a restart.
        station: What is in the hand during the test, for the order of tests.
    """

    name: str = Field(min_length=1)
    label: str | None = None
    how_to_test: str = ""
    consequence: Consequence = Consequence()
    gate: bool = False
    hidden: bool = False
    safety: bool = False
    weight: Literal[1, 2, 3] = 2
    kin: str = "other"
    requires: tuple[str, ...] = ()
    fitted_if: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    optional: bool = False
    symptoms: tuple[str, ...] = ()
    minutes: float = Field(default=1, ge=0)
    restart: bool = False
    station: str | None = None

    @property
    def title(self) -> str:
        """The label shown to people."""
        return self.label or self.name.replace("_", " ")


class Surface(Record):
    """A side of the unit that is looked at for marks.

    Attributes:
        name: Used in ``mark:<name>`` columns.
        label: What a listing calls it.
        covered_by: What may lie over it (film, case); a covered surface has not been looked at.
        glass: A crack in it can cut, spread and let water in.
        function: The function it belongs to (the hinge); a unit without that function has no such surface.
    """

    name: str = Field(min_length=1)
    label: str | None = None
    covered_by: tuple[str, ...] = ()
    glass: bool = False
    function: str | None = None

    @property
    def title(self) -> str:
        """The label shown to people."""
        return self.label or self.name.replace("_", " ")


class Part(Record):
    """A part that can be taken off, changed or removed.

    Attributes:
        name: Used in ``part:<name>`` columns.
        label: What a listing calls it.
        function: Functions that this part restores.
        touches: Functions whose earlier test is void once this part was off.
        moves_over: Small things on the old part that the new one comes without.
        paired: What a swapped part does when it is tied to the board.
        variant: What must match beside the name (colour, region, revision).
        harm: Functions or parts that fitting it may break.
    """

    name: str = Field(min_length=1)
    label: str | None = None
    function: tuple[str, ...] = ()
    touches: tuple[str, ...] = ()
    moves_over: tuple[str, ...] = ()
    paired: Literal["works", "message", "function lost"] | None = None
    variant: tuple[str, ...] = ()
    harm: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        """The label shown to people."""
        return self.label or self.name.replace("_", " ")


class Lock(Record):
    """A lock that another person or firm may hold over the unit.

    Attributes:
        name: Used in ``lock:<name>`` columns.
        label: What a listing calls it.
        how_to_check: One line for the bench.
        means: What it means to the buyer while it is locked.
        parts_only: A unit with it is sold for parts only.
        days: A check that found it free is worth nothing after so many days; None: it does not grow old.
    """

    name: str = Field(min_length=1)
    label: str | None = None
    how_to_check: str = ""
    means: str = ""
    parts_only: bool = False
    days: int | None = Field(default=None, ge=1)

    @property
    def title(self) -> str:
        """The label shown to people."""
        return self.label or self.name.replace("_", " ")


class Combination(Record):
    """A consequence that depends on several facts.

    Attributes:
        when: "function:NAME=STATUS", "part:NAME=ORIGIN", "mark:SURFACE=KIND", "opened=STATE",
            "liquid=STATE" or "lock:NAME=STATE"; all must hold. STATUS may list several with "|".
        say: The sentence for the buyer.
        observed: True: said only when it was seen on this unit.
        reassures: True: it tells of no defect ("no corrosion was seen"), so a text that is silent on it hides nothing.
    """

    when: tuple[str, ...] = Field(min_length=1)
    say: str
    observed: bool = False
    reassures: bool = False


class BeforeClosing(Record):
    """One line of the list that is read out before a unit is closed."""

    ask: str


class Carrier(Record):
    """Something beside the storage that may hold a former owner's things: a card, a disc, a paired accessory.

    Attributes:
        name: Used in a unit's ``carriers``.
        label: What a listing calls it.
        function: The function it belongs to; a unit without that function has none.
    """

    name: str = Field(min_length=1)
    label: str | None = None
    function: str | None = None

    @property
    def title(self) -> str:
        """The label shown to people."""
        return self.label or self.name.replace("_", " ")


class Danger(Record):
    """Something in goods of this kind that can hurt whoever works on them.

    Attributes:
        name: What it is.
        function: Only in units that have this function; None: in all of them.
        fitted_if: Attribute name -> values with which it is in the unit; empty: always.
        signs: For a cell: conditions, as in a combination, of which each is a reason to look at the cell first.
        parts: Parts whose repair meets it; empty: every opening does.
    """

    name: DangerName
    function: str | None = None
    fitted_if: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    signs: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()


class DeviceClass(Record):
    """A kind of goods: its attributes, functions, surfaces, parts and locks.

    Attributes:
        name: Used in files and addresses.
        title: Shown to people; the name by default.
        without: What goods of this kind do not have at all ("stored data" for a lens), so nobody asks for it.
        attributes, functions, surfaces, parts, locks, combinations, before_closing: In the file's order.
        carriers: What beside the storage may hold a former owner's things.
        dangers: What in such goods can hurt whoever works on them.
        grade_rule: How marks become a grade.
        fault_prior: What is believed of fault effects before any sale.
        waiting: What is believed of the time to sell where listings are too few.
        lot_rates: What is believed of units in lots that nobody has tested.
    """

    name: str = Field(min_length=1)
    title: str = ""
    without: tuple[Trait, ...] = ()
    attributes: tuple[Attribute, ...] = ()
    functions: tuple[Function, ...] = ()
    surfaces: tuple[Surface, ...] = ()
    parts: tuple[Part, ...] = ()
    locks: tuple[Lock, ...] = ()
    combinations: tuple[Combination, ...] = ()
    before_closing: tuple[BeforeClosing, ...] = ()
    carriers: tuple[Carrier, ...] = ()
    dangers: tuple[Danger, ...] = ()
    grade_rule: GradeRule = GradeRule()
    fault_prior: FaultPrior = FaultPrior()
    waiting: WaitingAssumption = WaitingAssumption()
    lot_rates: LotRates = LotRates()

    @model_validator(mode="after")
    def _names_hang_together(self) -> DeviceClass:
        for what in ("attributes", "functions", "surfaces", "parts", "locks", "carriers", "dangers"):
            names = [thing.name for thing in getattr(self, what)]
            twice = sorted({name for name in names if names.count(name) > 1})
            if twice:
                raise ValueError(f"{what}: {', '.join(twice)} described twice")
        known = {function.name for function in self.functions}
        for function in self.functions:
            missing = [name for name in function.requires if name not in known]
            if missing:
                raise ValueError(f"function {function.name} requires {missing[0]}, which is not described")
        for part in self.parts:
            missing = [name for name in (*part.touches, *part.function) if name not in known]
            if missing:
                raise ValueError(f"part {part.name} names the function {missing[0]}, which is not described")
        self._check_nesting()
        return self

    def _check_nesting(self) -> None:
        kinds = {attribute.name: attribute for attribute in self.attributes}
        for attribute in self.attributes:
            seen = {attribute.name}
            parent = attribute.within
            while parent is not None:
                if parent not in kinds or kinds[parent].kind != "group" or attribute.kind != "group":
                    raise ValueError(f"attribute {attribute.name}: within needs a group of this class")
                if parent in seen:
                    raise ValueError(f"attribute {attribute.name}: within goes round in a circle")
                seen.add(parent)
                parent = kinds[parent].within

    @cached_property
    def functions_by_name(self) -> dict[str, Function]:
        """Functions keyed by name."""
        return {function.name: function for function in self.functions}

    @cached_property
    def attributes_by_name(self) -> dict[str, Attribute]:
        """Attributes keyed by name."""
        return {attribute.name: attribute for attribute in self.attributes}

    @cached_property
    def surfaces_by_name(self) -> dict[str, Surface]:
        """Surfaces keyed by name."""
        return {surface.name: surface for surface in self.surfaces}

    @cached_property
    def parts_by_name(self) -> dict[str, Part]:
        """Parts keyed by name."""
        return {part.name: part for part in self.parts}

    @cached_property
    def locks_by_name(self) -> dict[str, Lock]:
        """Locks keyed by name."""
        return {lock.name: lock for lock in self.locks}
