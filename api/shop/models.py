"""Models: fitting one to a file or to the store, keeping it, finding it again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from api.shop.comparables import read_sales_file
from api.shop.files import read_text, write_text
from api.shop.shop import Shop
from data.storage.models import StoredModel
from data.storage.page import Page
from pricing.errors import BadInput, BadModelFile, Problem, shortened
from pricing.estimation.reasons import notice_of_day
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.hedonic.model_file import model_from_text, model_to_text
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import SalesTable


@dataclass(frozen=True)
class Fit:
    """A fitted model and the sales behind it.

    Attributes:
        model: The model.
        sales: What it was fitted to, or as many of them as one machine is to hold.
        problems: Bad rows that were left out.
        notices: What the reader of the sales had to say.
        days: First and last day of all sales; None: not dated, or as ``sales`` say.
    """

    model: PriceModel
    sales: SalesTable
    problems: tuple[Problem, ...] = ()
    notices: tuple[str, ...] = ()
    days: tuple[date, date] | None = None


def fit_file(
    shop: Shop,
    path: Path,
    device_class: DeviceClass,
    *,
    base: str | None = None,
    rates: Path | None = None,
    on: date | None = None,
    seed: int = 0,
    keep_good: bool = False,
) -> Fit:
    """Fit a model to a file of sales; needs no store.

    Raises:
        BadInput: A row is bad and ``keep_good`` is not set.
        CannotFit: The sales do not allow a model.
    """
    reading = read_sales_file(shop, path, device_class, base=base, rates=rates, keep_good=keep_good)
    model = fit_model(reading.table, reading.device_class, on=on, seed=seed)
    notices = (*reading.notices, *notice_of_day(model, None))
    return Fit(model, reading.table, tuple(reading.problems), notices)


def fit_store(shop: Shop, device_class: str, *, on: date | None = None, seed: int = 0) -> Fit:
    """Fit a model to the stored sales of a class, and keep it in the store.

    Raises:
        NotFound: The store has no sales of the class.
        CannotFit: The sales do not allow a model.
    """
    with shop.store.reading() as work:
        sales = work.comparables.sales(device_class)
        described = work.comparables.device_class(device_class)
    model = fit_model(sales, described, on=on, seed=seed)
    keep_model(shop, model)
    return Fit(model, sales, notices=notice_of_day(model, None))


def keep_model(shop: Shop, model: PriceModel) -> None:
    """Keep a model in the store; it becomes the latest of its class."""
    with shop.store.writing(shop.now()) as work:
        work.models.add(
            fingerprint=model.fingerprint,
            device_class=model.device_class.name,
            currency=model.currency,
            rows=model.rows,
            text=model_to_text(model),
        )


def write_model(model: PriceModel, path: Path) -> None:
    """Write a model as JSON.

    Raises:
        BadInput: The place cannot be written.
    """
    write_text(path, model_to_text(model))


def read_model(path: Path) -> PriceModel:
    """Return the model in a JSON file.

    Raises:
        NotFound: There is no such file.
        BadModelFile: It is damaged, or of another version.
    """
    return model_from_text(read_text(path), path.name)


def stored_model(shop: Shop, device_class: str, fingerprint: str | None = None) -> PriceModel:
    """Return the stored model with this fingerprint, else the latest of the class.

    Raises:
        NotFound: There is none.
    """
    with shop.store.reading() as work:
        if fingerprint is not None:
            return model_from_text(work.models.text(fingerprint), f"model {fingerprint}")
        return model_from_text(work.models.latest_text(device_class), f"model of {device_class}")


def model_for(shop: Shop, path: Path | None, class_name: str) -> PriceModel:
    """Return the model in a file, else the store's latest of a class.

    Raises:
        NotFound: There is none.
        BadInput: Neither a file nor a class is named.
        BadModelFile: The file is damaged, or of another version or class.
    """
    if path is None and not class_name:
        problem = Problem("command", None, "model", "nothing", "a model file, or the class of a stored model")
        raise BadInput(str(problem), (problem,))
    if path is None:
        return stored_model(shop, class_name)
    model = read_model(path)
    if class_name:
        _check_class(model, shop.class_named(class_name).name, path)
    return model


def list_models(shop: Shop, *, limit: int, offset: int) -> Page[StoredModel]:
    """Return what is known of the stored models, the latest first."""
    with shop.store.reading() as work:
        return work.models.page(limit=limit, offset=offset)


def stored_sales(shop: Shop, device_class: str) -> SalesTable | None:
    """Return the stored sales of a class, None when there are none: the pool for the most similar ones."""
    with shop.store.reading() as work:
        if work.comparables.currency(device_class) is None:
            return None
        return work.comparables.sales(device_class)


def _check_class(model: PriceModel, name: str, path: Path) -> None:
    if model.device_class.name != name:
        found = f"a model of the class {shortened(model.device_class.name)}"
        problem = Problem(path.name, None, "class", found, f"one of the class {shortened(name)}")
        raise BadModelFile(str(problem), (problem,))
