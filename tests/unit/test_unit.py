"""What counts today of the tests that were made on a unit."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from data.catalogue.reader import find_class
from pricing.records.device_class import DeviceClass, Function, Part
from pricing.records.unit import (
    FittedPart,
    FunctionTest,
    LockCheck,
    Unit,
    is_fitted,
    status_now,
    voided_by_opening,
)

TORCH = DeviceClass(
    name="torch",
    functions=(
        Function(name="light"),
        Function(name="switch"),
        Function(name="radio", fitted_if={"edition": ("radio", "deluxe")}),
        Function(name="strap", optional=True),
        Function(name="beam", restart=True),
    ),
    parts=(
        Part(name="lamp", function=("light",), touches=("light", "beam")),
        Part(name="case", touches=("switch",)),
    ),
)
MONDAY = date(2026, 3, 2)
TUESDAY = MONDAY + timedelta(days=1)
PHONE = find_class("phone")
DAYS = st.dates(date(2026, 1, 1), date(2026, 12, 31))
FAULTS = ("impaired", "dead", "removed")


def torch(**fields: object) -> Unit:
    return Unit.model_validate({"class": "torch", **fields})


def now(name: str, unit: Unit, device_class: DeviceClass = TORCH) -> str:
    return status_now(device_class.functions_by_name[name], unit, device_class)


def outcome(status: str = "works", day: date | None = MONDAY) -> dict[str, object]:
    return {"status": status, "tested_on": day, "symptom": "flickers" if status == "impaired" else None}


def test_a_function_that_is_not_mentioned_is_untested():
    assert now("light", torch()) == "untested"


def test_a_status_alone_is_a_test_without_a_day():
    assert now("light", torch(functions={"light": "works"})) == "works"


def test_an_impaired_function_needs_a_symptom():
    with pytest.raises(ValidationError, match="needs a symptom"):
        FunctionTest(status="impaired", symptom=" ")


def test_an_opening_after_the_test_voids_what_any_part_touches():
    unit = torch(functions={"light": outcome(), "strap": outcome()}, opened="by us", opened_on=TUESDAY)
    assert now("light", unit) == "untested"
    assert now("strap", unit) == "works"


def test_an_opening_on_the_day_of_the_test_voids_it():
    assert now("light", torch(functions={"light": outcome()}, opened="by us", opened_on=MONDAY)) == "untested"


def test_a_test_after_the_opening_stands():
    unit = torch(functions={"light": outcome(day=TUESDAY)}, opened="by us", opened_on=MONDAY)
    assert now("light", unit) == "works"


def test_when_the_parts_that_were_off_are_known_only_what_they_touch_is_void():
    unit = torch(
        functions={"light": outcome(), "switch": outcome()},
        opened="by us",
        opened_on=TUESDAY,
        opened_parts=["case"],
    )
    assert (now("light", unit), now("switch", unit)) == ("works", "untested")


def test_without_a_day_of_test_or_opening_the_test_counts_as_older():
    without_test_day = torch(functions={"light": "works"}, opened="by us", opened_on=MONDAY)
    without_opening_day = torch(functions={"light": outcome()}, opened="by us")
    assert now("light", without_test_day) == now("light", without_opening_day) == "untested"


def test_an_opening_by_others_without_a_day_was_before_our_tests():
    assert now("light", torch(functions={"light": outcome()}, opened="by others")) == "works"


@pytest.mark.parametrize("origin", ["third-party", "salvaged", "original"])
def test_a_part_fitted_after_the_test_voids_what_it_touches_whatever_its_origin(origin):
    fitted = {"part": "lamp", "origin": origin, "fitted_on": TUESDAY}
    unit = torch(functions={"light": outcome(), "switch": outcome()}, parts=[fitted])
    assert (now("light", unit), now("switch", unit)) == ("untested", "works")


def test_a_part_of_other_origin_without_a_day_voids_what_it_touches():
    unit = torch(functions={"light": outcome()}, parts=[FittedPart(part="lamp", origin="third-party")])
    assert now("light", unit) == "untested"


def test_an_original_part_without_a_day_voids_nothing():
    unit = torch(functions={"light": outcome()}, parts=[FittedPart(part="lamp", origin="original")])
    assert now("light", unit) == "works"


@pytest.mark.parametrize("status", FAULTS)
def test_an_opening_never_makes_a_fault_disappear(status):
    unit = torch(functions={"light": outcome(status)}, opened="by us", opened_on=TUESDAY)
    assert now("light", unit) == status


def test_a_test_without_the_restart_that_it_needs_does_not_count():
    assert now("beam", torch(functions={"beam": {"status": "works", "restarted": False}})) == "untested"
    assert now("beam", torch(functions={"beam": {"status": "works", "restarted": True}})) == "works"
    assert now("light", torch(functions={"light": {"status": "works", "restarted": False}})) == "works"


def test_not_fitted_is_neither_untested_nor_a_defect():
    assert now("radio", torch(attributes={"edition": "plain"})) == "not fitted"
    assert now("strap", torch(functions={"strap": "not fitted"}, opened="by us")) == "not fitted"
    assert not voided_by_opening("strap", torch(functions={"strap": "not fitted"}, opened="by us"), TORCH)


def test_an_attribute_that_is_not_stated_hides_no_function():
    radio = TORCH.functions_by_name["radio"]
    assert is_fitted(radio, torch())
    assert is_fitted(radio, torch(attributes={"edition": None}))
    assert is_fitted(radio, torch(attributes={"edition": "deluxe"}))


def test_what_was_recorded_counts_more_than_what_the_edition_says():
    unit = torch(attributes={"edition": "plain"}, functions={"radio": "dead"})
    assert now("radio", unit) == "dead"


def test_a_number_as_attribute_is_compared_as_it_is_written():
    function = Function(name="port", fitted_if={"sockets": ("2",)})
    assert is_fitted(function, torch(attributes={"sockets": Decimal(2)}))
    assert not is_fitted(function, torch(attributes={"sockets": Decimal(1)}))


@given(st.data(), DAYS, DAYS, st.sampled_from(["works", *FAULTS, "untested", "not fitted"]))
def test_an_opening_can_only_turn_works_into_untested(data, tested_on, opened_on, status):
    function = data.draw(st.sampled_from(PHONE.functions))
    off = data.draw(st.lists(st.sampled_from([part.name for part in PHONE.parts]), max_size=3))
    unit = Unit.model_validate(
        {
            "class": "phone",
            "functions": {function.name: outcome(status, tested_on)},
            "opened": "by us",
            "opened_on": opened_on,
            "opened_parts": off,
        }
    )
    touching = [PHONE.parts_by_name[name] for name in off] or PHONE.parts
    void = status == "works" and tested_on <= opened_on and any(function.name in p.touches for p in touching)
    assert status_now(function, unit, PHONE) == ("untested" if void else status)


def test_a_lock_that_is_not_checked_is_not_free():
    assert LockCheck.model_validate("not checked").state == "not checked"
    with pytest.raises(ValidationError):
        LockCheck.model_validate("probably free")


def test_a_misspelt_field_of_a_unit_is_refused():
    with pytest.raises(ValidationError, match="extra"):
        torch(colour="red")
