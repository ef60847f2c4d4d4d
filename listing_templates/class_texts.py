"""Texts of a device class in another language: labels, consequences, symptoms, what locks and grades mean.

The packaged classes are written in English and translated in the catalogues. A text that no catalogue has, because
a user wrote it into an own class, stays as written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeVar

from listing_templates.catalogues import class_catalogue
from listing_templates.recent import Recent
from pricing.records.device_class import Attribute, Carrier, Consequence, DeviceClass, Function, Lock, Part, Surface
from pricing.records.grade import GradeRule

Say = Callable[[str, str], str]

_RECENT: Recent[DeviceClass] = Recent()




Thing = TypeVar("Thing", Attribute, Surface, Part, Carrier)


def class_texts(device_class: DeviceClass, tag: str) -> DeviceClass:
    """Return the class with its texts in this language; names, states and rules stay as they are."""
    words = class_catalogue(tag)
    if not words:
        return device_class
    return _RECENT.get(
        (device_class,), (tag,), lambda: with_texts(device_class, lambda text, _: words.get(text, text))
    )


def texts_of_class(device_class: DeviceClass) -> Iterator[tuple[str, str]]:
    """Yield every text of the class that a listing can show, and where it stands ("function camera_wide, label")."""
    texts: list[tuple[str, str]] = []

    def note(text: str, where: str) -> str:
        """Remember a text, and return it as it is."""
        texts.append((text, where))
        return text

    with_texts(device_class, note)
    for function in device_class.functions:
        note(kin_words(function.kin), f"kin of functions, as in: Not tested ({kin_words(function.kin)}): ...")
    yield from ((text, where) for text, where in texts if text)


def kin_words(kin: str) -> str:
    """Return the kin of a function as words."""
    return kin.replace("_", " ")


def with_texts(device_class: DeviceClass, say: Say) -> DeviceClass:
    """Return the class with each text replaced by ``say(text, where it stands)``."""
    changed = {
        "title": say(device_class.title or device_class.name, "kind of goods"),
        "attributes": tuple(_attribute(attribute, say) for attribute in device_class.attributes),
        "functions": tuple(_function(function, say) for function in device_class.functions),
        "surfaces": tuple(_relabelled(surface, "surface", say) for surface in device_class.surfaces),
        "parts": tuple(_relabelled(part, "part", say) for part in device_class.parts),
        "carriers": tuple(_relabelled(carrier, "carrier", say) for carrier in device_class.carriers),
        "locks": tuple(_lock(lock, say) for lock in device_class.locks),
        "combinations": tuple(
            combination.model_copy(update={"say": say(combination.say, "when " + " and ".join(combination.when))})
            for combination in device_class.combinations
        ),
        "grade_rule": _grade_rule(device_class.grade_rule, say),
    }
    # Not model_copy: it would take over the tables by name that the class has worked out from its old texts.
    kept = {name: getattr(device_class, name) for name in DeviceClass.model_fields if name not in changed}
    return DeviceClass(**kept, **changed)


def _relabelled(thing: Thing, noun: str, say: Say) -> Thing:
    return thing.model_copy(update={"label": say(thing.title, f"{noun} {thing.name}, label")})


def _attribute(attribute: Attribute, say: Say) -> Attribute:
    for option in attribute.options or ():
        # Options are values of the record: they are translated where they are shown, never here.
        say(option, f"attribute {attribute.name}, value")
    return _relabelled(attribute, "attribute", say)


def _function(function: Function, say: Say) -> Function:
    where = f"function {function.name}"
    consequence = {
        status: say(text, f"{where}, consequence when {status}")
        for status in Consequence.model_fields
        if (text := getattr(function.consequence, status)) is not None
    }
    return function.model_copy(
        update={
            "label": say(function.title, f"{where}, label"),
            "symptoms": tuple(say(symptom, f"{where}, symptom") for symptom in function.symptoms),
            "consequence": Consequence(**consequence),
        }
    )


def _lock(lock: Lock, say: Say) -> Lock:
    where = f"lock {lock.name}"
    return lock.model_copy(
        update={"label": say(lock.title, f"{where}, label"), "means": say(lock.means, f"{where}, what it means")}
    )


def _grade_rule(rule: GradeRule, say: Say) -> GradeRule:
    return rule.model_copy(
        update={
            "steps": tuple(
                step.model_copy(update={"words": say(step.words, f"grade {step.grade}, what it means")})
                for step in rule.steps
            ),
            "words_d": say(rule.words_d, "grade D, what it means"),
            "words_not_graded": say(rule.words_not_graded, "not graded"),
        }
    )
