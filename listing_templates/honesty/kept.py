"""What was worked out of sentences, kept: a text is read again after each correction, and asked several things."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Generic, TypeVar

Found = TypeVar("Found")

_MOST = 4096  # sentences


class Kept(Generic[Found]):
    """Answers to sentences, each worked out once as long as there are not too many.

    Args:
        work: Gives the answer to each of some sentences, in their order.
    """

    def __init__(self, work: Callable[[list[str]], Iterable[Found]]) -> None:
        self._work = work
        self._kept: dict[str, Found] = {}

    def of(self, sentences: Sequence[str]) -> list[Found]:
        """Return the answer to each sentence, in their order."""
        # Asked once for each: another thread may clear what is kept at any time.
        asked = {one: self._kept.get(one) for one in sentences}
        found = {one: answer for one, answer in asked.items() if answer is not None}
        fresh = [one for one in asked if one not in found]
        if fresh:
            worked = dict(zip(fresh, self._work(fresh), strict=True))
            if len(self._kept) + len(worked) > _MOST:
                self._kept.clear()
            self._kept.update(worked)
            found |= worked
        return [found[one] for one in sentences]
