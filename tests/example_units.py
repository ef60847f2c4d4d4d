"""One believable unit of each packaged class, for listings that people read aloud."""

from __future__ import annotations

from typing import Any

from data.catalogue.reader import find_class
from pricing.records.device_class import DeviceClass, Function
from pricing.records.unit import Unit, is_fitted

TESTED = "2026-03-03"
WORKS = {"status": "works", "tested_on": TESTED, "restarted": True}
FREE = {"state": "free", "checked_on": TESTED, "way": "seen in the settings"}


def example_units() -> tuple[tuple[DeviceClass, Unit], ...]:
    """Return a phone, a tablet, a laptop, a console, a camera and a lens with what benches usually find."""
    return tuple((find_class(name), _unit(find_class(name), fields)) for name, fields in _FIELDS.items())


def _unit(device_class: DeviceClass, fields: dict[str, Any]) -> Unit:
    """Return a unit with all in order but for ``fields``; of optional functions it has those named "fitted"."""
    stated = dict(fields)
    changes, fitted = stated.pop("functions", {}), stated.pop("fitted", ())
    locks = {lock.name: FREE for lock in device_class.locks} | stated.pop("locks", {})
    bare = Unit.model_validate({"class": device_class.name, **stated})

    def found(function: Function) -> Any:
        there = function.name in fitted if function.optional else is_fitted(function, bare)
        return changes.get(function.name, WORKS if there else "not fitted")

    return Unit.model_validate({
        "class": device_class.name,
        "functions": {function.name: found(function) for function in device_class.functions},
        "looked_at": [surface.name for surface in device_class.surfaces],
        "locks": locks,
        **stated,
    })  # fmt: skip


_FIELDS: dict[str, dict[str, Any]] = {
    "phone": {
        "number": "P-118",
        "attributes": {"brand": "Veltra", "model": "Nimbus 5", "storage_gb": "128", "memory_gb": "8", "year": "2022"},
        "fitted": ("charging_wireless", "esim", "nfc", "stabiliser", "camera_tele"),
        "functions": {
            "camera_wide": {"status": "removed", "tested_on": TESTED},
            "fingerprint": {"status": "dead", "tested_on": TESTED},
            "stability_soak": "untested",
            "seal_state": "untested",
        },
        "marks": [
            {"surface": "screen", "kind": "scratch", "size_mm": 4, "count": 2, "visible_at_arms_length": False},
            {"surface": "frame_bottom", "kind": "dent", "size_mm": 2.5, "visible_at_arms_length": True},
        ],
        "covered": ["back_panel"],
        "parts": [{"part": "screen", "origin": "third-party", "fitted_on": "2026-02-27"}],
        "opened": "by us",
        "opened_on": "2026-02-27",
        "opened_parts": ["screen"],
        "liquid_indicator": "white",
        "battery_share": "84",
        "data_erased": "built-in erase",
        "data_verified": True,
        "accessories": ["cable"],
        "identity": "490154203237518",
        "observed": ["From outside the wide lens looks present; no camera is connected behind it."],
        "ask": {"amount": "89", "currency": "EUR"},
    },
    "tablet": {
        "number": "T-31",
        "attributes": {"brand": "Quillon", "model": "Sheet 10", "storage_gb": "64", "screen_inch": "10.4"},
        "functions": {"loudspeaker": {"status": "impaired", "symptom": "rattles", "tested_on": TESTED}},
        "marks": [{"surface": "screen", "kind": "crack", "size_mm": 60, "visible_at_arms_length": True}],
        "opened": "no sign",
        "liquid_indicator": "cannot be seen",
        "data_erased": "factory reset",
        "ask": {"amount": "45", "currency": "EUR"},
    },
    "laptop": {
        "number": "L-7",
        "attributes": {
            "brand": "Ferrin", "model": "Slate 14", "memory_gb": "16", "storage_gb": "512", "screen_inch": "14",
            "memory_soldered": "partly", "supply_included": "own",
        },
        "fitted": ("key_light", "usb_c_charging", "usb_c_picture"),
        "functions": {
            "hinges": {"status": "impaired", "symptom": "loose", "tested_on": TESTED},
            "battery_runtime": {"status": "impaired", "symptom": "50 minutes", "tested_on": TESTED},
            "memory_test": "untested",
        },
        "marks": [{"surface": "lid", "kind": "scuff", "size_mm": 25, "visible_at_arms_length": True}],
        "parts": [{"part": "keyboard", "origin": "salvaged", "fitted_on": "2026-02-20"}],
        "opened": "by us",
        "opened_on": "2026-02-20",
        "opened_parts": ["keyboard"],
        "battery_share": "61",
        "battery_measured": True,
        "data_erased": "overwritten once",
        "data_verified": True,
        "accessories": ["power supply"],
        "ask": {"amount": "240", "currency": "EUR"},
    },
    "console": {
        "number": "C-12",
        "attributes": {
            "brand": "Orbin", "model": "Two", "kind": "home", "storage_gb": "1000", "disc": "yes", "controllers": "1",
        },
        "fitted": ("ethernet", "disc_drive", "internal_supply"),
        "functions": {"disc_drive": {"status": "dead", "tested_on": TESTED}, "graphics_load": "untested"},
        "opened": "by others",
        "locks": {"service_ban": "not checked"},
        "data_erased": "factory reset",
        "data_verified": True,
        "accessories": ["controller", "cable"],
        "ask": {"amount": "110", "currency": "EUR"},
    },
    "camera": {
        "number": "K-3",
        "attributes": {"brand": "Halden", "model": "M2", "lens": "body only", "shutter_releases": "41250"},
        "fitted": ("flash_builtin", "viewfinder", "video", "body_mount", "body_contacts"),
        "functions": {
            "sensor_image": {"status": "impaired", "symptom": "dust", "tested_on": TESTED},
            "flash_builtin": {"status": "dead", "tested_on": TESTED},
        },
        "marks": [{"surface": "base", "kind": "worn coating", "count": 2, "size_mm": 6}],
        "opened": "not known",
        "data_erased": "storage removed",
        "accessories": ["battery", "charger", "body cap", "strap"],
        "ask": {"amount": "310", "currency": "EUR"},
    },
    "lens": {
        "number": "O-9",
        "attributes": {"brand": "Halden", "model": "50 mm", "shortest_mm": "50", "longest_mm": "50", "f_number": "1.8"},
        "functions": {"lens_optics": {"status": "impaired", "symptom": "dust", "tested_on": TESTED}},
        "opened": "no sign",
        "accessories": ["lens cap"],
        "ask": {"amount": "60", "currency": "EUR"},
    },
}  # fmt: skip
