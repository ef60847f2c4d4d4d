"""Fits to files of sales that workers of a Dask cluster read and keep: the same model as on one machine."""

from __future__ import annotations

from datetime import date, timedelta
from importlib import import_module
from pathlib import Path
from types import ModuleType

from api.shop.comparables import rates_of, refuse_bad_rows
from api.shop.files import matching_files
from api.shop.models import Fit
from api.shop.shop import Shop
from pricing.errors import NotFound
from pricing.estimation.reasons import notice_of_day
from pricing.hedonic.counts import DayCounts, count_days
from pricing.hedonic.fit import MOST_SAMPLE, fit_parts
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import SalesTable

_EPOCH = date(1970, 1, 1)


def fit_on_workers(
    shop: Shop,
    path: Path,
    device_class: DeviceClass,
    *,
    scheduler: str | None = None,
    base: str | None = None,
    rates: Path | None = None,
    on: date | None = None,
    seed: int = 0,
    keep_good: bool = False,
) -> Fit:
    """Fit a model to files of sales, each read by a worker; needs no store.

    The sales that come with the fit are all of them, or 200,000 drawn by rank.

    Args:
        shop: Knows the day.
        path: A file, or a pattern such as part-*.csv.
        device_class: The class of all sales.
        scheduler: Address of a running Dask scheduler; None: processes on this machine, for this fit only.
        base: Currency that all prices are turned into; None: that of the files.
        rates: A file of rates per unit of ``base``; None: the embedded reference rates.
        on: The day the model is of; None: the last sale.
        seed: For folds and samples.
        keep_good: Leave bad rows out.

    Raises:
        NotFound: There is no such file, no scheduler answers, or Dask is not installed.
        BadInput: A row is bad and ``keep_good`` is not set, or a file cannot be read at all.
        CannotFit: The sales do not allow a model.
    """
    files = matching_files(path)
    known = None if rates is None else rates_of(rates, base)
    engine = _engine()
    with engine.dask_client(scheduler, len(files)) as client:
        reading = engine.read_parts(client, files, device_class, base=base, today=shop.today, rates=known)
        found, parts = reading.agreement, reading.parts
        refuse_bad_rows(found.problems, path.name, keep_good)
        model = fit_parts(parts, found.device_class, on=on, seed=seed)
        sales = parts.sample(MOST_SAMPLE, seed)
        days = parts.total(_days_of)
    notices = (*found.notices, *notice_of_day(model, None))
    if sales.rows < parts.rows:
        notices += (f"the model card's figures of data are of {sales.rows:,} of {parts.rows:,} sales, drawn by rank",)
    return Fit(model, sales, found.problems, notices, _span_of(days))


def _engine() -> ModuleType:
    # Loaded by name, because Dask is only there with the extra "scale".
    try:
        return import_module("api.shop.dask_parts")
    except ImportError as error:
        raise NotFound("--engine dask needs Dask, which is not installed: pip install plainsale[scale]") from error


def _days_of(part: SalesTable) -> DayCounts:
    return count_days(part.condition.sold_on, part.rows)


def _span_of(days: DayCounts) -> tuple[date, date] | None:
    if not days.dated:
        return None
    return _EPOCH + timedelta(days=days.first), _EPOCH + timedelta(days=days.last)
