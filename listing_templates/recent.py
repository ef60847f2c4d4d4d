"""Results of late, kept for the very objects that they were made from.

The same unit is written in several formats, read back and asked why: its facts and sentences are worked out once.
Records are frozen, so an object stands for its content; it is kept with its result, so no other can take its id.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Result = TypeVar("Result")


class Recent(Generic[Result]):
    """The latest results, at most ``most``; safe to share between threads."""

    def __init__(self, most: int = 64) -> None:
        self._most = most
        self._kept: OrderedDict[tuple[Hashable, ...], tuple[tuple[object, ...], Result]] = OrderedDict()
        self._lock = Lock()

    def get(self, objects: tuple[object, ...], values: tuple[Hashable, ...], make: Callable[[], Result]) -> Result:
        """Return what ``make`` gives for these very objects and equal values, from memory where it was made of late."""
        key = (*map(id, objects), *values)
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found[1]
        made = make()
        with self._lock:
            self._kept[key] = (objects, made)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return made
