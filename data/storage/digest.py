"""Digests: what shows later that a kept text is the one that was written."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable


def digest_of(*texts: str) -> str:
    """Return the SHA-256 of the texts in order, in hexadecimal."""
    return digest_of_many(texts)


def digest_of_many(texts: Iterable[str]) -> str:
    """Return the SHA-256 of the texts in order; a zero byte between them keeps their borders."""
    running = hashlib.sha256()
    for text in texts:
        running.update(text.encode())
        running.update(b"\0")
    return running.hexdigest()


def digest_of_text(text: str) -> str:
    """Return the SHA-256 of one text in UTF-8 and nothing else: what any other program computes of the same file."""
    return hashlib.sha256(text.encode()).hexdigest()
