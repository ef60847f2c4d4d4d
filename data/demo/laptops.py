"""Coefficients of the invented laptop market, on ln(price in EUR)."""

from __future__ import annotations

import math

from data.demo.truth import ClassTruth, Curve, States

# Functions that others need.
_GATES = (
    States("power_on", {"impaired": (-0.33, 0.018), "dead": (-0.68, 0.014)}, "works"),
    States("display_picture", {"impaired": (-0.19, 0.024), "dead": (-0.44, 0.014)}, "works"),
)

LAPTOP = ClassTruth(
    name="laptop",
    rows=4000,
    base_log=math.log(360.0),
    brand_spread_log=0.18,
    model_spread_log=0.09,
    curves=(
        Curve("storage_gb", 256.0, 2.0, linear_log=0.075, square_log=-0.006, logged=True),
        Curve("memory_gb", 8.0, 2.0, linear_log=0.120, square_log=-0.012, logged=True),
        Curve("year", 2018.0, 3.0, linear_log=0.280, square_log=0.045),
        Curve("screen_inch", 14.0, 1.5, linear_log=0.010, square_log=-0.030),
        Curve("battery_share", 78.0, 12.0, linear_log=0.035, square_log=-0.005),
    ),
    free_numbers={
        "storage_gb": ((128.0, 256.0, 512.0, 1024.0), (0.12, 0.40, 0.34, 0.14)),
        "screen_inch": ((12.5, 13.3, 14.0, 15.6, 17.3), (0.08, 0.24, 0.34, 0.28, 0.06)),
    },
    choices=(
        States("processor", {"small": (-0.16, 0.25), "large": (0.20, 0.25)}, "middle", blank_share=0.0),
        States("storage_kind", {"hard disk": (-0.10, 0.20)}, "solid state", blank_share=0.0),
        States("supply_included", {"other maker": (-0.02, 0.2), "no": (-0.06, 0.2)}, "own", blank_share=0.1),
        States(
            "keyboard_layout", {"Nordic": (-0.03, 0.20), "French": (-0.06, 0.15)}, "German", blank_share=0.0
        ),
        States(
            "opened", {"by us": (-0.01, 0.15), "by others": (-0.05, 0.12)}, "no sign", blank_share=0.4
        ),
    ),
    faults=(
        *_GATES,
        States("hinges", {"impaired": (-0.16, 0.026), "dead": (-0.34, 0.022)}, "works"),
        States("keyboard", {"impaired": (-0.17, 0.026), "dead": (-0.33, 0.022)}, "works"),
        States("charging", {"impaired": (-0.20, 0.024), "dead": (-0.46, 0.021)}, "works"),
        States("touchpad", {"impaired": (-0.06, 0.022), "dead": (-0.13, 0.022)}, "works"),
        States("wifi", {"impaired": (-0.07, 0.022), "dead": (-0.15, 0.022)}, "works"),
        States("usb", {"impaired": (-0.05, 0.024)}, "works"),
        States("battery_runtime", {"dead": (-0.19, 0.024), "untested": (-0.07, 0.024)}, "works"),
        States("fans_cooling", {"impaired": (-0.11, 0.024), "dead": (-0.24, 0.022)}, "works"),
        States(
            "storage_health",
            {"impaired": (-0.08, 0.022), "removed": (-0.17, 0.023), "untested": (-0.06, 0.022)},
            "works",
        ),
        States("camera", {"dead": (-0.05, 0.022), "removed": (-0.06, 0.022)}, "works"),
        States("speakers", {"impaired": (-0.03, 0.022), "dead": (-0.07, 0.022)}, "works"),
        States("fingerprint", {"dead": (-0.04, 0.024), "untested": (-0.02, 0.024)}, "works"),
        States("lid_sensor", {"dead": (-0.06, 0.024)}, "works"),
        # The true effect is zero: buyers do not mind.
        States("card_reader", {"dead": (0.0, 0.026)}, "works"),
    ),
    marks=(
        States("lid", {"scratch": (-0.03, 0.24), "dent": (-0.07, 0.08)}, "none", blank_share=0.2),
        States(
            "screen",
            {"scratch": (-0.05, 0.08), "crack": (-0.21, 0.05), "covered": (-0.01, 0.03)},
            usual="none",
            blank_share=0.2,
        ),
        States("palm_rest", {"worn coating": (-0.06, 0.16)}, "none", blank_share=0.2),
    ),
    locks=(
        States(
            "firmware_password",
            {"locked": (-0.55, 0.012), "not checked": (-0.05, 0.08)},
            usual="free",
            blank_share=0.3,
            always_said=("locked",),
        ),
        States("remote_management", {"locked": (-0.60, 0.010)}, "free", 0.3, always_said=("locked",)),
    ),
    parts=(
        States("cell", {"third-party": (-0.04, 0.12)}, "original", blank_share=0.4),
        States(
            "screen",
            {"third-party": (-0.05, 0.05), "salvaged": (-0.02, 0.04)},
            usual="original",
            blank_share=0.4,
        ),
    ),
)
