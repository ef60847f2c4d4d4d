"""Coefficients of the invented phone market, on ln(price in EUR)."""

from __future__ import annotations

import math

from data.demo.truth import ClassTruth, Curve, States

# Functions that others need.
_GATES = (
    States("power_on", {"impaired": (-0.30, 0.014), "dead": (-0.72, 0.012)}, "works"),
    States("display_picture", {"impaired": (-0.26, 0.020), "dead": (-0.55, 0.012)}, "works"),
    States("display_touch", {"impaired": (-0.21, 0.018), "dead": (-0.50, 0.010)}, "works"),
)

PHONE = ClassTruth(
    name="phone",
    rows=5000,
    base_log=math.log(210.0),
    brand_spread_log=0.20,
    model_spread_log=0.08,
    curves=(
        Curve("storage_gb", 128.0, 2.0, linear_log=0.090, square_log=-0.008, logged=True),
        Curve("memory_gb", 6.0, 2.0, linear_log=0.060, square_log=-0.006, logged=True),
        Curve("year", 2020.0, 3.0, linear_log=0.300, square_log=0.040),
        Curve("battery_share", 86.0, 10.0, linear_log=0.040, square_log=-0.006),
    ),
    free_numbers={"storage_gb": ((64.0, 128.0, 256.0, 512.0), (0.20, 0.42, 0.28, 0.10))},
    choices=(
        States("region", {"Americas": (-0.05, 0.15), "Asia": (-0.09, 0.10)}, "Europe", blank_share=0.0),
        States(
            "opened", {"by us": (-0.02, 0.10), "by others": (-0.06, 0.12)}, "no sign", blank_share=0.4
        ),
    ),
    faults=(
        *_GATES,
        States("charging_wired", {"impaired": (-0.18, 0.019), "dead": (-0.40, 0.018)}, "works"),
        States("battery_runtime", {"impaired": (-0.11, 0.025), "untested": (-0.06, 0.022)}, "works"),
        States("mobile_calls", {"dead": (-0.38, 0.018), "untested": (-0.15, 0.018)}, "works"),
        States("camera_main", {"impaired": (-0.15, 0.019), "dead": (-0.34, 0.018)}, "works"),
        States(
            "camera_wide",
            {"dead": (-0.14, 0.020), "removed": (-0.13, 0.018), "untested": (-0.05, 0.020)},
            "works",
        ),
        States("camera_front", {"dead": (-0.18, 0.018), "removed": (-0.17, 0.018)}, "works"),
        States("fingerprint", {"impaired": (-0.08, 0.019), "dead": (-0.19, 0.020)}, "works"),
        States("loudspeaker", {"impaired": (-0.06, 0.019), "dead": (-0.12, 0.018)}, "works"),
        States("nfc", {"dead": (-0.10, 0.020), "untested": (-0.04, 0.021)}, "works"),
        States("proximity", {"dead": (-0.08, 0.018), "untested": (-0.03, 0.018)}, "works"),
        States("flash_torch", {"dead": (-0.05, 0.018)}, "works"),
        States("vibration", {"impaired": (-0.02, 0.018), "dead": (-0.05, 0.018)}, "works"),
        # The true effect is zero: buyers do not mind.
        States("ambient_light", {"dead": (0.0, 0.025)}, "works"),
    ),
    marks=(
        States(
            "screen",
            {"scratch": (-0.04, 0.22), "crack": (-0.24, 0.06), "covered": (-0.02, 0.06)},
            usual="none",
            blank_share=0.2,
        ),
        States(
            "back_panel",
            {"scratch": (-0.02, 0.20), "crack": (-0.14, 0.06), "dent+scratch": (-0.07, 0.03)},
            usual="none",
            blank_share=0.2,
        ),
        States("frame_bottom", {"dent": (-0.05, 0.12), "scuff": (-0.02, 0.18)}, "none", blank_share=0.2),
    ),
    locks=(
        States(
            "owner_account",
            {"locked": (-0.95, 0.008), "not checked": (-0.06, 0.08)},
            usual="free",
            blank_share=0.3,
            always_said=("locked",),
        ),
        States("network_lock", {"locked": (-0.12, 0.04)}, "free", blank_share=0.3),
    ),
    parts=(
        States(
            "screen",
            {"third-party": (-0.07, 0.07), "salvaged": (-0.03, 0.03)},
            usual="original",
            blank_share=0.4,
        ),
        States("cell", {"third-party": (-0.03, 0.10)}, "original", blank_share=0.4),
    ),
)
