"""Sales in many files, Parquet, workers: the same model and the same prices as from one file."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from api.cli.main import main
from api.shop.demo_goods import UNITS_CSV
from api.shop.models import read_model
from data.demo.generate import generate, write_csv
from pricing.hedonic.model import PriceModel

arrow = pytest.importorskip("pyarrow")
parquet = pytest.importorskip("pyarrow.parquet")
pytest.importorskip("distributed")

PARTS, SALES_ROWS = 5, 400


class Pieces:
    """The demo phones' sales in five files, as CSV and as Parquet, and the model of all of them in one file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        goods = generate(3, rows={"phone": SALES_ROWS})
        sales, self.device_class = goods.tables["phone"], goods.device_classes["phone"]
        self.sales, self.units, self.model = (folder / name for name in ("all.csv", "units.csv", "all.json"))
        write_csv(sales, self.device_class, self.sales)
        self.units.write_text(UNITS_CSV)
        for number in range(PARTS):
            path = folder / f"part-{number}.csv"
            write_csv(sales.take(np.arange(number, sales.rows, PARTS)), self.device_class, path)
            as_parquet(path, folder / f"part-{number}.parquet")


def as_parquet(path: Path, target: Path) -> None:
    """Write a CSV file's cells as Parquet: prices and storage as numbers, days as days, the rest as text."""
    with path.open(newline="") as file:
        header, *rows = csv.reader(file)
    columns: dict[str, object] = {}
    for name, cells in zip(header, zip(*rows, strict=True), strict=True):
        if name in ("price", "storage_gb"):
            columns[name] = [float(cell) if cell else None for cell in cells]
        elif name == "sold_on":
            columns[name] = arrow.array([date.fromisoformat(cell) if cell else None for cell in cells], arrow.date32())
        else:
            columns[name] = list(cells)
    parquet.write_table(arrow.table(columns), target)


@pytest.fixture(scope="module")
def pieces(tmp_path_factory):
    return Pieces(tmp_path_factory.mktemp("pieces"))


def fitted(plainsale, sales: Path, model: Path, *more: object) -> PriceModel:
    seen = plainsale("fit", "--class", "phone", "--sales", sales, "--model", model, "--no-card", "--json", *more)
    assert seen.code == 0, seen.err
    assert seen.json["rows"] == read_model(model).rows
    return read_model(model)


def assert_same(found: PriceModel, expected: PriceModel) -> None:
    """Effects, what shrinks them, spread and quantiles agree to 1e-8."""
    assert found.rows == expected.rows
    assert found.design.columns == expected.design.columns
    for name in ("effects", "free_effects", "inverse", "depth_variance"):
        left, right = getattr(found, name), getattr(expected, name)
        assert np.abs(left - right).max() <= 1e-8 * max(np.abs(right).max(), 1.0), name
    assert found.sigma2 == pytest.approx(expected.sigma2, rel=1e-8)
    assert found.spread.coefficients == pytest.approx(expected.spread.coefficients, rel=1e-8, abs=1e-8)
    assert flat(found.calibration) == pytest.approx(flat(expected.calibration), rel=1e-8, abs=1e-8)


def flat(value: object) -> list[float]:
    """All numbers in a record, in its own order."""
    if isinstance(value, np.ndarray):
        return value.astype(float).ravel().tolist()
    if isinstance(value, bool | int | float):
        return [float(value)]
    if isinstance(value, dict):
        return [number for each in value.values() for number in flat(each)]
    if isinstance(value, tuple | list):
        return [number for each in value for number in flat(each)]
    return flat(vars(value)) if hasattr(value, "__dict__") else []


@pytest.fixture(scope="module")
def whole(pieces):
    """The model of one file with all sales."""
    with pytest.raises(SystemExit) as left:
        main(["fit", "--class", "phone", "--sales", str(pieces.sales), "--model", str(pieces.model), "--no-card"])
    assert not left.value.code
    return read_model(pieces.model)


def test_files_that_a_pattern_names_give_the_model_of_one_file(plainsale, pieces, whole, tmp_path):
    assert_same(fitted(plainsale, pieces.folder / "part-*.parquet", tmp_path / "model.json"), whole)


def test_workers_give_the_model_of_one_machine(plainsale, pieces, whole, tmp_path):
    found = fitted(plainsale, pieces.folder / "part-*.csv", tmp_path / "model.json", "--engine", "dask")
    assert_same(found, whole)


def test_workers_give_the_model_of_one_machine_where_only_a_sample_travels(plainsale, pieces, tmp_path, monkeypatch):
    monkeypatch.setattr("pricing.hedonic.fit.MOST_SAMPLE", 250)
    expected = fitted(plainsale, pieces.sales, tmp_path / "one.json")
    found = fitted(plainsale, pieces.folder / "part-*.csv", tmp_path / "many.json", "--engine", "dask")
    assert expected.rows > 250
    assert_same(found, expected)


def test_a_bad_row_is_named_with_its_file_on_workers_too(plainsale, tmp_path):
    (tmp_path / "part-1.csv").write_text("price\n10\n")
    (tmp_path / "part-2.csv").write_text("price\n10\nten\n")
    for more in ((), ("--engine", "dask")):
        seen = plainsale("fit", "--class", "phone", "--sales", tmp_path / "part-*.csv", *more)
        assert seen.code == 3
        assert "part-2.csv, line 3, price" in seen.err
        assert "Traceback" not in seen.err


def test_what_does_not_fit_together_is_refused(plainsale, pieces, tmp_path):
    fit = ("fit", "--class", "phone")
    assert plainsale(*fit, "--engine", "dask").code == 2
    assert plainsale(*fit, "--sales", pieces.folder / "part-*.csv", "--scheduler", "tcp://127.0.0.1:1").code == 2
    seen = plainsale(*fit, "--sales", tmp_path / "part-*.csv")
    assert seen.code == 4
    assert "no file matches" in seen.err


def test_units_are_priced_from_parquet_and_into_it(plainsale, pieces, whole, tmp_path):
    as_parquet(pieces.units, tmp_path / "units.parquet")
    for units, out in ((pieces.units, "prices.csv"), (tmp_path / "units.parquet", "prices.parquet")):
        seen = plainsale("price", "--model", pieces.model, "--units", units, "--out", tmp_path / out, "--json")
        assert seen.code == 0, seen.err
    table = parquet.read_table(tmp_path / "prices.parquet")
    with (tmp_path / "prices.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["abstained"] for row in rows] == table["abstained"].to_pylist()
    for name in ("estimate", "expected", "low_80", "high_95"):
        assert [float(row[name]) if row[name] else None for row in rows] == table[name].to_pylist()
