"""Facts that intake adds to those of functions, marks, locks and parts; each only when somebody recorded it.

Keys: ``stop:DOUBT``, ``cell:NAME`` (look, message, maker, cycles, reported), ``corrosion``, ``carrier:NAME``,
``identity:PLACE``, ``system:NAME`` (version, language, state, licence), ``updates``, ``trace:NAME``, ``work:NAME``,
``screws``, ``seal``, ``supply`` and ``box``.
"""

from __future__ import annotations

from collections.abc import Iterator

from listing_templates.fact import Fact
from listing_templates.plain_text import clipped
from pricing.records.cell import CHECKS, Cell
from pricing.records.device_class import DeviceClass
from pricing.records.identity import IdentityPlace, compact, masked
from pricing.records.software import Software
from pricing.records.supply import Supply
from pricing.records.unit import Unit

UNIT_PLACES = ("body", "board", "label", "box")


def intake_facts(unit: Unit, device_class: DeviceClass) -> tuple[Fact, ...]:
    """Return what was recorded at intake beyond functions, surfaces, locks and parts, each key once."""
    return (
        *(Fact(key=f"stop:{doubt}", label="stop", state=doubt, danger=True) for doubt in dict.fromkeys(unit.doubts)),
        *_cell(unit.cell),
        *_corrosion(unit),
        *_carriers(unit, device_class),
        *(() if unit.software is None else _software(unit.software)),
        *_worded("trace", unit.traces),
        *_worded("work", unit.earlier_work),
        *_closing(unit),
        *(() if unit.supply is None else _supply(unit.supply)),
    )


def identity_places(unit: Unit) -> tuple[Fact, ...]:
    """Return the numbers read in several places, masked; "differs" where they tell of two units.

    The second number of a phone with two radios is another number by right and is not compared.
    """
    first: dict[IdentityPlace, str] = {} if unit.identity is None else {"body": unit.identity}
    numbers = first | unit.identities
    compared = {compact(number) for place, number in numbers.items() if place in UNIT_PLACES}
    differ = len(compared) > 1
    return tuple(
        Fact(
            key=f"identity:{place}",
            label=place,
            state="differs" if differ and place in UNIT_PLACES else "recorded",
            detail=masked(number),
            hidden=differ and place in UNIT_PLACES,
        )
        for place, number in (numbers.items() if unit.identities else ())
    )


def _cell(cell: Cell) -> Iterator[Fact]:
    if cell.is_dangerous:
        yield Fact(key="cell:look", label="battery", state="damaged", detail=cell.look, hidden=True, danger=True)
    elif cell.had_impact:
        days = [signed.on for name in CHECKS if (signed := getattr(cell.handling, name)) is not None]
        out = cell.handling.taken_out
        state = "unseen" if not cell.is_handled else "changed" if out is not None and out.answer else "handled"
        day = None if state != "handled" else max(days)
        yield Fact(key="cell:look", label="battery", state=state, day=day, hidden=True, danger=state == "unseen")
    if cell.message:
        yield Fact(key="cell:message", label="battery", state="message", hidden=True)
    if cell.maker is not None:
        yield Fact(key="cell:maker", label="battery", state=cell.maker, hidden=True)
    if cell.cycles is not None:
        yield Fact(key="cell:cycles", label="battery", state="cycles", detail=str(cell.cycles), hidden=True)
    if cell.reported_share is not None:
        share = str(cell.reported_share)
        yield Fact(key="cell:reported", label="battery", state="reported", detail=share, hidden=True)


def _corrosion(unit: Unit) -> Iterator[Fact]:
    if unit.corrosion != "not looked at":
        places = [clipped(place) for place in unit.looked_at_inside]
        where = ", ".join(place for place in places if place) or None
        yield Fact(key="corrosion", label="corrosion", state=unit.corrosion, detail=where, hidden=True)


def _carriers(unit: Unit, device_class: DeviceClass) -> Iterator[Fact]:
    titles = {carrier.name: carrier.title for carrier in device_class.carriers}
    for name, state in unit.carriers.items():
        label = titles.get(name, clipped(name.replace("_", " ")))
        yield Fact(key=f"carrier:{name}", label=label, state=state, hidden=state == "still in")


def _software(software: Software) -> Iterator[Fact]:
    for name, value in (("version", software.version), ("language", software.language)):
        if value is not None and clipped(value):
            yield Fact(key=f"system:{name}", label="system", state=name, detail=clipped(value))
    if software.state is not None:
        yield Fact(key="system:state", label="system", state=software.state, hidden=software.state != "as made")
    if software.licence is not None:
        state = "licence" if software.licence else "no licence"
        yield Fact(key="system:licence", label="system", state=state, hidden=not software.licence)
    if software.updates_until is not None:
        yield Fact(key="updates", label="security updates", state="until", day=software.updates_until, hidden=True)


def _worded(noun: str, names: tuple[str, ...]) -> Iterator[Fact]:
    for name in dict.fromkeys(clipped(name) for name in names):
        if name:
            yield Fact(key=f"{noun}:{name}", label=name, state="found", hidden=True)


def _closing(unit: Unit) -> Iterator[Fact]:
    if unit.screws != "not counted":
        yield Fact(key="screws", label="screws", state=unit.screws, hidden=unit.screws == "some missing")
    sealed = clipped(unit.sealed_with or "").rstrip(" .")
    if sealed:
        yield Fact(key="seal", label="seal", state="renewed", detail=sealed)
    if unit.box_matches is not None:
        yield Fact(key="box", label="box", state="matches" if unit.box_matches else "differs")


def _supply(supply: Supply) -> Iterator[Fact]:
    figures = [f"{supply.watts:g} W"] if supply.watts is not None else []
    plug = clipped(supply.plug or "")
    state = supply.maker if supply.may_go_along else "left out"
    detail = ", ".join([*figures, *([plug] if plug else [])]) or None
    yield Fact(key="supply", label="power supply", state=state, detail=detail)
