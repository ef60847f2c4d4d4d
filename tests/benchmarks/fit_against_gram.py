"""How long a full fit takes beside forming the dense cross-products of the same design, and in how much memory.

Usage: python tests/benchmarks/fit_against_gram.py [ROWS ...]

Both are timed in turn in one process, three times each; reading files is not counted. The peak of memory is that of
a process of its own which draws the sales and fits once. Writes tests/benchmarks/fit_against_gram.md.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import time
from pathlib import Path
from statistics import median

import numpy as np

from data.demo.generate import generate
from pricing.hedonic.design import learn_design
from pricing.hedonic.fit import fit_model
from pricing.hedonic.summary import summarise

CLASS = "console"
TIMES = 3
MEBIBYTE_IN_KIB = 1024


def timed(action) -> float:
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def measure(rows: int) -> str:
    demo = generate(3, rows={CLASS: rows})
    sales, device_class = demo.tables[CLASS], demo.device_classes[CLASS]
    kept = sales.take(np.flatnonzero(~sales.refunded))
    design = learn_design(summarise(kept, device_class), device_class)
    dense = np.vstack([raw.to_dense() for _, raw in design.chunks(kept.condition, kept.asked)])
    fits, grams = [], []
    for _ in range(TIMES):
        fits.append(timed(lambda: fit_model(sales, device_class)))
        grams.append(timed(lambda: dense.T @ dense))
    peak = subprocess.run([sys.executable, __file__, "--peak", str(rows)], check=True, capture_output=True, text=True)
    ratio = median(fits) / median(grams)
    return (f"| {rows:,} | {dense.shape[1]} | {median(fits):.2f} | {median(grams):.2f} | {ratio:.1f} "
            f"| {float(peak.stdout):.0f} |")  # fmt: skip


def print_peak(rows: int) -> None:
    demo = generate(3, rows={CLASS: rows})
    fit_model(demo.tables[CLASS], demo.device_classes[CLASS])
    # Not getrusage: its peak counts the parent's memory before the new program started.
    status = Path("/proc/self/status").read_text(encoding="ascii")
    peak = next(line for line in status.splitlines() if line.startswith("VmHWM"))
    print(int(peak.split()[1]) / MEBIBYTE_IN_KIB)


def main() -> None:
    if sys.argv[1:2] == ["--peak"]:
        print_peak(int(sys.argv[2]))
        return
    counts = [int(each) for each in sys.argv[1:]] or [10_000, 100_000]
    lines = [
        "Whole fit of generated sales beside numpy's dense X'X of the same columns, both on "
        f"{os.cpu_count()} cores ({platform.machine()}, Python {platform.python_version()}, numpy {np.__version__}).",
        "",
        "| sales | columns | fit, s | dense X'X, s | fit / X'X | peak memory of drawing and fitting, MiB |",
        "|---|---|---|---|---|---|",
        *(measure(rows) for rows in counts),
    ]
    Path(__file__).with_suffix(".md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print("\n".join(lines))


if __name__ == "__main__":
    main()
