"""How an answer that is alike for all classes is written into the fields of a unit."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any, TypeAlias

from pricing.records.question import NONE, Answer

Fields: TypeAlias = dict[str, Any]
_WATTS = re.compile(r"(\d+(?:\.\d+)?)\s*W\b", re.IGNORECASE)
_PLUG = re.compile(r"plug\s+(.{1,20})", re.IGNORECASE)


class Expected(Exception):
    """An answer that cannot be taken; the message says what was expected in this column."""

    def __init__(self, column: str, expected: str) -> None:
        super().__init__(expected)
        self.column = column


def _word(field: str) -> Callable[[Fields, Answer, date], None]:
    def put(fields: Fields, answer: Answer, _: date) -> None:
        """Write the answer as it is."""
        fields[field] = answer.answer.strip()

    return put


def _words(field: str) -> Callable[[Fields, Answer, date], None]:
    def put(fields: Fields, answer: Answer, _: date) -> None:
        """Write the several words of an answer; "none" empties the field."""
        fields[field] = list(answer.words)

    return put


def _in_cell(field: str, read: Callable[[Answer], Any]) -> Callable[[Fields, Answer, date], None]:
    def put(fields: Fields, answer: Answer, _: date) -> None:
        """Write the answer into the cell's record."""
        fields["cell"][field] = read(answer)

    return put


def _of_system(field: str, read: Callable[[Answer], Any]) -> Callable[[Fields, Answer, date], None]:
    def put(fields: Fields, answer: Answer, _: date) -> None:
        """Write the answer into the system's record."""
        fields["software"] = {**(fields["software"] or {}), field: read(answer)}

    return put


def _plain(answer: Answer) -> str:
    return answer.answer.strip()


def _yes(answer: Answer) -> bool:
    return answer.answer.strip() == "yes"


def _whole(answer: Answer) -> int:
    if not (answer.answer.strip().isascii() and answer.answer.strip().isdigit()):
        raise Expected("answer", "a whole number")
    return int(answer.answer)


def _day(answer: Answer) -> date:
    try:
        return date.fromisoformat(answer.answer.strip())
    except ValueError as error:
        raise Expected("answer", "a day as YYYY-MM-DD") from error


def _opened(fields: Fields, answer: Answer, day: date) -> None:
    fields["opened"] = answer.answer.strip()
    known = answer.day is not None or fields["opened"] == "by us"
    fields["opened_on"] = day if known and fields["opened"] in ("by us", "by others") else None


def _share(fields: Fields, answer: Answer, _: date) -> None:
    try:
        share = Decimal(answer.answer.strip().rstrip("%").strip())
    except InvalidOperation as error:
        raise Expected("answer", "a percentage of the design capacity, such as 84") from error
    if answer.way not in ("reported", "measured"):
        raise Expected("way", "reported or measured")
    if answer.way == "reported" and fields["battery_measured"]:
        fields["cell"]["reported_share"] = share
        return
    if answer.way == "measured" and fields["battery_share"] is not None and not fields["battery_measured"]:
        fields["cell"]["reported_share"] = fields["battery_share"]
    fields["battery_share"], fields["battery_measured"] = share, answer.way == "measured"


def _data(fields: Fields, answer: Answer, day: date) -> None:
    verified = (answer.way or "").strip()
    fields["data_erased"], fields["data_erased_on"] = answer.answer.strip(), day
    fields["data_verified"], fields["data_verified_how"] = bool(verified), verified or None


def _corrosion(fields: Fields, answer: Answer, _: date) -> None:
    fields["corrosion"] = answer.answer.strip()
    fields["looked_at_inside"] = [place.strip() for place in (answer.way or "").split(";") if place.strip()]


def _seal(fields: Fields, answer: Answer, _: date) -> None:
    fields["sealed_with"] = "; ".join(answer.words) or None


def _box(fields: Fields, answer: Answer, _: date) -> None:
    fields["box_matches"] = None if answer.answer.strip() == NONE else _yes(answer)


def _qualified(fields: Fields, answer: Answer, _: date) -> None:
    if answer.by is None or answer.day is None:
        raise Expected("by" if answer.by is None else "day", "the name of who is qualified, and the day")
    fields["qualified"] = {"answer": _yes(answer), "by": answer.by, "on": answer.day}


def _supply(fields: Fields, answer: Answer, _: date) -> None:
    maker = answer.answer.strip()
    if maker == NONE:
        fields["supply"] = None
        return
    looks = {word.strip().casefold() for word in (answer.way or "").split(";")}
    if not looks & {"marked", "unmarked"} or not looks & {"sound", "damaged"}:
        raise Expected("way", "marked or unmarked, and sound or damaged; perhaps its watts and plug")
    watts, plug = _WATTS.search(answer.way or ""), _PLUG.search(answer.way or "")
    fields["supply"] = {
        "maker": maker,
        "marked": "marked" in looks and "unmarked" not in looks,
        "damaged": "damaged" in looks,
        "watts": None if watts is None else float(watts[1]),
        "plug": None if plug is None else plug[1].split(";")[0].strip(),
    }


# Key of the question -> how its answer is written.
FIELDS: Mapping[str, Callable[[Fields, Answer, date], None]] = {
    "cell:look": _in_cell("look", _plain),
    "cell:impact": _in_cell("had_impact", _yes),
    "cell:message": _in_cell("message", _yes),
    "cell:maker": _in_cell("maker", _plain),
    "cell:cycles": _in_cell("cycles", _whole),
    "system:version": _of_system("version", _plain),
    "system:language": _of_system("language", _plain),
    "system:state": _of_system("state", _plain),
    "system:licence": _of_system("licence", _yes),
    "updates": _of_system("updates_until", _day),
    "trace": _words("traces"),
    "stop": _words("doubts"),
    "work": _words("earlier_work"),
    "opened_parts": _words("opened_parts"),
    "accessories": _words("accessories"),
    "liquid": _word("liquid_indicator"),
    "screws": _word("screws"),
    "storage": _word("storage"),
    "opened": _opened,
    "parts": lambda fields, _, __: fields.update(parts=[]),
    "battery_share": _share,
    "data": _data,
    "corrosion": _corrosion,
    "seal": _seal,
    "box": _box,
    "qualified": _qualified,
    "supply": _supply,
}
