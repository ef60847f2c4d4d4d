"""The invented goods of the demo: one phone that the story follows, and a shelf of others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

DEVICE_CLASS = "phone"

_ALL_WORK = (
    "power_on", "starts_to_home", "display_picture", "display_touch", "charging_wired", "battery_runtime",
    "sim_reader", "mobile_calls", "mobile_data", "wifi", "bluetooth", "gnss", "camera_main", "camera_focus",
    "camera_front", "flash_torch", "video_record", "ear_speaker", "loudspeaker", "microphone_call",
    "microphone_video", "vibration", "keys_volume", "key_power", "proximity", "ambient_light", "motion_compass",
    "fingerprint", "nfc", "frame_straight",
)  # fmt: skip
_NOT_FITTED = (
    "display_refresh", "charging_wireless", "wireless_power_out", "external_picture", "sim_second", "esim",
    "stabiliser", "camera_tele", "camera_close_up", "face_unlock_depth", "headphone_socket", "silent_switch",
    "trigger_keys", "stylus", "infrared", "memory_card", "white_balance_by_light", "fan_cooling", "case_lights",
    "hinge_fold", "cover_screen",
)  # fmt: skip
_LOOKED_AT = (
    "screen", "bezel", "frame_left", "frame_right", "frame_top", "frame_bottom", "back_panel", "camera_glass",
    "buttons", "port_rim",
)  # fmt: skip
_FREE = {"owner_account": "free", "network_block": "free", "network_lock": "free"}


def _tested(**others: Any) -> dict[str, Any]:  # noqa: ANN401 - JSON as a user writes it
    working = {"status": "works", "tested_on": "2026-06-29"}
    return dict.fromkeys(_ALL_WORK, working) | dict.fromkeys(_NOT_FITTED, "not fitted") | others


def _phone(brand: str, model: str, storage: str, memory: str, year: str) -> dict[str, str]:
    return {
        "brand": brand, "model": model, "storage_gb": storage, "memory_gb": memory, "year": year, "region": "Europe",
    }  # fmt: skip


STORY_UNIT: Mapping[str, Any] = {
    "number": "P-104",
    "class": DEVICE_CLASS,
    "attributes": _phone("Harnvik", "Ha-P2", "128", "4", "2020"),
    "functions": _tested(camera_wide={"status": "removed", "left_in_place": True}),
    "marks": [{"surface": "back_panel", "kind": "crack", "size_mm": 62}],
    "looked_at": list(_LOOKED_AT),
    "parts": [{"part": "screen", "origin": "third-party", "fitted_on": "2026-06-20"}],
    "opened": "by us",
    "opened_on": "2026-06-20",
    "opened_parts": ["screen", "camera_wide"],
    "liquid_indicator": "white",
    "locks": _FREE,
    "battery_share": "84",
    "data_erased": "with the built-in erase",
    "data_verified": True,
    "accessories": ["charging cable"],
}

STORY_WORDS = (
    "A phone of the invented brand Harnvik. Its ultra-wide camera was taken out of use and left in place behind "
    "whole glass, where no buyer can see it. The back panel is cracked. The screen is not an original one; we "
    "opened the phone to fit it, and tested again afterwards, but not everything."
)

# What the story tries on the unit, in the order in which it is told.
STORY_CHANGES: Mapping[str, tuple[str, ...]] = {
    "the ultra-wide camera works again": ("function:camera_wide=works",),
    "the back panel is whole": ("mark:back_panel=none",),
    "the screen is an original one": ("part:screen=original",),
    "all three of them": ("function:camera_wide=works", "mark:back_panel=none", "part:screen=original"),
    "the main camera is dead as well": ("function:camera_main=dead",),
}

SHELF: tuple[Mapping[str, Any], ...] = (
    STORY_UNIT,
    {
        "number": "P-105",
        "class": DEVICE_CLASS,
        "attributes": _phone("Ambrisk", "Am-P2", "64", "2", "2017"),
        "functions": _tested(loudspeaker={"status": "impaired", "symptom": "rattles when loud"}),
        "looked_at": list(_LOOKED_AT),
        "locks": _FREE,
    },
    {
        "number": "P-106",
        "class": DEVICE_CLASS,
        "attributes": _phone("Pellquist", "Pe-P2", "128", "4", "2019"),
        "functions": _tested(camera_wide={"status": "removed", "left_in_place": False}),
        "looked_at": list(_LOOKED_AT),
        "locks": _FREE,
    },
    {
        "number": "P-107",
        "class": DEVICE_CLASS,
        "attributes": _phone("Boltern", "Bo-P4", "64", "4", "2019"),
        "functions": {"power_on": "dead"},
        "marks": [{"surface": "screen", "kind": "crack", "visible_at_arms_length": True}],
    },
    {
        "number": "P-108",
        "class": DEVICE_CLASS,
        "attributes": _phone("Eskaldi", "Es-P1", "65536", "4", "2018"),
        "functions": _tested(),
    },
)

UNITS_CSV = """\
number,brand,model,storage_gb,memory_gb,year,region,battery_share,opened,fault:camera_wide,fault:display_picture,mark:back_panel,lock:owner_account
A1,Ambrisk,Am-P2,128,2,2017,Europe,88,no sign,works,works,none,free
A2,Ambrisk,Am-P2,128,2,2017,Europe,88,by others,removed,works,crack,free
A3,Pellquist,Pe-P2,128,4,2019,Europe,,,untested,works,,free
A4,Nobodyknown,Nk-P1,128,4,2019,Europe,90,no sign,works,works,none,free
A5,Boltern,Bo-P4,64,4,2019,Europe,71,no sign,works,dead,scratch,not checked
"""
