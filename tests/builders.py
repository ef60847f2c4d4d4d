"""Small records for tests: a device class with one of everything, and units of it."""

from __future__ import annotations

from typing import Any

from pricing.records.device_class import (
    Attribute,
    Combination,
    Consequence,
    DeviceClass,
    Function,
    Lock,
    Part,
    Surface,
)
from pricing.records.unit import Unit

SOUND_SAY = "Calls are heard, videos are silent."
LENS_SAY = "The wide zoom step crops the picture of the main lens."


def small_class() -> DeviceClass:
    """Return an invented class with gates, hidden functions, glass, parts, locks and combinations."""
    return DeviceClass(
        name="talker",
        title="Talker",
        attributes=(
            Attribute(name="brand", kind="group"),
            Attribute(name="model", kind="group", within="brand"),
            Attribute(name="storage_gb", kind="number", label="storage", unit="GB"),
        ),
        functions=(
            Function(name="power_on", label="switching on", weight=3, kin="power", gate=True,
                     consequence=Consequence(dead="Nothing else could be tried.",
                                             untested="Whether it starts at all is not known.")),
            Function(name="camera_main", label="main camera", weight=3, kin="camera", requires=("power_on",)),
            Function(name="camera_wide", label="ultra-wide camera", kin="camera", hidden=True, restart=True,
                     requires=("power_on",),
                     consequence=Consequence(removed="No true wide pictures.", dead="No wide pictures.")),
            Function(name="wifi", label="Wi-Fi", kin="radio", requires=("power_on",)),
            Function(name="nfc", label="contactless payment", kin="radio", hidden=True, optional=True),
            Function(name="microphone_call", label="call microphone", kin="sound", hidden=True),
            Function(name="microphone_video", label="video microphone", kin="sound", hidden=True),
            Function(name="loudspeaker", kin="sound", symptoms=("rattles", "quiet")),
            Function(name="battery_runtime", label="battery run time", kin="cell", safety=True),
        ),
        surfaces=(
            Surface(name="screen", label="screen glass", glass=True, covered_by=("film",)),
            Surface(name="back_panel", label="back panel", covered_by=("case",)),
        ),
        parts=(
            Part(name="screen", function=("camera_main",), touches=("camera_main", "loudspeaker")),
            Part(name="back_panel", label="back panel", touches=("nfc", "camera_wide")),
            Part(name="cell", label="battery", touches=("battery_runtime",)),
        ),
        locks=(
            Lock(name="owner_account", label="owner's account lock", means="Only the owner can free it.",
                 parts_only=True),
            Lock(name="network_lock", label="network lock", means="Only one network's SIM works."),
        ),
        combinations=(
            Combination(when=("function:microphone_call=works", "function:microphone_video=dead|removed"),
                        say=SOUND_SAY),
            Combination(when=("function:camera_wide=removed",), say=LENS_SAY, observed=True),
            Combination(when=("mark:screen=crack",), say="The cracked glass can cut and lets water in."),
        ),
    )  # fmt: skip


def small_unit(**fields: Any) -> Unit:
    """Return a unit of ``small_class`` with these fields in the shape of a unit's JSON."""
    return Unit.model_validate({"class": "talker", **fields})


def healthy(tested_on: str | None = "2026-03-03", **changes: Any) -> dict[str, Any]:
    """Return every function of ``small_class`` as tested and working, but for ``changes``."""
    works = {"status": "works", "tested_on": tested_on, "restarted": True}
    return {function.name: changes.get(function.name, works) for function in small_class().functions}


def spotless(**fields: Any) -> Unit:
    """Return a unit with nothing left to disclose, but for ``fields``."""
    whole: dict[str, Any] = {
        "attributes": {"brand": "Arvel", "model": "N2", "storage_gb": "256"},
        "functions": healthy(),
        "looked_at": ["screen", "back_panel"],
        "opened": "no sign",
        "liquid_indicator": "white",
        "locks": {"owner_account": "free", "network_lock": "free"},
        "data_erased": "built-in erase",
        "data_verified": True,
    }
    return small_unit(**{**whole, **fields})
