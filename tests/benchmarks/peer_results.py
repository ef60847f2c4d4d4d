"""Results of methods on sets, kept as JSON beside this file, so that one method can be run beside the kept others."""

from __future__ import annotations

import json
import os
import platform
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Any

from pricing.records.estimate import LEVELS
from tests.benchmarks.peer_scores import FoldScore, Reached

PACKAGES = {
    "ours": ("plainsale",), "ols": ("statsmodels",), "mixedlm": ("statsmodels",), "mapie_cqr": ("MAPIE", "lightgbm"),
    "lightgbm_cv_plus": ("MAPIE", "lightgbm"), "quantile_forest": ("quantile-forest", "scikit-learn"),
    "ngboost": ("ngboost", "scikit-learn"),
}  # fmt: skip


@dataclass(frozen=True)
class Result:
    """One method on one set.

    Attributes:
        settings: What was chosen.
        tried: How many settings were tried.
        versions: Of the packages at work.
        machine: What it ran on.
        folds: In the order of repeats and folds; none where the method cannot be used on the set.
    """

    settings: dict[str, Any]
    tried: int
    versions: dict[str, str]
    machine: str
    folds: tuple[FoldScore, ...] = field(default=())

    @property
    def reached(self) -> Reached:
        return Reached(self.folds)


Results = dict[str, dict[str, Result]]
"""Set -> method -> result."""


def versions_of(packages: Iterable[str]) -> dict[str, str]:
    return {name: version(name) for name in (*packages, "numpy", "scipy")}


def machine() -> str:
    cores = os.cpu_count()
    return f"{cores} cores, {platform.machine()}, Python {platform.python_version()}, one thread"


def read_results(path: Path) -> Results:
    """Return what is kept; nothing where there is no file."""
    if not path.exists():
        return {}
    kept = json.loads(path.read_text(encoding="utf-8"))
    return {name: {method: _result(each) for method, each in methods.items()} for name, methods in kept.items()}


def _result(kept: dict[str, Any]) -> Result:
    folds = tuple(_fold(each) for each in kept["folds"])
    return Result(kept["settings"], kept["tried"], kept["versions"], kept["machine"], folds)


def _fold(kept: dict[str, Any]) -> FoldScore:
    by_level = {key: {level: kept[key][str(level)] for level in LEVELS} for key in ("inside", "score")}
    return FoldScore(**{**kept, **by_level})


def write_results(path: Path, results: Results) -> None:
    """Keep the results, one line for each fold, figures to six digits."""
    lines = []
    for name, methods in sorted(results.items()):
        inner = []
        for method, each in sorted(methods.items()):
            head = {key: value for key, value in asdict(each).items() if key != "folds"}
            folds = ",\n    ".join(json.dumps(_rounded(asdict(fold))) for fold in each.folds)
            inner.append(f'  {json.dumps(method)}: {json.dumps(head)[:-1]}, "folds": [\n    {folds}\n  ]}}')
        lines.append(f"{json.dumps(name)}: {{\n" + ",\n".join(inner) + "\n}")
    path.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _rounded(each) for key, each in value.items()}
    return float(f"{value:.6g}") if isinstance(value, float) else value
