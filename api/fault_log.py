"""The log of our own faults: the user sees a reference, the details lie in a file."""

from __future__ import annotations

import logging
import secrets
import traceback
from pathlib import Path


def record_fault(error: BaseException, folder: Path) -> str:
    """Write the details of a fault to ``faults.log`` in ``folder``; return the one line for the user.

    The reference in that line is also in the log.
    """
    reference = secrets.token_hex(4)
    path = folder / "faults.log"
    told = f"something went wrong on our side (reference {reference})"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handler = logging.FileHandler(path, encoding="utf-8")
    except OSError as refused:
        return f"{told}; the details could not be kept: {refused}"
    handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    details = "".join(traceback.format_exception(error))
    record = logging.LogRecord("plainsale", logging.ERROR, "", 0, f"{reference}\n{details}", None, None)
    handler.emit(record)
    handler.close()
    return f"{told}; the details are in {path}"
