"""Writing sales as the CSV file that the import reads."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import BoolArray, DayArray, FloatArray, SalesTable, TextColumn

_TOLD_TEXTS = ("opened", "channel", "country", "price_includes_postage")


def write_csv(table: SalesTable, device_class: DeviceClass, path: Path) -> None:
    """Write sales to ``path``: UTF-8, comma, one row per sale, blank where not stated.

    The same table gives the same bytes. Numbers are written so that reading gives the same float again.

    Raises:
        OSError: The file cannot be written.
    """
    columns = _identity_columns(table, device_class) | _condition_columns(table) | _listing_columns(table)
    frame = pd.DataFrame(columns)
    frame.to_csv(path, index=False, encoding="utf-8", lineterminator="\n")


def _identity_columns(table: SalesTable, device_class: DeviceClass) -> dict[str, NDArray[np.object_]]:
    condition = table.condition
    columns = {"price": _numbers(table.price)}
    if table.currency:
        columns["currency"] = np.full(table.rows, table.currency, dtype=object)
    if condition.sold_on is not None:
        columns["sold_on"] = _days(condition.sold_on)
    for attribute in device_class.attributes:
        if attribute.name in condition.numbers:
            columns[attribute.name] = _numbers(condition.numbers[attribute.name])
        elif attribute.name in condition.texts:
            columns[attribute.name] = _words(condition.texts[attribute.name])
    return columns


def _condition_columns(table: SalesTable) -> dict[str, NDArray[np.object_]]:
    condition = table.condition
    columns = {}
    if condition.sold_as is not None:
        columns["sold_as"] = _words(condition.sold_as)
    for name in _TOLD_TEXTS:
        if name in condition.texts:
            columns[name] = _words(condition.texts[name])
    if "battery_share" in condition.numbers:
        columns["battery_share"] = _numbers(condition.numbers["battery_share"])
    for prefix, group in (
        ("fault", condition.faults),
        ("mark", condition.marks),
        ("part", condition.parts),
        ("lock", condition.locks),
    ):
        columns |= {f"{prefix}:{name}": _words(column) for name, column in group.items()}
    return columns


def _listing_columns(table: SalesTable) -> dict[str, NDArray[np.object_]]:
    columns = {"asked": _flags(table.asked), "refunded": _flags(table.refunded)}
    if table.ask is not None:
        columns["ask"] = _numbers(table.ask)
    if table.listed_on is not None:
        columns["listed_on"] = _days(table.listed_on)
    if table.withdrawn_on is not None:
        columns["withdrawn_on"] = _days(table.withdrawn_on)
    if table.still_listed is not None:
        columns["still_listed"] = _flags(table.still_listed)
    return columns


def _objects(cells: Iterable[str]) -> NDArray[np.object_]:
    return np.array(list(cells), dtype=object)


def _words(column: TextColumn) -> NDArray[np.object_]:
    # Code -1, not stated, falls on the last place: the blank.
    chosen: NDArray[np.object_] = _objects([*column.levels, ""])[column.codes]
    return chosen


def _flags(values: BoolArray) -> NDArray[np.object_]:
    return np.where(values, "yes", "no").astype(object)


def _days(values: DayArray) -> NDArray[np.object_]:
    return _objects("" if day == "NaT" else day for day in values.astype("datetime64[D]").astype(str))


def _numbers(values: FloatArray) -> NDArray[np.object_]:
    distinct, places = np.unique(values, return_inverse=True)
    chosen: NDArray[np.object_] = _objects(_number(value) for value in distinct.tolist())[places]
    return chosen


def _number(value: float) -> str:
    return "" if np.isnan(value) else np.format_float_positional(value, trim="-")
