"""Who should not buy a unit: said from facts, never a disclosure by itself."""

from __future__ import annotations

from typing import Any

import pytest

from listing_templates.buyers import buyers_of
from listing_templates.facts import facts_of
from listing_templates.function_disclosures import LONGEST_LIST
from listing_templates.wording import Wording
from pricing.records.device_class import DeviceClass, Function
from pricing.records.unit import Unit
from tests.builders import healthy, small_class, spotless


def said(unit: Unit, device_class: DeviceClass | None = None) -> dict[str, str]:
    sentences = list(buyers_of(facts_of(unit, device_class or small_class()), Wording()))
    assert not any(sentence.disclosure for sentence in sentences)
    assert all(sentence.facts for sentence in sentences)
    return {sentence.id: sentence.text for sentence in sentences}


def test_nobody_is_warned_off_a_unit_with_nothing_wrong() -> None:
    assert said(spotless()) == {}


def locked(**state: str) -> dict[str, Any]:
    return {"locks": {"owner_account": "free", "network_lock": "free", **state}}


@pytest.mark.parametrize(
    ("fields", "name", "text"),
    [
        (locked(owner_account="locked"), "buyer.parts_only",
         "Do not buy it if you want to use it: it is sold for parts."),
        (locked(network_lock="locked"), "buyer.locked",
         "Do not buy it if you cannot live with this lock: network lock."),
        ({"functions": healthy(wifi="dead", camera_main="dead")}, "buyer.faulty",
         "Do not buy it if you need one of these without a fault: main camera and Wi-Fi."),
        ({"functions": healthy(camera_main="untested", wifi="untested")}, "buyer.untested",
         "Do not buy it if you must be sure of one of these, which we did not test: main camera."),
        ({"opened": "by us"}, "buyer.opened", "Do not buy it if you want a unit that nobody has opened."),
        ({"marks": [{"surface": "screen", "kind": "crack", "size_mm": 90}]}, "buyer.look",
         "Do not buy it if marks on the outside bother you (grade D)."),
    ],
)  # fmt: skip
def test_each_reason_warns_its_own_buyer(fields: dict[str, Any], name: str, text: str) -> None:
    assert said(spotless(**fields))[name] == text


def test_a_unit_for_parts_is_not_weighed_function_by_function() -> None:
    unit = spotless(**locked(owner_account="locked"), functions=healthy(wifi="dead"))
    assert list(said(unit)) == ["buyer.parts_only"]


def test_what_a_dead_function_kept_from_being_tested_is_no_reason_of_its_own() -> None:
    unit = spotless(functions=healthy(power_on="dead", camera_main="untested"))
    assert "main camera" not in "".join(said(unit).values())


def test_of_many_faults_the_weightiest_are_named() -> None:
    functions = tuple(Function(name=f"thing{number}", weight=1 + number % 3) for number in range(LONGEST_LIST * 3))
    many = DeviceClass(name="rack", functions=functions)
    unit = Unit.model_validate({"class": "rack", "functions": {function.name: "dead" for function in functions}})
    facts = next(s for s in buyers_of(facts_of(unit, many), Wording()) if s.id == "buyer.faulty").facts
    assert len(facts) == LONGEST_LIST
    assert all(functions[int(key.removeprefix("function:thing"))].weight == 3 for key in facts)
