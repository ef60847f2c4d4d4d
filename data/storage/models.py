"""Price models, kept as the JSON text that ``fit`` wrote; never changed, a newer one is added."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, func, insert, select

from data.storage.page import Page
from data.storage.tables import MODELS
from pricing.errors import NotFound, shortened


@dataclass(frozen=True)
class StoredModel:
    """What is known of a model without reading it.

    Attributes:
        fingerprint: Names the fit; the same sales and settings have the same.
        device_class: Name of its class.
        currency: Base currency, "" when the sales named none.
        rows: Sales that it was fitted to.
        at: When it was stored, ISO 8601.
    """

    fingerprint: str
    device_class: str
    currency: str
    rows: int
    at: str


class ModelStore:
    """The models of a store."""

    def __init__(self, connection: Connection, at: str) -> None:
        self._connection = connection
        self._at = at

    def add(self, *, fingerprint: str, device_class: str, currency: str, rows: int, text: str) -> None:
        """Keep a model's JSON; one that is there already becomes the latest of its class again."""
        self._connection.execute(MODELS.delete().where(MODELS.c.fingerprint == fingerprint))
        self._connection.execute(
            insert(MODELS).values(
                fingerprint=fingerprint,
                device_class=device_class,
                currency=currency,
                rows=rows,
                at=self._at,
                model_json=text,
            )
        )

    def text(self, fingerprint: str) -> str:
        """Return the JSON of a model.

        Raises:
            NotFound: No model has this fingerprint.
        """
        query = select(MODELS.c.model_json).where(MODELS.c.fingerprint == fingerprint)
        found = self._connection.execute(query).scalar()
        if found is None:
            raise NotFound(f"no model {shortened(fingerprint)} in the store")
        return str(found)

    def latest_text(self, device_class: str) -> str:
        """Return the JSON of the model of a class that was stored last.

        Raises:
            NotFound: The class has no model.
        """
        query = select(MODELS.c.model_json).where(MODELS.c.device_class == device_class)
        found = self._connection.execute(query.order_by(MODELS.c.id.desc()).limit(1)).scalar()
        if found is None:
            raise NotFound(f"no model for the class {shortened(device_class)} in the store; fit one first")
        return str(found)

    def page(self, *, limit: int, offset: int) -> Page[StoredModel]:
        """Return stored models, the latest first."""
        known = (MODELS.c.fingerprint, MODELS.c.device_class, MODELS.c.currency, MODELS.c.rows, MODELS.c.at)
        rows = self._connection.execute(
            select(*known).order_by(MODELS.c.id.desc()).limit(limit).offset(offset)
        ).all()
        total = self._connection.execute(select(func.count()).select_from(MODELS)).scalar_one()
        return Page(tuple(StoredModel(*row) for row in rows), total, offset)
