"""How many random cases a test runs: a tenth by default, all of them with PLAINSALE_FULL=1."""

from __future__ import annotations

import os


def count(full: int) -> int:
    """Return ``full`` when the full counts are asked for, else a tenth, but at least 20."""
    return full if os.environ.get("PLAINSALE_FULL") else max(full // 10, 20)
