"""Time and memory at scale, as ratios of what runs beside it in the same process.

Usage: python -m tests.benchmarks.scale [PART ...]      parts: core, core-10000, full, pricing, unit, computers ...

Every measurement has a process of its own, on all cores. Figures are kept in scale_results.json, so that one part can
be measured again beside the others; writes scale.md.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

from tests.benchmarks import scale_parts
from tests.benchmarks.peer_results import read_results
from tests.benchmarks.scale_table import report

HERE = Path(__file__).parent
KEPT = HERE / "scale_results.json"
THREAD_LIMITS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
MILLION = 1_000_000


def computers() -> dict[str, float]:
    """Run the conformalised quantile peer at the settings that the peers' benchmark chose."""
    chosen = read_results(HERE / "peers_results.json")["computers"]["mapie_cqr"].settings
    return scale_parts.computers(chosen, 3)


RUNS: dict[str, Callable[[], dict[str, float]]] = {
    "core-10000": lambda: scale_parts.core_fit(10_000, times=3),
    "core-100000": lambda: scale_parts.core_fit(100_000, times=3),
    "core-1000000": lambda: scale_parts.core_fit(MILLION, times=1),
    "full-10000": lambda: scale_parts.full_fit(10_000),
    "full-100000": lambda: scale_parts.full_fit(100_000),
    "pricing": lambda: scale_parts.pricing(MILLION),
    "unit": lambda: scale_parts.one_unit(200),
    "computers": computers,
}


def measured(name: str) -> dict[str, float]:
    free = {key: value for key, value in os.environ.items() if key not in THREAD_LIMITS}
    command = [sys.executable, "-m", "tests.benchmarks.scale", "--run", name]
    done = subprocess.run(command, env=free, capture_output=True, text=True)
    if done.returncode:
        raise RuntimeError(f"{name} failed:\n{done.stderr}")
    return json.loads(done.stdout.splitlines()[-1])


def machine() -> str:
    packages = ", ".join(f"{each} {version(each)}" for each in ("numpy", "scipy", "statsmodels", "lightgbm", "MAPIE"))
    return f"{os.cpu_count()} cores, {platform.machine()}, Python {platform.python_version()}, {packages}"


def main() -> None:
    if sys.argv[1:2] == ["--run"]:
        print(json.dumps(RUNS[sys.argv[2]]()))
        return
    kept = json.loads(KEPT.read_text(encoding="utf-8")) if KEPT.exists() else {}
    wanted = tuple(sys.argv[1:])
    for name in RUNS:
        if not wanted or name in wanted or name.split('-')[0] in wanted:
            kept[name] = {key: float(f"{value:.5g}") for key, value in measured(name).items()}
            print(name, kept[name], flush=True)
            kept["machine"] = machine()
            KEPT.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    text = report(kept)
    (HERE / "scale.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
