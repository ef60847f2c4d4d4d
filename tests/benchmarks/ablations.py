"""What each part of the price model brings: five open data sets, and demo sales with faults.

Usage: python -m tests.benchmarks.ablations [--sets SET ...] [--parts PART ...] [--again] [--write]

Results are kept in ablations_results.json after each part of each set; what is kept is not run again unless ``--again``
is given. ``--write`` runs nothing: it writes ablations.md from what is kept.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from tests.benchmarks.ablation_parts import PARTS
from tests.benchmarks.ablation_runs import NAMES, parts_for, run_part
from tests.benchmarks.ablation_table import report
from tests.benchmarks.peer_results import read_results, write_results

HERE = Path(__file__).parent
KEPT = HERE / "ablations_results.json"


def main() -> None:
    asked = argparse.ArgumentParser(description="What each part of the price model brings.")
    asked.add_argument("--sets", nargs="+", choices=NAMES, default=NAMES)
    asked.add_argument("--parts", nargs="+", choices=list(PARTS), default=list(PARTS))
    asked.add_argument("--again", action="store_true", help="run also what is kept")
    asked.add_argument("--write", action="store_true", help="only write the table of what is kept")
    chosen = asked.parse_args()
    for name in () if chosen.write else chosen.sets:
        for key in parts_for(name):
            results = read_results(KEPT)
            if key not in chosen.parts or (key in results.get(name, {}) and not chosen.again):
                continue
            print(f"{name} without {key}", flush=True)
            results.setdefault(name, {}).update(run_part(name, key))
            write_results(KEPT, results)
    (HERE / "ablations.md").write_text(report(read_results(KEPT), NAMES), encoding="utf-8")


if __name__ == "__main__":
    main()
