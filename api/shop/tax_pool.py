"""The pool of margins: what was bought and sold in a period, and the tax that it comes to."""

from __future__ import annotations

from pathlib import Path

from api.shop.shop import Shop
from data.catalogue.tax_reader import find_tax_table
from data.importing.unit_json import read_record
from pricing.decisions.margin_scheme import close_pool
from pricing.records.tax import PoolPeriod, PoolResult


def read_pool(path: Path) -> PoolPeriod:
    """Return the period in a JSON file.

    Raises:
        NotFound: There is no such file.
        BadInput: It is no JSON, or no period; one Problem for each mistake.
    """
    return read_record(path, PoolPeriod)


def closed_pool(shop: Shop, period: PoolPeriod, country: str) -> PoolResult:
    """Return the tax of a period in which all margins are counted together.

    Raises:
        NotFound: There are no rates of the country, or none of the period.
        BadInput: Something may not enter the pool; one Problem for each.
    """
    return close_pool(period, find_tax_table(country, shop.settings.tax_folder))
