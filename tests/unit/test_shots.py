"""The shot list asks for what can be seen, once each, and knows when a photo no longer shows what is the case."""

from __future__ import annotations

from datetime import date

import pytest

from data.catalogue.reader import find_class
from listing_templates.facts import facts_of
from listing_templates.shots import always, photo_missing, shot_rules, shots_of
from pricing.records.photo import PhotoAdded, PhotoRemoved, attached_photos, proves
from pricing.records.unit import Unit
from tests.builders import small_class, small_unit, spotless
from tests.example_units import example_units

CRACK = {"surface": "screen", "kind": "crack", "size_mm": 40}
DENT = {"surface": "back_panel", "kind": "dent", "size_mm": 2}
ON = date(2026, 6, 10)


def shots(unit, device_class=None):
    return {shot.id: shot for shot in shots_of(unit, device_class or small_class())}


def of(name, **fields):
    found = find_class(name)
    return shots(Unit.model_validate({"class": name, **fields}), found)


def photo(shot, digest="a" * 64):
    told = {"shot": shot.id, "facts": shot.facts, "state_digest": shot.state_digest}
    return PhotoAdded(digest=digest, **told, width=9, height=9, on=ON)


def test_a_mark_is_shown_near_with_a_scale_and_on_its_whole_side():
    found = shots(spotless(marks=[CRACK]))
    near, side = found["mark:screen:crack"], found["surface:screen"]
    assert (near.scale, near.facts, near.needed) == (True, ("mark:screen:crack",), True)
    assert "10 cm" in near.view
    assert "ruler" in near.view
    assert (side.scale, side.facts) == (False, ("surface:screen", "mark:screen:crack"))
    assert side.shows == "Screen glass: the whole side with its marks"
    assert found["surface:back_panel"].facts == ("surface:back_panel",)


def test_the_whole_unit_comes_first_and_what_comes_with_it_is_one_photo():
    found = list(shots(spotless(accessories=["cable", "box"])).values())
    assert (found[0].id, found[0].facts) == ("whole", ("class",))
    assert [shot.facts for shot in found if shot.id == "accessories"] == [("accessory:cable", "accessory:box")]


def test_the_plate_is_never_asked_for_with_its_number():
    number = "490154203237518"
    found = shots(spotless(identity=number))
    assert not found["identity"].needed
    assert "Cover the number" in found["identity"].view
    assert "serial numbers" in always()
    assert number not in "".join(shot.model_dump_json() for shot in found.values())


SEEN = [
    ("phone", "display_picture", {"status": "impaired", "symptom": "line"}, "plain colour"),
    ("phone", "display_picture", {"status": "impaired", "symptom": "dead pixels"}, "plain colour"),
    ("phone", "display_picture", "dead", "Switched on"),
    ("phone", "camera_front", {"status": "impaired", "symptom": "haze"}, "this unit took"),
    ("phone", "frame_straight", {"status": "impaired", "symptom": "bent"}, "flat ground"),
    ("phone", "frame_straight", "dead", "flat ground"),
    ("lens", "lens_optics", {"status": "impaired", "symptom": "mould"}, "against a lamp"),
    ("camera", "sensor_image", {"status": "impaired", "symptom": "hot pixels"}, "this unit took"),
    ("console", "kickstand", "removed", "empty"),
    ("laptop", "touchpad", {"status": "impaired", "symptom": "raised"}, "flat ground"),
]
NOT_SEEN = [
    ("phone", "display_touch", "dead"),
    ("phone", "display_picture", {"status": "impaired", "symptom": "flickers at low brightness"}),
    ("phone", "display_picture", "works"),
    ("phone", "display_picture", "untested"),
    ("phone", "external_picture", "dead"),
    ("phone", "wifi", "dead"),
    ("phone", "loudspeaker", {"status": "impaired", "symptom": "rattles"}),
    ("phone", "battery_runtime", {"status": "impaired", "symptom": "drains fast"}),
    ("phone", "neutral_smell", {"status": "impaired", "symptom": "smells of smoke"}),
    ("phone", "identity_match", "dead"),
    ("phone", "camera_wide", {"status": "removed", "left_in_place": True}),
    ("phone", "ambient_light", {"status": "impaired", "symptom": "stuck dark"}),
    ("phone", "proximity", {"status": "impaired", "symptom": "stays dark too long"}),
    ("lens", "lens_zoom", {"status": "impaired", "symptom": "stiff"}),
]


