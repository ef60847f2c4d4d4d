from __future__ import annotations

import sys
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from data.importing.comparables_csv import SalesReading, read_sales
from data.importing.tables import read_table, read_tables
from data.importing.text_table import LONGEST_CELL, TextTable
from data.importing.units_csv import read_units
from pricing.errors import BadInput, NotFound
from pricing.records.device_class import Attribute, DeviceClass

pa = pytest.importorskip("pyarrow")
parquet = pytest.importorskip("pyarrow.parquet")

KETTLE = DeviceClass(name="kettle", attributes=(Attribute(name="brand", kind="group"),
                                                Attribute(name="litres", kind="number")))  # fmt: skip


def written(folder: Path, **columns: Any) -> Path:
    path = folder / "kettles.parquet"
    parquet.write_table(pa.table(columns), path)
    return path


def words(table: TextTable, name: str) -> list[str]:
    column = table.columns[name]
    return [column.words[code] for code in column.codes]


def read(path: Path) -> SalesReading:
    return read_sales(path, KETTLE, base=None, today=date(2026, 11, 25))


@pytest.mark.parametrize(
    ("values", "kind", "expected"),
    [
        (["a", None, " b "], "string", ["a", "", " b "]),
        ([1, None, -20], "int16", ["1", "", "-20"]),
        ([0.1, None, 1e-5, 123.456, float("nan"), float("inf")], "float64", ["0.1", "", "1e-05", "123.456", "", "inf"]),
        ([True, None, False], "bool_", ["yes", "", "no"]),
        ([date(2026, 3, 1), None], "date32", ["2026-03-01", ""]),
        ([None, None], "null", ["", ""]),
    ],
)
def test_typed_cells_become_words_exactly(
    tmp_path: Path, values: list[object], kind: str, expected: list[str]
) -> None:
    path = written(tmp_path, cell=pa.array(values, getattr(pa, kind)()))
    assert words(read_table(path), "cell") == expected


def test_decimals_moments_and_coded_words_become_words(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        amount=pa.array([Decimal("12.50"), Decimal("1E+3")], pa.decimal128(9, 2)),
        day=np.array(["2026-03-01T00", "2026-03-01T09"], dtype="datetime64[us]"),
        brand=pa.array(["Onda", None]).dictionary_encode(),
    )
    table = read_table(path)
    assert words(table, "amount") == ["12.50", "1000.00"]
    assert words(table, "day") == ["2026-03-01", "2026-03-01T09:00:00"]
    assert words(table, "brand") == ["Onda", ""]
    assert table.typed == {"amount"}


def test_a_float_of_three_decimals_is_never_taken_for_thousands(tmp_path: Path) -> None:
    reading = read(written(tmp_path, price=[10.0, 20.0], litres=pa.array([1.234, 2.0])))
    assert not reading.problems
    assert reading.table.condition.numbers["litres"].tolist() == [1.234, 2.0]


def test_text_columns_still_have_to_show_their_decimal_mark(tmp_path: Path) -> None:
    reading = read(written(tmp_path, price=[10.5, 20.0], litres=["1.234", "2"]))
    assert [problem.column for problem in reading.problems] == ["litres"]
    assert read(written(tmp_path, price=[10.5], litres=["1,5"])).table.condition.numbers["litres"].tolist() == [1.5]


def test_a_problem_names_file_and_row_and_hides_no_other(tmp_path: Path) -> None:
    reading = read(written(tmp_path, price=[10.0, -1.0, 30.0, None], sold_on=["2026-01-01", "", "soon", ""]))
    assert [problem.source for problem in reading.problems] == [f"kettles.parquet, row {row}" for row in (2, 3, 4)]
    assert str(reading.problems[1]) == 'kettles.parquet, row 3, sold_on: found "soon"; expected a day as YYYY-MM-DD'
    assert reading.table.price.tolist() == [10.0]


def test_sales_are_the_same_from_text_and_from_parquet(tmp_path: Path) -> None:
    rng = np.random.default_rng(0)
    price, litres = rng.lognormal(4, 1, 500).tolist(), rng.uniform(0.5, 3, 500).tolist()
    lines = [f"{a!r},{b!r}" for a, b in zip(price, litres, strict=True)]
    (tmp_path / "kettles.csv").write_text("price,litres\n" + "\n".join(lines) + "\n")
    text, typed = read(tmp_path / "kettles.csv").table, read(written(tmp_path, price=price, litres=litres)).table
    assert np.array_equal(text.price, typed.price)
    assert np.array_equal(text.condition.numbers["litres"], typed.condition.numbers["litres"])
    assert typed.line is not None
    assert typed.line[[0, -1]].tolist() == [1, 500]


def test_units_are_read_with_their_cells(tmp_path: Path) -> None:
    reading = read_units(written(tmp_path, brand=["Onda", None], litres=[1.5, 2.0]), KETTLE)
    assert reading.cells == (("Onda", "1.5"), ("", "2.0"))
    assert reading.table.rows == 2


@pytest.mark.parametrize("most", [1, 3, 70_000, 100_000, 200_000])
def test_a_file_in_tables_holds_every_row_once(tmp_path: Path, most: int) -> None:
    rows = 200 if most < 10 else 150_000
    path = written(tmp_path, number=np.arange(rows))
    tables = list(read_tables(path, most))
    assert [table.rows for table in tables] == [most] * (rows // most) + ([rows % most] if rows % most else [])
    assert np.array_equal(np.concatenate([table.line for table in tables]), np.arange(rows) + 1)
    assert [words(table, "number")[0] for table in tables] == [str(at) for at in range(0, rows, most)]


def test_a_cell_too_long_breaks_its_row(tmp_path: Path) -> None:
    table = read_table(written(tmp_path, cell=["a", "x" * (LONGEST_CELL + 1)]))
    assert list(table.broken) == [1]


def test_columns_of_lists_are_refused_by_name(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"kettles\.parquet, tags: found a column of type list"):
        read_table(written(tmp_path, price=[1.0], tags=[["a"]]))


def test_what_is_no_parquet_or_damaged_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "odd.parquet"
    path.write_text("price\n1\n")
    with pytest.raises(BadInput, match=r"odd\.parquet: found no readable Parquet"):
        read_table(path)
    whole = written(tmp_path, price=np.arange(1.0, 1e4)).read_bytes()
    path.write_bytes(whole[:200] + bytes(400) + whole[600:])
    with pytest.raises(BadInput, match="no readable Parquet"):
        read_table(path)


def test_a_file_without_rows_or_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no row"):
        read_table(written(tmp_path, price=pa.array([], pa.float64())))
    with pytest.raises(NotFound, match=r"no file .*gone\.parquet"):
        read_table(tmp_path / "gone.parquet")


def test_without_pyarrow_the_extra_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, price=[1.0])
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.delitem(sys.modules, "data.importing.parquet_table", raising=False)
    with pytest.raises(NotFound, match=r"pip install plainsale\[scale\]"):
        read_table(path)
