"""Answers of the intake put into a unit, one by one: a bad one is told and hides no other.

An answer replaces what was answered before; the answers on one surface replace all its marks together. A test without
a day is of the day on which the answers are taken. What is not answered stays as it was, at first untested.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from difflib import get_close_matches
from typing import Any, NamedTuple, get_args

from pydantic import ValidationError

from pricing.decisions.intake_fields import FIELDS, Expected, Fields
from pricing.decisions.intake_questions import questions_of
from pricing.errors import BadInput, Problem, shortened
from pricing.records.device_class import DeviceClass
from pricing.records.identity import masked
from pricing.records.question import Answer, Question
from pricing.records.unit import Origin, Unit
from pricing.records.unit_columns import check_unit

_TESTS = ("symptom", "minutes", "restarted", "left_in_place")


class Taken(NamedTuple):
    """A unit with the good answers in it, and what was wrong with the others."""

    unit: Unit
    problems: tuple[Problem, ...]


def take_answers(
    unit: Unit, device_class: DeviceClass, answers: Iterable[Answer], *, on: date, source: str = "request"
) -> Taken:
    """Return the unit with every good answer in it.

    Args:
        unit: As it is so far.
        device_class: Its class.
        answers: In any order.
        on: Day of answers that state none.
        source: Names the file in problems.
    """
    # An earlier answer may raise a question: what is asked of an opened unit that had a fall is asked of any.
    fallen = unit.cell.model_copy(update={"had_impact": True})
    widest = unit.model_copy(update={"opened": "not known", "cell": fallen})
    known = {question.key: question for question in questions_of(widest, device_class)}
    known |= {f"part:{name}": _part_question(name) for name in device_class.parts_by_name}
    problems: list[Problem] = []
    cleared: set[str] = set()
    for answer in answers:
        try:
            question = _asked(answer.key, known)
            _check_allowed(answer, question)
            unit = _with(unit, device_class, answer, on, cleared)
        except Expected as error:
            problems.append(_problem(answer, source, error.column, str(error)))
        except ValidationError as error:
            problems += [_problem(answer, source, "answer", _plainly(detail["msg"])) for detail in error.errors()]
        except BadInput as error:
            problems += [_problem(answer, source, "answer", problem.expected) for problem in error.problems]
    return Taken(unit, tuple(problems))


def _with(unit: Unit, device_class: DeviceClass, answer: Answer, on: date, cleared: set[str]) -> Unit:
    fields: Fields = unit.model_dump(by_alias=True)
    noun, _, name = answer.key.partition(":")
    day = answer.day or on
    if noun == "surface" and answer.key not in cleared:
        _clear_surface(fields, name)
    set_field = _NAMED.get(noun) if name else None
    if set_field is not None:
        set_field(fields, name, answer, day)
    else:
        FIELDS[answer.key](fields, answer, day)
    none = answer.answer.strip().casefold() == "none"
    kept = [key for key in fields["answered_none"] if key != answer.key]
    fields["answered_none"] = [*kept, answer.key] if none else kept
    changed = Unit.model_validate(fields)
    check_unit(changed, device_class)
    # Only an answer that was taken makes the next one on the same surface add to it.
    cleared.add(answer.key)
    return changed


def _check_allowed(answer: Answer, question: Question) -> None:
    if not answer.answer.strip():
        raise Expected("answer", _listed(question.answers) if question.answers else "an answer")
    many = question.key in ("trace", "stop", "opened_parts")
    for word in (answer.words or (answer.answer.strip(),)) if many else (answer.answer.strip(),):
        if question.answers and word not in question.answers:
            raise Expected("answer", _listed(question.answers))


def _function(fields: Fields, name: str, answer: Answer, day: date) -> None:
    test: dict[str, Any] = {"status": answer.answer.strip()}
    test |= {key: value for key in _TESTS if (value := getattr(answer, key)) is not None}
    if test["status"] not in ("untested", "not fitted"):
        test["tested_on"] = day
    fields["functions"][name] = test


def _clear_surface(fields: Fields, name: str) -> None:
    fields["marks"] = [mark for mark in fields["marks"] if mark["surface"] != name]
    for seen in ("looked_at", "covered"):
        fields[seen] = [surface for surface in fields[seen] if surface != name]


def _surface(fields: Fields, name: str, answer: Answer, _: date) -> None:
    seen = answer.answer.strip()
    if seen == "covered":
        fields["covered"] = [*fields["covered"], name]
        return
    fields["looked_at"] = [*(surface for surface in fields["looked_at"] if surface != name), name]
    if seen != "clean":
        mark = {"surface": name, "kind": seen, "size_mm": answer.size_mm, "count": answer.count or 1,
                "visible_at_arms_length": answer.at_arms_length}  # fmt: skip
        fields["marks"] = [*fields["marks"], mark]


def _lock(fields: Fields, name: str, answer: Answer, day: date) -> None:
    state = answer.answer.strip()
    checked_on = None if state == "not checked" else day
    fields["locks"][name] = {"state": state, "checked_on": checked_on, "way": answer.way}


def _part(fields: Fields, name: str, answer: Answer, _: date) -> None:
    others = [part for part in fields["parts"] if part["part"] != name]
    fields["parts"] = [*others, {"part": name, "origin": answer.answer.strip(), "fitted_on": answer.day}]


def _carrier(fields: Fields, name: str, answer: Answer, _: date) -> None:
    fields["carriers"][name] = answer.answer.strip()


def _attribute(fields: Fields, name: str, answer: Answer, _: date) -> None:
    fields["attributes"][name] = answer.answer.strip()


def _identity(fields: Fields, name: str, answer: Answer, _: date) -> None:
    if name == "body":
        fields["identity"] = answer.answer.strip()
    else:
        fields["identities"][name] = answer.answer.strip()


def _handled(fields: Fields, name: str, answer: Answer, _: date) -> None:
    if answer.by is None or answer.day is None:
        raise Expected("by" if answer.by is None else "day", "the name of who looked, and the day: a tick is no check")
    signed = {"answer": answer.answer.strip() == "yes", "by": answer.by, "on": answer.day}
    fields["cell"]["handling"][name] = signed


_NAMED: Mapping[str, Callable[[Fields, str, Answer, date], None]] = {
    "function": _function, "surface": _surface, "lock": _lock, "part": _part, "carrier": _carrier,
    "attribute": _attribute, "identity": _identity, "handled": _handled,
}  # fmt: skip


def _part_question(name: str) -> Question:
    return Question(key=f"part:{name}", station="inside", ask="Where is it from?", answers=get_args(Origin))


def _problem(answer: Answer, source: str, column: str, expected: str) -> Problem:
    found = str(getattr(answer, column) or "")
    if answer.key.startswith("identity") and column == "answer":
        found = masked(found)
    return Problem(source, answer.line, f"{shortened(answer.key)[1:-1]}.{column}", shortened(found), expected)


def _asked(key: str, known: Mapping[str, Question]) -> Question:
    """Return the question with this key.

    Raises:
        Expected: It is not asked.
    """
    if key not in known:
        raise Expected("key", _near(key, known))
    return known[key]


def _near(key: str, known: Iterable[str]) -> str:
    keys = list(known)
    noun = key.partition(":")[0] + ":"
    near = get_close_matches(key, keys, n=3) or [other for other in keys if other.startswith(noun)]
    return f"the key of a question: {_listed(near)}" if near else "the key of a question of this class"


def _listed(words: Iterable[str], limit: int = 16) -> str:
    listed = list(words)
    return "one of " + ", ".join(listed[:limit]) + (", ..." if len(listed) > limit else "")


def _plainly(message: str) -> str:
    plain = message.removeprefix("Value error, ").removeprefix("Input should be ")
    return plain[:1].lower() + plain[1:]
