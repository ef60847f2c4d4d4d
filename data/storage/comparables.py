"""Comparables: sales in the batches in which they were imported."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, groupby
from operator import itemgetter

from sqlalchemy import Connection, RowMapping, func, select

from data.storage.digest import digest_of_many
from data.storage.page import Page
from data.storage.sale_cells import Cell, ColumnName, cells_of, columns_of, sales_of_cells
from data.storage.tables import BATCHES, COMPARABLES
from pricing.errors import BadInput, NotFound, Problem, shortened
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import SalesTable

_INSERT_ROWS = 5_000


@dataclass(frozen=True)
class Batch:
    """One import of sales.

    Attributes:
        number: Its number in the store.
        device_class: Name of the class.
        currency: Base currency of its prices, "" when none was named.
        source: Where it came from.
        rows: Number of sales.
        at: When it was imported, ISO 8601.
        new: False when the very same sales were there already, and nothing was added.
    """

    number: int
    device_class: str
    currency: str
    source: str
    rows: int
    at: str
    new: bool = True


@dataclass(frozen=True)
class StoredSale:
    """One sale as it is kept.

    Attributes:
        number: Its number in the store.
        batch: Number of its batch.
        price: In the base currency of its class.
        sold_on: Day of the sale, ISO; None: not dated.
        stated: Column ("fault:camera_wide") -> what the sale states there.
    """

    number: int
    batch: int
    price: float
    sold_on: str | None
    stated: dict[str, Cell]


_BATCH = tuple(BATCHES.c[name] for name in ("id", "device_class", "currency", "source", "rows", "at"))
_PREFIXES = {"faults": "fault:", "marks": "mark:", "parts": "part:", "locks": "lock:"}


class ComparableStore:
    """The comparables of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, sales: SalesTable, device_class: DeviceClass, source: str) -> Batch:
        """Keep sales of one class as a batch; the very same sales are kept once.

        Raises:
            BadInput: The store holds sales of this class in another currency.
        """
        self._check_currency(sales.currency, device_class.name, source)
        columns = columns_of(sales)
        cells = list(cells_of(sales, columns))
        prices = sales.price.tolist()
        digest = digest_of_many(chain([device_class.name, sales.currency], cells, map(repr, prices)))
        known = select(*_BATCH).where(BATCHES.c.digest == digest)
        there = self._connection.execute(known).first()
        if there is not None:
            return replace(Batch(*there), new=False)
        head = {
            "device_class": device_class.name,
            "class_json": device_class.model_dump_json(by_alias=True),
            "columns_json": json.dumps(columns),
            "currency": sales.currency,
            "source": source,
            "rows": sales.rows,
            "digest": digest,
            "at": self._at,
        }
        number = self._connection.execute(BATCHES.insert().returning(BATCHES.c.id).values(head)).scalar_one()
        days = [None] * sales.rows if sales.condition.sold_on is None else _days(sales)
        rows = [
            {"batch_id": number, "price": price, "sold_on": day, "cells_json": text}
            for price, day, text in zip(prices, days, cells, strict=True)
        ]
        for start in range(0, len(rows), _INSERT_ROWS):
            self._connection.execute(COMPARABLES.insert(), rows[start : start + _INSERT_ROWS])
        return Batch(number, device_class.name, sales.currency, source, sales.rows, self._at)

    def currency(self, device_class: str) -> str | None:
        """Return the base currency of a class's sales ("" when none was named), None without sales."""
        query = select(BATCHES.c.currency).where(BATCHES.c.device_class == device_class).limit(1)
        return self._connection.execute(query).scalar()

    def device_class(self, name: str) -> DeviceClass:
        """Return the class as it was at its last import.

        Raises:
            NotFound: No sale of this class was imported.
        """
        query = select(BATCHES.c.class_json).where(BATCHES.c.device_class == name)
        text = self._connection.execute(query.order_by(BATCHES.c.id.desc()).limit(1)).scalar()
        if text is None:
            raise NotFound(f"no sales of the class {shortened(name)} in the store; import some first")
        return DeviceClass.model_validate_json(text)

    def sales(self, device_class: str) -> SalesTable:
        """Return all sales of a class; ``line`` is the sale's number.

        What a batch has no column for is not stated there.

        Raises:
            NotFound: No sale of this class was imported.
        """
        currency = self.currency(device_class)
        if currency is None:
            raise NotFound(f"no sales of the class {shortened(device_class)} in the store; import some first")
        columns_by_batch = self._columns(device_class)
        wanted = tuple(dict.fromkeys(chain.from_iterable(columns_by_batch.values())))
        cells: dict[ColumnName, list[Cell]] = {column: [] for column in wanted}
        prices: list[float] = []
        numbers: list[int] = []
        for batch, rows in self._rows(tuple(columns_by_batch)):
            numbers += [row["id"] for row in rows]
            prices += [row["price"] for row in rows]
            found = json.loads("[" + ",".join(row["cells_json"] for row in rows) + "]")
            by_column = dict(zip(columns_by_batch[batch], zip(*found, strict=True), strict=True))
            for column in wanted:
                cells[column].extend(by_column.get(column, [None] * len(rows)))
        return sales_of_cells(cells, prices, numbers, currency)

    def batches(self, *, limit: int, offset: int) -> Page[Batch]:
        """Return imports, the latest first."""
        query = select(*_BATCH).order_by(BATCHES.c.id.desc()).limit(limit).offset(offset)
        total = self._connection.execute(select(func.count()).select_from(BATCHES)).scalar_one()
        return Page(tuple(Batch(*row) for row in self._connection.execute(query)), total, offset)

    def page(self, device_class: str, *, limit: int, offset: int) -> Page[StoredSale]:
        """Return sales of a class in the order of their numbers."""
        columns_by_batch = self._columns(device_class)
        mine = COMPARABLES.c.batch_id.in_(columns_by_batch)
        query = select(COMPARABLES).where(mine).order_by(COMPARABLES.c.id).limit(limit).offset(offset)
        count = select(func.count()).select_from(COMPARABLES).where(mine)
        total = self._connection.execute(count).scalar_one()
        rows = self._connection.execute(query).mappings()
        found = tuple(_stored_sale(row, columns_by_batch[row["batch_id"]]) for row in rows)
        return Page(found, total, offset)

    def _check_currency(self, currency: str, device_class: str, source: str) -> None:
        kept = self.currency(device_class)
        if kept is not None and kept != currency:
            expected = f"prices in {kept or 'no named currency'}, like the store's other {device_class} sales"
            problem = Problem(source, None, "currency", currency or "none", expected)
            raise BadInput(str(problem), (problem,))

    def _columns(self, device_class: str) -> dict[int, tuple[ColumnName, ...]]:
        query = select(BATCHES.c.id, BATCHES.c.columns_json).where(BATCHES.c.device_class == device_class)
        found = self._connection.execute(query.order_by(BATCHES.c.id)).all()
        return {number: tuple(ColumnName(*pair) for pair in json.loads(text)) for number, text in found}

    def _rows(self, batches: Sequence[int]) -> Iterator[tuple[int, list[RowMapping]]]:
        query = select(COMPARABLES).where(COMPARABLES.c.batch_id.in_(batches)).order_by(COMPARABLES.c.id)
        for batch, rows in groupby(self._connection.execute(query).mappings(), key=itemgetter("batch_id")):
            yield batch, list(rows)


def _days(sales: SalesTable) -> list[str | None]:
    assert sales.condition.sold_on is not None  # noqa: S101 - the caller looked
    return [None if str(day) == "NaT" else str(day) for day in sales.condition.sold_on]


def _stored_sale(row: RowMapping, columns: Sequence[ColumnName]) -> StoredSale:
    stated = {
        _PREFIXES.get(column.group, "") + column.name: cell
        for column, cell in zip(columns, json.loads(row["cells_json"]), strict=True)
        if cell is not None and cell is not False
    }
    return StoredSale(row["id"], row["batch_id"], row["price"], row["sold_on"], stated)
