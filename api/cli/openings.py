"""Opening the shop for one command."""

from __future__ import annotations

from api.settings import read_settings
from api.shop.shop import Shop


def open_shop(store: str | None = None) -> Shop:
    """Return the shop with the environment's settings, and another store when one is named.

    Raises:
        UnsafeSetting: A setting is refused.
    """
    return Shop(read_settings(store=store))
