"""Fourteen invented brands and their models in three classes.

Brand effects are stated here. Model effects and the years of models come from ``brand_models``: normal draws
with the stated spread from one fixed seed, or fresh ones when a test wants new brands.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from data.demo.truth import BrandTruth, ClassTruth, ModelTruth

MODELS_SEED = 20_230_701
OBSCURE_BRAND = "Pellquist"
OBSCURE_SALES = 3


@dataclass(frozen=True)
class Range:
    """How a class's models spread over the years and what grows with the year.

    Attributes:
        letter: Letter of the class in model names.
        first_year, last_year: Years of the oldest and the newest model.
        memory_gb: Memory of a model of the first year; 0: the class has no such attribute.
        doubles_in: Years in which memory doubles.
        sometimes: Functions that one model in four does not have.
        handheld_share: Share of models that are hand-held; those have no disc drive.
    """

    letter: str
    first_year: int
    last_year: int
    memory_gb: float = 0.0
    doubles_in: float = 4.0
    sometimes: tuple[str, ...] = ()
    handheld_share: float = 0.0


RANGES: Mapping[str, Range] = {
    "phone": Range("P", 2015, 2025, memory_gb=2, doubles_in=4, sometimes=("camera_wide", "nfc")),
    "laptop": Range("L", 2013, 2024, memory_gb=4, doubles_in=4, sometimes=("fingerprint",)),
    "console": Range("C", 2012, 2024, sometimes=("disc_drive",), handheld_share=0.3),
}

# class -> brand -> (effect on ln price, share of the class's sales, number of models)
BRANDS: Mapping[str, Mapping[str, tuple[float, float, int]]] = {
    "phone": {
        "Ambrisk": (0.34, 0.20, 6), "Boltern": (-0.12, 0.17, 7), "Dunmarrow": (0.10, 0.15, 8),
        "Eskaldi": (-0.24, 0.12, 5), "Fjarrow": (0.03, 0.10, 6), "Harnvik": (-0.05, 0.08, 4),
        "Istrello": (0.19, 0.07, 5), "Kelpstone": (-0.18, 0.06, 6), "Mirrowen": (-0.08, 0.05, 5),
        "Pellquist": (-0.15, 0.0, 3),
    },
    "laptop": {
        "Ambrisk": (0.28, 0.16, 5), "Corvendel": (-0.14, 0.18, 8), "Eskaldi": (-0.20, 0.12, 6),
        "Graltone": (0.08, 0.14, 7), "Harnvik": (0.02, 0.12, 6), "Jorvand": (-0.06, 0.13, 9),
        "Lumbrae": (0.16, 0.09, 5), "Mirrowen": (-0.11, 0.06, 4),
    },
    "console": {
        "Corvendel": (-0.22, 0.14, 4), "Dunmarrow": (0.24, 0.21, 4), "Graltone": (0.05, 0.19, 5),
        "Istrello": (0.12, 0.16, 5), "Kelpstone": (-0.15, 0.12, 4), "Lumbrae": (-0.03, 0.11, 5),
        "Mirrowen": (-0.09, 0.07, 3),
    },
}  # fmt: skip


def with_brands(known: ClassTruth, rng: np.random.Generator | None = None) -> ClassTruth:
    """Return the class with its brands and models.

    Args:
        known: Coefficients of the class.
        rng: Draws new brand and model effects from the class's spreads; None: the stated brand effects and
            the models of the fixed seed.
    """
    fixed = np.random.default_rng([MODELS_SEED, len(known.name), ord(known.name[0])])
    brands = []
    for name, (effect_log, share, count) in BRANDS[known.name].items():
        models = _brand_models(known, name, count, fixed)
        obscure = OBSCURE_SALES if name == OBSCURE_BRAND else None
        brands.append(BrandTruth(name, effect_log, share, models, obscure))
    if rng is not None:
        brands = [_redrawn(brand, known, rng) for brand in brands]
    return replace(known, brands=tuple(brands))


def _brand_models(
    known: ClassTruth, brand: str, count: int, rng: np.random.Generator
) -> tuple[ModelTruth, ...]:
    reach = RANGES[known.name]
    effects = rng.normal(0.0, known.model_spread_log, count).round(3)
    shares = rng.permutation(1.0 / np.arange(2, count + 2))
    shares = shares / shares.sum()
    years = np.linspace(reach.first_year, reach.last_year, count).round() - rng.integers(0, 2, count)
    lacks = rng.random((count, len(reach.sometimes))) < 0.25
    handheld = rng.random(count) < reach.handheld_share
    models = []
    for place in range(count):
        missing = {name for name, lacking in zip(reach.sometimes, lacks[place], strict=True) if lacking}
        texts = {}
        if reach.handheld_share:
            missing |= {"disc_drive"} if handheld[place] else set()
            texts["kind"] = "hand-held" if handheld[place] else "home"
            texts["disc"] = "no" if "disc_drive" in missing else "yes"
        models.append(
            ModelTruth(
                name=f"{brand[:2]}-{reach.letter}{place + 1}",
                effect_log=float(effects[place]),
                share=float(shares[place]),
                numbers=_fixed_numbers(reach, float(years[place])),
                texts=texts,
                not_fitted=tuple(sorted(missing)),
            )
        )
    return tuple(models)


def _fixed_numbers(reach: Range, year: float) -> dict[str, float]:
    if not reach.memory_gb:
        return {"year": year}
    doublings = max(0, round((year - reach.first_year) / reach.doubles_in))
    return {"year": year, "memory_gb": reach.memory_gb * 2.0**doublings}


def _redrawn(brand: BrandTruth, known: ClassTruth, rng: np.random.Generator) -> BrandTruth:
    effect_log = float(rng.normal(0.0, known.brand_spread_log))
    effects = rng.normal(0.0, known.model_spread_log, len(brand.models))
    models = tuple(
        replace(model, effect_log=float(effect)) for model, effect in zip(brand.models, effects, strict=True)
    )
    return replace(brand, effect_log=effect_log, models=models)
