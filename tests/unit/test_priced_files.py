from __future__ import annotations

import csv
from pathlib import Path

import pytest

from api.shop import priced_files
from api.shop.priced_files import price_file, price_into, write_sheet
from pricing.errors import BadInput
from pricing.hedonic.model import PriceModel

ROWS = 23
WHERE_BAD = (4, 11)


@pytest.fixture
def units(tmp_path: Path) -> Path:
    path = tmp_path / "units.csv"
    lines = ["shelf,brand,model,storage_gb,fault:wifi"]
    for row in range(ROWS):
        storage = "much" if row in WHERE_BAD else str(64 * (1 + row % 4))
        lines.append(f"S{row},{'Onda' if row % 2 else 'Nobody'},N{row % 3},{storage},{'dead' if row % 5 else ''}")
    path.write_text("\n".join(lines) + "\n")
    return path


def nobody(_done: int, _all: int) -> None:
    pass


def cells_of(path: Path) -> list[tuple[str, ...]]:
    with path.open(newline="") as file:
        return [tuple(row) for row in csv.reader(file)]


@pytest.mark.parametrize("most", [1, 5, 23, 50_000])
def test_pieces_give_the_sheet_of_the_whole(
    model: PriceModel, units: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, most: int
) -> None:
    sheet = price_file(model, units)
    monkeypatch.setattr(priced_files, "PIECE_ROWS", most)
    counts = price_into(model, units, tmp_path / "prices.csv", tell=nobody)
    assert cells_of(tmp_path / "prices.csv") == [sheet.counts.header, *sheet.rows]
    assert counts == sheet.counts
    assert (counts.bad, counts.problem_count, counts.row_count) == (2, 2, ROWS)
    assert counts.priced > 0


def test_how_far_the_work_is_is_told_after_each_piece(
    model: PriceModel, units: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[tuple[int, int]] = []
    monkeypatch.setattr(priced_files, "PIECE_ROWS", 10)
    price_into(model, units, tmp_path / "prices.csv", tell=lambda done, whole: told.append((done, whole)))
    assert told == [(10, ROWS), (20, ROWS), (23, ROWS)]


def test_of_many_problems_the_first_are_kept_and_all_are_counted(
    model: PriceModel, units: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(priced_files, "MOST_PROBLEMS", 1)
    counts = price_into(model, units, tmp_path / "prices.csv", tell=nobody)
    assert [problem.line for problem in counts.problems] == [WHERE_BAD[0] + 2]
    assert counts.problem_count == 2
    assert len(price_file(model, units).counts.problems) == 2


def test_a_file_that_cannot_be_priced_leaves_the_old_sheet(model: PriceModel, tmp_path: Path) -> None:
    out = tmp_path / "prices.csv"
    out.write_text("old")
    (tmp_path / "units.csv").write_text("brand,estimate\nOnda,1\n")
    with pytest.raises(BadInput, match="another name"):
        price_into(model, tmp_path / "units.csv", out, tell=nobody)
    assert out.read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["prices.csv", "units.csv"]


def test_a_sheet_as_parquet_has_the_figures_of_the_text_as_numbers(
    model: PriceModel, units: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    parquet = pytest.importorskip("pyarrow.parquet")
    monkeypatch.setattr(priced_files, "PIECE_ROWS", 10)
    out, written = tmp_path / "prices.parquet", tmp_path / "written.parquet"
    price_into(model, units, out, tell=nobody)
    sheet = price_file(model, units)
    write_sheet(sheet, written)
    table = parquet.read_table(out)
    assert table.equals(parquet.read_table(written))
    assert tuple(table.column_names) == sheet.counts.header
    estimates = table["estimate"].to_pylist()
    assert estimates == [
        float(row[5]) if row[5] else None for row in sheet.rows
    ]
    assert estimates.count(None) == ROWS - sheet.counts.priced
    assert table["shelf"].to_pylist() == [row[0] for row in sheet.rows]


def test_units_from_parquet_have_the_prices_of_the_same_units_from_text(
    model: PriceModel, units: Path, tmp_path: Path
) -> None:
    arrow, parquet = pytest.importorskip("pyarrow"), pytest.importorskip("pyarrow.parquet")
    header, *rows = cells_of(units)
    good = [row for number, row in enumerate(rows) if number not in WHERE_BAD]
    columns = dict(zip(header, map(list, zip(*good, strict=True)), strict=True))
    columns["storage_gb"] = [int(cell) for cell in columns["storage_gb"]]
    parquet.write_table(arrow.table(columns), tmp_path / "units.parquet")
    priced = [row for number, row in enumerate(price_file(model, units).rows) if number not in WHERE_BAD]
    assert list(price_file(model, tmp_path / "units.parquet").rows) == priced
