"""What the device classes that come along must hold."""

from collections.abc import Iterator

import pytest

from data.catalogue.reader import class_names, find_class
from pricing.records.device_class import Combination, DeviceClass, Function

FEWEST_FUNCTIONS = {"phone": 50, "laptop": 39, "camera": 36, "console": 26, "tablet": 50, "lens": 10}
CLASSES = sorted(FEWEST_FUNCTIONS)
KINS = {"power", "screen", "camera", "sound", "radio", "sensor", "keys", "cell", "body", "storage"}
KINS_OF_CAMERAS = {"shutter", "lens"}


def each_function() -> Iterator[tuple[str, Function]]:
    for name in CLASSES:
        for function in find_class(name).functions:
            yield name, function


@pytest.fixture(params=CLASSES)
def device_class(request: pytest.FixtureRequest) -> DeviceClass:
    return find_class(request.param)


def test_the_classes_that_come_along_are_these():
    assert set(class_names()) == set(CLASSES)


def test_a_class_is_named_like_its_file_and_has_a_title():
    for name in CLASSES:
        assert find_class(name).name == name
        assert find_class(name).title[0].isupper()


def test_a_class_has_enough_functions_and_everything_else_that_the_bench_needs(device_class):
    assert len(device_class.functions) >= FEWEST_FUNCTIONS[device_class.name]
    assert len(device_class.surfaces) >= 3
    assert len(device_class.parts) >= 4
    assert len(device_class.combinations) >= 5
    assert len(device_class.before_closing) >= 6
    assert {"brand", "model"} <= set(device_class.attributes_by_name)
    assert device_class.attributes_by_name["model"].within == "brand"


def test_every_class_but_the_lens_knows_the_owners_account_lock():
    for name in set(CLASSES) - {"lens"}:
        lock = find_class(name).locks_by_name["owner_account"]
        assert lock.parts_only
        assert lock.how_to_check
        assert lock.means


def test_a_function_says_how_it_is_tested_how_long_where_and_what_its_faults_mean():
    for name, function in each_function():
        where = f"{name}, {function.name}"
        assert function.label, where
        assert function.how_to_test[-1] in ".?", where
        assert "\n" not in function.how_to_test, where
        assert 1 <= function.minutes <= 45, where
        assert function.kin in KINS | KINS_OF_CAMERAS, where
        assert function.station, where
        assert function.symptoms, where
        assert function.consequence.dead or function.consequence.impaired, where


def test_consequences_are_sentences_that_stand_after_a_colon():
    for name, function in each_function():
        for said in function.consequence.model_dump().values():
            if said is not None:
                where = f"{name}, {function.name}: {said}"
                assert said[0].isupper(), where
                assert said.endswith("."), where
                assert "!" not in said, where


def test_labels_of_a_class_tell_its_functions_apart(device_class):
    labels = [function.title.lower() for function in device_class.functions]
    for label in labels:
        assert [other for other in labels if label in other] == [label]


def test_every_gate_says_what_untested_means():
    silent = {
        (name, function.name)
        for name, function in each_function()
        if function.gate and function.consequence.untested is None
    }
    assert silent == set()


def test_every_camera_says_what_its_removal_means():
    fewest = {"phone": 5, "tablet": 5, "laptop": 1}
    for name, count in fewest.items():
        cameras = [f for f in find_class(name).functions if f.title.endswith(("camera", "webcam"))]
        assert len(cameras) >= count
        assert all(camera.consequence.removed for camera in cameras)


def test_what_hangs_on_a_gate_names_the_gates_of_that_gate_too(device_class):
    functions = device_class.functions_by_name
    for function in device_class.functions:
        for needed in function.requires:
            missing = set(functions[needed].requires) - set(function.requires)
            assert not missing, f"{function.name} needs {needed}, hence {missing}"


def test_a_part_that_restores_a_function_makes_it_be_tested_again(device_class):
    for part in device_class.parts:
        assert set(part.function) <= set(part.touches), part.name


def test_sentences_of_combinations_are_said_once(device_class):
    said = [combination.say for combination in device_class.combinations]
    assert len(said) == len(set(said))


def test_the_sentences_of_a_lost_wide_camera_are_said_only_when_seen():
    wanted = "function:camera_wide=removed"
    rows = [row for row in find_class("phone").combinations if wanted in row.when and len(row.when) > 1]
    assert len(rows) >= 3
    assert all(row.observed for row in rows)


def test_a_tablet_has_the_phones_rows_and_its_own():
    phone, tablet = find_class("phone"), find_class("tablet")
    assert set(phone.functions_by_name) < set(tablet.functions_by_name)
    calls = tablet.functions_by_name["mobile_calls"]
    assert calls.fitted_if == {"mobile": ("yes",)}
    assert calls.how_to_test == phone.functions_by_name["mobile_calls"].how_to_test
    assert tablet.functions_by_name["loudspeaker"].label == "speakers"
    assert set(phone.attributes_by_name) != set(tablet.attributes_by_name)
    assert set(phone.locks_by_name) == set(tablet.locks_by_name)


def test_a_camera_has_the_lens_only_where_there_is_one():
    optics = find_class("camera").functions_by_name["lens_optics"]
    assert optics.fitted_if == {"lens": ("fixed", "with lens")}
    assert optics.consequence == find_class("lens").functions_by_name["lens_optics"].consequence


def test_every_salvaged_part_has_a_sentence(device_class):
    conditions = {condition for row in device_class.combinations for condition in row.when}
    assert {f"part:{part.name}=salvaged" for part in device_class.parts} <= conditions


def test_no_combination_rests_on_nothing():
    with pytest.raises(ValueError, match="at least 1"):
        Combination(when=(), say="x")
