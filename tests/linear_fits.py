"""What the fits of the reader share: a table of clues for scikit-learn, and weights as text."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from scipy import sparse


def table_of(clues: Sequence[Mapping[str, float]], least_times: int) -> tuple[Mapping[str, int], sparse.csr_matrix]:
    """Return clue -> column, for those that stand in enough sentences, and the table, shape (sentences, clues).

    Args:
        clues: Of each sentence its clues, each with what it counts.
        least_times: Clues that stand in fewer sentences are left out.
    """
    times = Counter(clue for one in clues for clue in one)
    known = {clue: place for place, clue in enumerate(sorted(c for c, often in times.items() if often >= least_times))}
    entries = [(number, known[c], each) for number, one in enumerate(clues) for c, each in one.items() if c in known]
    places, columns, values = zip(*entries, strict=True)
    return known, sparse.csr_matrix((values, (places, columns)), shape=(len(clues), len(known)))


def as_json(fitted: Mapping[str, Any], separators: tuple[str, str] = (", ", ": ")) -> str:
    """Return a fit, base and weights by clue, as text, one clue a line, so that a difference can be read."""
    lines = [
        f"{json.dumps(clue, ensure_ascii=False)}: {json.dumps(each, separators=separators)}"
        for clue, each in fitted["weights"].items()
    ]
    joined = ",\n".join(lines)
    return f'{{"base": {json.dumps(fitted["base"])}, "weights": {{\n{joined}\n}}}}\n'
