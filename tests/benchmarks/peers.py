"""Our model beside the peers, on the same folds of five open data sets.

Usage: python -m tests.benchmarks.peers [--only METHOD ...] [--sets SET ...] [--readme]

Without arguments every method runs on every set. ``--only ours`` runs only ours, beside the peers kept in
peers_results.json. Writes that file and peers.md beside this one. ``--readme`` runs nothing: it writes the README's
table from what is kept.

Folds: five, three times repeated under 400 rows. The interval score is divided by the fold's median price and averaged
over folds. A peer that misses its coverage by more than three points does not stand as a peer at that level. Each
peer's settings are chosen for each set: all combinations in ``peer_methods.settings_tried``, by the 80 % interval score
over inner folds (five under 1,000 rows, else two) of the first training part.
"""

from __future__ import annotations

import argparse
import logging
from pathlib import Path

from tests.benchmarks.peer_methods import PEERS
from tests.benchmarks.peer_results import read_results, write_results
from tests.benchmarks.peer_runs import run_method
from tests.benchmarks.peer_tables import between_markers, readme_table, report
from tests.external.real_data.five_fold import SETS

HERE = Path(__file__).parent
README = HERE.parents[1] / "README.md"
KEPT = HERE / "peers_results.json"


def main() -> None:
    asked = argparse.ArgumentParser(description="Our model beside the peers, on the same folds.")
    asked.add_argument("--only", nargs="+", choices=["ours", *PEERS], default=["ours", *PEERS])
    asked.add_argument("--sets", nargs="+", choices=list(SETS), default=list(SETS))
    asked.add_argument("--readme", action="store_true", help="only write the table of what is kept into the README")
    chosen = asked.parse_args()
    if chosen.readme:
        table = readme_table(read_results(KEPT))
        README.write_text(between_markers(README.read_text(encoding="utf-8"), table), encoding="utf-8")
        return
    logging.disable(logging.INFO)  # MAPIE logs crossing quantiles of small sets
    for name in chosen.sets:
        for method in chosen.only:
            found = run_method(name, method, lambda line: print(line, flush=True))
            results = read_results(KEPT)
            results.setdefault(name, {})[method] = found
            write_results(KEPT, results)
    text = report(read_results(KEPT))
    (HERE / "peers.md").write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
