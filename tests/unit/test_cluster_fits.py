"""Fits on workers, with parts of one table in the place of a cluster."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from api.settings import Settings
from api.shop import cluster_fits
from api.shop.cluster_fits import fit_on_workers
from api.shop.shop import Shop
from data.importing.sales_files import read_sales_files
from pricing.errors import BadInput, NotFound
from pricing.hedonic.fit import CORE, fit_parts
from pricing.hedonic.parts import LocalParts
from pricing.records.device_class import Attribute, DeviceClass

KETTLE = DeviceClass(name="kettle", attributes=(Attribute(name="litres", kind="number"),))


class OneMachine:
    """An engine whose workers are this process."""

    @staticmethod
    @contextmanager
    def dask_client(_address: str | None, _files: int) -> Iterator[None]:
        yield None

    @staticmethod
    def read_parts(_client: None, paths: Any, device_class: DeviceClass, **given: Any) -> Any:
        reading = read_sales_files(paths, device_class, **given)
        return SimpleNamespace(agreement=reading, parts=LocalParts(reading.table))


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cluster_fits, "_engine", OneMachine)
    monkeypatch.setattr(cluster_fits, "fit_parts", lambda *parts, **given: fit_parts(*parts, settings=CORE, **given))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(Settings(home=tmp_path / "home"))


def written(folder: Path, *, dated: bool = True) -> Path:
    rng = np.random.default_rng(0)
    for number in range(2):
        lines = ["price,litres" + (",sold_on" if dated else "")]
        for row in range(30):
            litres = 1 + rng.random()
            day = f",2026-0{1 + row % 5}-1{number}" if dated else ""
            lines.append(f"{20 * litres + rng.random():.2f},{litres:.2f}{day}")
        (folder / f"part-{number}.csv").write_text("\n".join(lines) + "\n")
    return folder / "part-*.csv"


def test_a_fit_comes_with_its_sales_and_their_span(shop: Shop, tmp_path: Path) -> None:
    fit = fit_on_workers(shop, written(tmp_path), KETTLE)
    assert (fit.model.rows, fit.sales.rows) == (60, 60)
    assert fit.days == (date(2026, 1, 10), date(2026, 5, 11))
    assert not fit.notices


def test_sales_without_days_have_no_span(shop: Shop, tmp_path: Path) -> None:
    assert fit_on_workers(shop, written(tmp_path, dated=False), KETTLE).days is None


def test_that_only_a_sample_came_along_is_told(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cluster_fits, "MOST_SAMPLE", 40)
    fit = fit_on_workers(shop, written(tmp_path), KETTLE)
    assert (fit.model.rows, fit.sales.rows) == (60, 40)
    assert fit.notices == ("the model card's figures of data are of 40 of 60 sales, drawn by rank",)
    assert fit.days == (date(2026, 1, 10), date(2026, 5, 11))


def test_bad_rows_are_refused_or_left_out(shop: Shop, tmp_path: Path) -> None:
    pattern = written(tmp_path)
    with (tmp_path / "part-1.csv").open("a") as file:
        file.write("much,1,2026-01-01\n")
    with pytest.raises(BadInput, match=r"1 problem in part-\*\.csv"):
        fit_on_workers(shop, pattern, KETTLE)
    fit = fit_on_workers(shop, pattern, KETTLE, keep_good=True)
    assert [problem.line for problem in fit.problems] == [32]
    assert fit.model.rows == 60


def test_rates_need_a_base(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="--base"):
        fit_on_workers(shop, written(tmp_path), KETTLE, rates=tmp_path / "rates.csv")


def test_without_dask_the_extra_is_named(shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()

    def missing(name: str) -> None:
        raise ModuleNotFoundError(name)

    monkeypatch.setattr(cluster_fits, "import_module", missing)
    with pytest.raises(NotFound, match=r"pip install plainsale\[scale\]"):
        fit_on_workers(shop, written(tmp_path), KETTLE)
