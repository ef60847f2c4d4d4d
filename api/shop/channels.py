"""Channels: where units are sold, from the shop's own folder or those that come along."""

from __future__ import annotations

from pathlib import Path

from api.shop.shop import Shop
from data.catalogue.channel_reader import find_channel, read_channel
from pricing.records.channel import Channel


def channel_called(shop: Shop, channel: str | Path) -> Channel:
    """Return the channel of this name, or that of a file: only who sits at the machine may name one.

    Raises:
        NotFound: There is no such channel or file.
        BadInput: Its file has problems.
    """
    if isinstance(channel, Path):
        return read_channel(channel)
    return find_channel(channel, shop.settings.channel_folder)
