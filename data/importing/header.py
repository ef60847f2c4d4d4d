"""Which column of a file is what: the class's attributes, its functions, the contract's columns, and others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from pricing.errors import Problem, refused, shortened
from pricing.records.device_class import CONTRACT_COLUMNS, DeviceClass, Function, Lock, Part, Surface

# Columns that ``price`` adds to a units file, or that say what class a row is of.
ADDED_COLUMNS = frozenset(
    name for name in CONTRACT_COLUMNS if name.startswith(("low_", "high_"))
) | {"estimate", "expected", "support", "abstained"}  # fmt: skip
_KNOWN_SHOWN = 12


@dataclass(frozen=True, eq=False)
class Header:
    """The columns of one file, sorted by what they are.

    Attributes:
        device_class: The class, with a plain function, surface, part or lock for each column that the class
            does not describe, where it describes none of that sort at all.
        attributes: Names of the attributes that have a column.
        faults, marks, parts, locks: Name -> column name.
        unknown: Columns that mean nothing here.
        missing: Attributes without a column.
    """

    device_class: DeviceClass
    attributes: tuple[str, ...]
    faults: Mapping[str, str]
    marks: Mapping[str, str]
    parts: Mapping[str, str]
    locks: Mapping[str, str]
    unknown: tuple[str, ...]
    missing: tuple[str, ...]

    def notices(self) -> tuple[str, ...]:
        """What the user should know of the columns."""
        told = []
        if self.missing:
            told.append(f"no column for {_listed(self.missing)}: not stated in any row")
        if self.unknown:
            told.append(f"columns without a meaning here, not used: {_listed(self.unknown)}")
        return tuple(told)


def sorted_columns(
    names: tuple[str, ...], device_class: DeviceClass, source: str, required: Iterable[str] = ()
) -> Header:
    """Return what each column is.

    Raises:
        BadInput: A required column is missing, or a column names a function, surface, part or lock that the
            class does not know although it describes others.
    """
    problems = [
        Problem(source, 1, name, f"the columns {shortened(', '.join(names))}", f"a column named {name}")
        for name in required
        if name not in names
    ]
    faults = _of_prefix("fault:", names, device_class.functions_by_name, source, problems)
    marks = _of_prefix("mark:", names, device_class.surfaces_by_name, source, problems)
    parts = _of_prefix("part:", names, device_class.parts_by_name, source, problems)
    locks = _of_prefix("lock:", names, device_class.locks_by_name, source, problems)
    if problems:
        raise refused(source, problems)
    prefixed = {*faults.values(), *marks.values(), *parts.values(), *locks.values()}
    described = device_class.attributes_by_name
    return Header(
        device_class=_extended(device_class, faults, marks, parts, locks),
        attributes=tuple(name for name in names if name in described),
        faults=faults,
        marks=marks,
        parts=parts,
        locks=locks,
        unknown=tuple(
            name
            for name in names
            if name not in described
            and name not in prefixed
            and (name not in CONTRACT_COLUMNS or name in ADDED_COLUMNS)
        ),
        missing=tuple(name for name in described if name not in names),
    )


def _of_prefix(
    prefix: str,
    names: tuple[str, ...],
    known: Mapping[str, object],
    source: str,
    problems: list[Problem],
) -> dict[str, str]:
    found: dict[str, str] = {}
    for column in names:
        name = column.removeprefix(prefix).strip()
        if not column.startswith(prefix):
            continue
        if not name or (known and name not in known):
            expected = f"{prefix} and one of {_listed(tuple(known))}" if known else f"a name after {prefix}"
            problems.append(Problem(source, 1, column, shortened(name), expected))
        elif name in found:
            problems.append(Problem(source, 1, column, f"{shortened(name)} twice", "each column once"))
        else:
            found[name] = column
    return found


def _extended(
    device_class: DeviceClass,
    faults: Mapping[str, str],
    marks: Mapping[str, str],
    parts: Mapping[str, str],
    locks: Mapping[str, str],
) -> DeviceClass:
    added: dict[str, object] = {}
    if faults and not device_class.functions:
        added["functions"] = tuple(Function(name=name) for name in faults)
    if marks and not device_class.surfaces:
        added["surfaces"] = tuple(Surface(name=name) for name in marks)
    if parts and not device_class.parts:
        added["parts"] = tuple(Part(name=name) for name in parts)
    if locks and not device_class.locks:
        added["locks"] = tuple(Lock(name=name) for name in locks)
    if not added:
        return device_class
    # Built anew, because a copy would keep the names that the class has looked up already.
    fields = {name: getattr(device_class, name) for name in DeviceClass.model_fields}
    return DeviceClass.model_validate(fields | added)


def _listed(names: tuple[str, ...]) -> str:
    more = len(names) - _KNOWN_SHOWN
    return ", ".join(names[:_KNOWN_SHOWN]) + (f" and {more} more" if more > 0 else "")
