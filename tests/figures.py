"""Figures of the full counts, kept beside the results of the commit they are of."""

from __future__ import annotations

import os
from pathlib import Path

FOLDER = Path(__file__).parent / "results"


def keep(name: str, text: str) -> None:
    """Print a figure, and with the full counts write it to tests/results/<name>.md."""
    print(f"{name}: {text}")
    if os.environ.get("PLAINSALE_FULL"):
        FOLDER.mkdir(exist_ok=True)
        (FOLDER / f"{name}.md").write_text(text + "\n", encoding="utf-8")
