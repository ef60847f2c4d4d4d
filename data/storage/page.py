"""A part of a long list, and how much there is in all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

Item = TypeVar("Item")


@dataclass(frozen=True)
class Page(Generic[Item]):
    """Some items of a list, in its order.

    Attributes:
        items: At most as many as were asked for.
        total: How many the whole list has.
        offset: How many come before the first of ``items``.
    """

    items: tuple[Item, ...]
    total: int
    offset: int
