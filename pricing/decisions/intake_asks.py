"""The questions of the intake that are alike for all classes, each with what was answered so far."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import get_args

from pricing.records.cell import CHECKS, CellLook, CellMaker
from pricing.records.dangers import cell_signs, has_danger
from pricing.records.device_class import DeviceClass
from pricing.records.erasure import erasure_of
from pricing.records.identity import masked
from pricing.records.question import NONE, Question
from pricing.records.software import SystemState
from pricing.records.unit import (
    CarrierState,
    Corrosion,
    Doubt,
    LiquidIndicator,
    Opened,
    Screws,
    Storage,
    Trace,
    Unit,
    is_fitted,
)

YES_NO = ("yes", "no")
_HANDLED = {
    "seen_flat": "Is the cell out of the body and seen flat?",
    "sound": "Is it without dent, smell or leak?",
    "in_voltage_range": "Does its voltage lie in the maker's range?",
    "sits_free": "Does it sit free, with nothing pressing on it?",
    "taken_out": "Was the cell replaced or removed?",
}


def asks_on_sight(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    """Yield what is looked at before any power: cell, pests, liquid, and whether it is ours to sell."""
    look = "danger look"
    cell = unit.cell
    if has_danger("cell", unit, device_class):
        yield _ask(look, "cell:look", "What is to be seen of the cell, without opening?",
                   "Bulge, gap, raised deck, smell, heat. Anything but nothing: no power.", get_args(CellLook),
                   None if cell.look == "not looked at" else cell.look)  # fmt: skip
        yield _ask(look, "cell:impact", "Did it fall, or was it bent or crushed?", "Corners, frame, glass.", YES_NO,
                   _yes(cell.had_impact))  # fmt: skip
    yield _ask(look, "trace", "Is there smell, vermin, mould or residue?", "Seams, vents, ports.",
               (NONE, *get_args(Trace)), _list(unit, "trace", unit.traces))  # fmt: skip
    if "liquid indicator" not in device_class.without:
        yield _ask(look, "liquid", "What does the liquid indicator show?", "Where the maker put it.",
                   get_args(LiquidIndicator),
                   None if unit.liquid_indicator == "not looked at" else unit.liquid_indicator)  # fmt: skip
    yield _ask(look, "stop", "Is something known for which it must be neither sold nor stripped?",
               "Reports, altered numbers, things of an owner.", (NONE, *get_args(Doubt)),
               _list(unit, "stop", unit.doubts))  # fmt: skip


def asks_of_identity(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    """Yield the numbers to be read, the specifications, and the system."""
    first: dict[str, str] = {} if unit.identity is None else {"body": unit.identity}
    numbers = first | {str(place): number for place, number in unit.identities.items()}
    second = ("second",) if "mobile_calls" in device_class.functions_by_name else ()
    for place in ("body", "board", "label", "box", *second):
        where = "of the second radio" if place == "second" else f"on the {place}"
        number = numbers.get(place)
        yield _ask("identity", f"identity:{place}", f"Which number stands {where}?", "The check digit is looked at.",
                   (), None if number is None else masked(number))  # fmt: skip
    for attribute in device_class.attributes:
        stated = unit.attributes.get(attribute.name)
        yield _ask("identity", f"attribute:{attribute.name}", f"Which is it: {attribute.title}?",
                   "Read from the device, not from the label.", attribute.options or (),
                   None if stated is None else str(stated))  # fmt: skip
    if "stored data" not in device_class.without:
        yield from _asks_of_system(unit)


def _asks_of_system(unit: Unit) -> Iterator[Question]:
    software = unit.software
    until = None if software is None or software.updates_until is None else software.updates_until.isoformat()
    yield _ask("identity", "system:version", "Which system version is on it?", "Settings.", (),
               None if software is None else software.version)  # fmt: skip
    yield _ask("identity", "updates", "Until which day does the maker promise security updates?",
               "The maker's page; the last day of the month, also when it has passed.", (), until)  # fmt: skip
    yield _ask("identity", "system:state", "Is the system as made?", "Start screen, settings.", get_args(SystemState),
               None if software is None else software.state)  # fmt: skip
    yield _ask("identity", "system:language", "Which language is it set to?", "", (),
               None if software is None else software.language)  # fmt: skip
    yield _ask("identity", "system:licence", "Does a licence for the system go with it?", "", YES_NO,
               None if software is None else _yes(software.licence))  # fmt: skip


def asks_inside(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    """Yield what is asked about an opening, and what was seen inside."""
    inside = "inside"
    if has_danger("mains", unit, device_class):
        yield _ask(inside, "qualified", "Who is qualified to open it, and will? A name is needed.",
                   "Mains inside: opening is refused until then.", YES_NO,
                   None if unit.qualified is None else _yes(unit.qualified.answer))  # fmt: skip
    yield _ask(inside, "opened", "Was it opened, and by whom?", "Seals, screws, adhesive, prying marks.",
               get_args(Opened), None if unit.opened == "not known" else unit.opened)  # fmt: skip
    # In a unit that nobody opened there is nothing to be seen yet.
    if unit.opened != "no sign":
        yield from _asks_of_opened(unit, device_class)
    if has_danger("cell", unit, device_class):
        yield from _asks_of_cell(unit, device_class)


def _asks_of_opened(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    inside = "inside"
    yield _ask(inside, "opened_parts", "Which parts were off? Names parted by ;", "",
               tuple(device_class.parts_by_name), "; ".join(unit.opened_parts) or None)  # fmt: skip
    yield _ask(inside, "corrosion", "Is there corrosion? Say in way where you looked.", "Board, ports, under shields.",
               get_args(Corrosion), None if unit.corrosion == "not looked at" else unit.corrosion)  # fmt: skip
    yield _ask(inside, "work", "Are there signs of earlier work?", "Flux, lifted pads, missing shields.", (),
               _list(unit, "work", unit.earlier_work))  # fmt: skip
    yield _ask(inside, "screws", "Are all screws there?", "Count them.", get_args(Screws),
               None if unit.screws == "not counted" else unit.screws)  # fmt: skip
    yield _ask(inside, "seal", "What was it closed with?", "Adhesive, gasket.", (),
               _list(unit, "seal", () if unit.sealed_with is None else (unit.sealed_with,)))  # fmt: skip


def _asks_of_cell(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    cell = unit.cell
    reported = None if cell.reported_share is None else str(cell.reported_share)
    share = None if unit.battery_share is None else str(unit.battery_share)
    yield _ask("cell", "battery_share", "Which percent of its design capacity does the cell have?",
               "Say in way: reported or measured. Both may be answered, one after the other.", (),
               share if reported is None else f"{share}; reported {reported}")  # fmt: skip
    yield _ask("cell", "cell:cycles", "How many charge cycles does it report?", "", (),
               None if cell.cycles is None else str(cell.cycles))  # fmt: skip
    yield _ask("cell", "cell:message", "Does it show a message about its cell?", "Settings.", YES_NO,
               _yes(cell.message))  # fmt: skip
    yield _ask("cell", "cell:maker", "Who made the cell?", "", get_args(CellMaker), cell.maker)
    if cell_signs(unit, device_class) or cell.is_dangerous or unit.cell.look not in ("not looked at", "nothing seen"):
        for name in (*CHECKS, "taken_out"):
            signed = getattr(cell.handling, name)
            yield _ask("cell", f"handled:{name}", _HANDLED[name], "With name and day: a tick is not a check.", YES_NO,
                       None if signed is None else _yes(signed.answer))  # fmt: skip


def asks_of_data(unit: Unit, device_class: DeviceClass) -> Iterator[Question]:
    """Yield what is asked about stored data, and about things of a former owner."""
    state = erasure_of(unit, device_class)
    if state != "no storage":
        yield _ask("data", "data", "How was it erased? Say in way how that was verified.",
                   "Do not look at what is on it.", (), None if state == "not recorded" else state)  # fmt: skip
        yield _ask("data", "storage", "Is the storage in? If not, what became of it?", "", get_args(Storage),
                   None if state in ("not recorded", "not erased") else unit.storage)  # fmt: skip
    functions = device_class.functions_by_name
    for carrier in device_class.carriers:
        if carrier.function not in functions or is_fitted(functions[carrier.function], unit):
            yield _ask("data", f"carrier:{carrier.name}", f"Is something left in it: {carrier.title}?", "",
                       get_args(CarrierState), unit.carriers.get(carrier.name))  # fmt: skip


def asks_with_it(unit: Unit) -> Iterator[Question]:
    """Yield what is asked about the things that go with the unit."""
    supply = unit.supply
    told = None if supply is None else f"{supply.maker}{'' if supply.may_go_along else ', stays behind'}"
    yield _ask("with it", "accessories", "What goes with it? Names parted by ;", "", (),
               _list(unit, "accessories", unit.accessories))  # fmt: skip
    yield _ask("with it", "supply", "Whose supply goes with it?",
               "Say in way: marked or unmarked, sound or damaged, its watts and plug (marked; sound; 20 W; plug C).",
               (NONE, "own", "other", "not known"), NONE if "supply" in unit.answered_none else told)  # fmt: skip
    yield _ask("with it", "box", "Does the number on the box match?", "", (NONE, *YES_NO),
               NONE if "box" in unit.answered_none else _yes(unit.box_matches))  # fmt: skip


def _ask(station: str, key: str, ask: str, how: str, answers: Iterable[str], answer: str | None) -> Question:
    state = "open" if answer is None else "answered"
    return Question.model_validate({
        "key": key, "station": station, "ask": ask, "how": how, "answers": tuple(answers), "minutes": 0.5,
        "state": state, "answer": answer,
    })  # fmt: skip


def _yes(value: bool | None) -> str | None:
    return None if value is None else "yes" if value else "no"


def _list(unit: Unit, key: str, values: Iterable[str]) -> str | None:
    return "; ".join(values) or (NONE if key in unit.answered_none else None)
