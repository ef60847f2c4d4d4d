"""A device class built in code holds together, as one read from a file does."""

import pytest
from pydantic import ValidationError

from pricing.records.device_class import (
    CONTRACT_COLUMNS,
    Attribute,
    Combination,
    DeviceClass,
    Function,
    Lock,
    Part,
    Surface,
)
from pricing.records.priors import FaultPrior, StatusPrior

BRAND = Attribute(name="brand", kind="group")


def test_only_the_name_is_required():
    assert DeviceClass(name="kettle").attributes == ()


@pytest.mark.parametrize("kind", [Function, Surface, Part, Lock])
def test_without_a_label_the_name_is_shown_with_blanks(kind):
    assert kind(name="back_panel").title == "back panel"
    assert kind(name="back_panel", label="rear").title == "rear"
    with pytest.raises(ValidationError):
        kind(name="")


def test_an_attribute_without_a_label_shows_its_name_with_blanks():
    assert Attribute(name="storage_gb", kind="number").title == "storage gb"


@pytest.mark.parametrize("name", [*sorted(CONTRACT_COLUMNS), "fault:lid", "mark:lid", "part:lid", "lock:lid"])
def test_an_attribute_is_never_named_like_a_column_with_a_fixed_meaning(name):
    with pytest.raises(ValidationError, match="fixed meaning"):
        Attribute(name=name, kind="number")


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"attributes": (BRAND, BRAND)}, "attributes: brand described twice"),
        ({"functions": (Function(name="lid"),) * 2}, "functions: lid described twice"),
        ({"surfaces": (Surface(name="lid"),) * 2}, "surfaces: lid described twice"),
        ({"parts": (Part(name="lid"),) * 2}, "parts: lid described twice"),
        ({"locks": (Lock(name="ban"),) * 2}, "locks: ban described twice"),
        ({"functions": (Function(name="lid", requires=("on",)),)}, "lid requires on"),
        ({"parts": (Part(name="lid", touches=("on",)),)}, "part lid names the function on"),
        ({"parts": (Part(name="lid", function=("on",)),)}, "part lid names the function on"),
        ({"attributes": (Attribute(name="model", kind="group", within="brand"),)}, "within needs a group"),
        ({"attributes": (BRAND, Attribute(name="size", kind="number", within="brand"))}, "within needs a group"),
        ({"attributes": (Attribute(name="brand", kind="group", within="brand"),)}, "round in a circle"),
    ],
)
def test_names_that_do_not_hang_together_are_refused(fields, message):
    with pytest.raises(ValidationError, match=message):
        DeviceClass(name="kettle", **fields)


def test_groups_may_lie_within_groups():
    series = Attribute(name="series", kind="group", within="brand")
    model = Attribute(name="model", kind="group", within="series")
    assert DeviceClass(name="kettle", attributes=(model, series, BRAND)).attributes_by_name["model"] == model


def test_rows_are_found_by_name():
    kettle = DeviceClass(
        name="kettle",
        attributes=(BRAND,),
        functions=(Function(name="boil"),),
        surfaces=(Surface(name="lid"),),
        parts=(Part(name="base"),),
        locks=(Lock(name="ban"),),
    )
    assert set(kettle.attributes_by_name) == {"brand"}
    assert set(kettle.functions_by_name) == {"boil"}
    assert set(kettle.surfaces_by_name) == {"lid"}
    assert set(kettle.parts_by_name) == {"base"}
    assert set(kettle.locks_by_name) == {"ban"}


def test_a_class_is_frozen_and_knows_no_other_keys():
    kettle = DeviceClass(name="kettle")
    with pytest.raises(ValidationError, match="frozen"):
        kettle.name = "pot"
    with pytest.raises(ValidationError, match="extra"):
        Combination(when=("opened=by us",), say="x", seen=True)


def test_a_fault_is_never_believed_to_raise_the_price_nor_to_be_certain():
    with pytest.raises(ValidationError):
        StatusPrior(mean_log=0, sd_log=0.1)
    with pytest.raises(ValidationError):
        StatusPrior(mean_log=-0.1, sd_log=0)
    for statuses in FaultPrior().weights.values():
        assert statuses["dead"].mean_log < statuses["impaired"].mean_log < statuses["untested"].mean_log < 0


def test_a_heavier_fault_is_believed_to_cost_more():
    dead = [FaultPrior().weights[weight]["dead"].mean_log for weight in ("1", "2", "3")]
    assert dead == sorted(dead, reverse=True)
