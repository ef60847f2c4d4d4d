"""Coefficients of the invented games console market, on ln(price in EUR)."""

from __future__ import annotations

import math

from data.demo.truth import ClassTruth, Curve, States

# Functions that others need.
_GATES = (
    States("power_on", {"impaired": (-0.26, 0.018), "dead": (-0.62, 0.014)}, "works"),
    States("picture_out", {"impaired": (-0.24, 0.024), "dead": (-0.52, 0.014)}, "works"),
)

CONSOLE = ClassTruth(
    name="console",
    rows=4000,
    base_log=math.log(190.0),
    brand_spread_log=0.18,
    model_spread_log=0.08,
    curves=(
        Curve("storage_gb", 500.0, 2.0, linear_log=0.080, square_log=-0.010, logged=True),
        Curve("year", 2017.0, 3.0, linear_log=0.260, square_log=0.030),
        Curve("controllers", 1.0, 1.0, linear_log=0.100, square_log=-0.015),
    ),
    free_numbers={
        "storage_gb": ((250.0, 500.0, 1000.0, 2000.0), (0.15, 0.40, 0.35, 0.10)),
        "controllers": ((0.0, 1.0, 2.0, 3.0), (0.08, 0.60, 0.27, 0.05)),
    },
    choices=(
        # Kind and disc are the same for all units of a model.
        States("kind", {"hand-held": (0.07, 0.0)}, "home", blank_share=0.0),
        States("disc", {"no": (-0.11, 0.0)}, "yes", blank_share=0.0),
        States("region", {"Americas": (-0.06, 0.15), "Asia": (-0.03, 0.15)}, "Europe", blank_share=0.0),
        States(
            "opened", {"by us": (-0.02, 0.12), "by others": (-0.07, 0.12)}, "no sign", blank_share=0.4
        ),
    ),
    faults=(
        *_GATES,
        States("disc_drive", {"impaired": (-0.14, 0.026), "dead": (-0.31, 0.024)}, "works"),
        States("controller_pairing", {"impaired": (-0.18, 0.024), "dead": (-0.37, 0.021)}, "works"),
        States("graphics_load", {"impaired": (-0.25, 0.024), "untested": (-0.16, 0.022)}, "works"),
        States("fan_cooling", {"impaired": (-0.20, 0.026), "dead": (-0.41, 0.021)}, "works"),
        States("wifi", {"impaired": (-0.06, 0.022), "dead": (-0.16, 0.022)}, "works"),
        States("controller_sticks", {"impaired": (-0.09, 0.030), "dead": (-0.14, 0.022)}, "works"),
        States("storage_health", {"impaired": (-0.10, 0.022), "untested": (-0.05, 0.024)}, "works"),
        States("system_update", {"dead": (-0.23, 0.022), "untested": (-0.08, 0.022)}, "works"),
        States("usb", {"impaired": (-0.03, 0.022), "dead": (-0.08, 0.022)}, "works"),
        States("ethernet", {"dead": (-0.04, 0.024), "untested": (-0.02, 0.024)}, "works"),
        # The true effect is zero: buyers do not mind.
        States("audio_out", {"dead": (0.0, 0.026)}, "works"),
    ),
    marks=(
        States(
            "shell_top",
            {"scratch": (-0.02, 0.26), "crack": (-0.16, 0.04), "scratch+scuff": (-0.05, 0.04)},
            usual="none",
            blank_share=0.2,
        ),
        States("shell_front", {"scuff": (-0.02, 0.20), "missing piece": (-0.10, 0.05)}, "none", 0.2),
    ),
    locks=(
        States(
            "service_ban",
            {"locked": (-0.45, 0.014), "not checked": (-0.07, 0.10)},
            usual="free",
            blank_share=0.3,
            always_said=("locked",),
        ),
    ),
    parts=(
        States("drive", {"salvaged": (-0.06, 0.05)}, "original", blank_share=0.4),
        States("sticks", {"third-party": (-0.08, 0.10)}, "original", blank_share=0.4),
    ),
)