@pytest.mark.parametrize(("name", "function", "test", "view"), SEEN)
def test_a_fault_that_can_be_seen_has_a_shot(name, function, test, view):
    shot = of(name, functions={function: test})[f"function:{function}"]
    assert view in shot.view
    assert shot.facts == (f"function:{function}",)


@pytest.mark.parametrize(("name", "function", "test"), NOT_SEEN)
def test_a_fault_that_cannot_be_seen_has_none(name, function, test):
    assert f"function:{function}" not in of(name, functions={function: test})


def test_what_a_dead_gate_keeps_from_view_has_no_shot():
    found = of("phone", functions={"power_on": "dead", "display_picture": "untested"})
    assert not [name for name in found if name.startswith("function:")]


def test_indicator_traces_and_what_is_inside():
    found = shots(spotless(liquid_indicator="red", traces=["mould", "smoke"], corrosion="seen", earlier_work=["flux"]))
    assert {"liquid", "trace:mould"} <= {name for name, shot in found.items() if shot.needed}
    assert "trace:smoke" not in found
    # Nobody opens a unit again for a photo.
    assert not found["corrosion"].needed
    assert not found["work:flux"].needed


def test_a_covered_side_asks_to_take_off_what_covers_it():
    found = shots(small_unit(covered=["screen"], looked_at=["back_panel"]))
    assert "Take film or case off" in found["surface:screen"].view


@pytest.mark.parametrize(("device_class", "unit"), example_units(), ids=lambda each: getattr(each, "name", ""))
def test_every_mark_and_side_of_every_packaged_class_has_its_shot_once(device_class, unit):
    found = shots_of(unit, device_class)
    assert len({shot.id for shot in found}) == len(found)
    keys = {fact.key for fact in facts_of(unit, device_class)}
    seen = {key for shot in found for key in shot.facts}
    assert seen <= keys
    assert {key for key in keys if key.startswith(("mark:", "surface:"))} <= seen
    for shot in found:
        assert "{" not in shot.shows + shot.view
        assert not shot.shows.endswith((" ", ":", "."))


def test_every_rule_has_words_and_a_noun_of_the_facts():
    for rule in shot_rules():
        assert rule.view.endswith(".")
        assert not rule.shows.endswith(".")
        assert rule.together <= (rule.id is not None)


def test_a_photo_proves_nothing_any_more_when_what_it_shows_has_changed():
    before = shots(spotless(marks=[DENT]))
    taken = [photo(shot) for shot in before.values()]
    assert all(any(proves(each, shot) for each in taken) for shot in before.values())
    after = shots(spotless(marks=[{**DENT, "size_mm": 5}, CRACK]))
    open_now = {name for name, shot in after.items() if not any(proves(each, shot) for each in taken)}
    assert open_now == {"mark:back_panel:dent", "surface:back_panel", "mark:screen:crack", "surface:screen"}


def test_a_test_made_again_with_the_same_result_needs_no_new_photo():
    found = [
        of("phone", functions={"frame_straight": {"status": "impaired", "symptom": "bent", "tested_on": day}})
        for day in ("2026-01-02", "2026-02-03")
    ]
    assert found[0] == found[1]


def test_photos_are_attached_until_they_are_removed_and_can_come_back():
    whole, screen = (shots(spotless())[name] for name in ("whole", "surface:screen"))
    one, two = "1" * 64, "2" * 64
    steps = [photo(whole, one), photo(screen, one), photo(screen, two), photo(screen, two)]
    assert [(p.digest, p.shot) for p in attached_photos(steps)] == [
        (one, "whole"), (one, "surface:screen"), (two, "surface:screen"),
    ]  # fmt: skip
    removed = [*steps, PhotoRemoved(digest=one, on=ON)]
    assert [p.digest for p in attached_photos(removed)] == [two]
    assert [p.shot for p in attached_photos([*removed, photo(whole, one)])] == ["surface:screen", "whole"]
    assert attached_photos([]) == ()


def test_a_missing_photo_is_a_soft_finding_that_says_how_to_take_it():
    shot = shots(spotless(marks=[CRACK]))["mark:screen:crack"]
    finding = photo_missing(shot)
    assert (finding.kind, finding.fact, finding.hard) == ("photo missing", "mark:screen:crack", False)
    assert "mark:screen:crack" in finding.suggestion
    assert finding.suggestion.endswith("With a ruler.")
