from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest

pytest.importorskip("distributed")

from api.shop.dask_parts import PartsReading, dask_client, read_parts
from data.catalogue.reader import find_class
from data.demo.generate import generate, write_csv
from data.importing.sales_files import read_sales_files
from pricing.errors import BadInput, NotFound
from pricing.hedonic.design import Design, learn_design
from pricing.hedonic.gram import RawMoments, sales_moments
from pricing.hedonic.parts import LocalParts
from pricing.hedonic.summary import summarise
from pricing.records.device_class import DeviceClass
from pricing.records.sales_table import SalesTable

TODAY = date(2026, 11, 25)
PHONE = find_class("phone")


@pytest.fixture(scope="module")
def client() -> Iterator[Any]:
    with dask_client(None, 2) as connected:
        yield connected


@pytest.fixture(scope="module")
def paths(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("sales")
    sales = generate(3, rows={"phone": 900}, classes=("phone",)).tables["phone"]
    found = []
    for number in range(5):
        found.append(folder / f"part-{number}.csv")
        write_csv(sales.take(np.arange(number, sales.rows, 5)), PHONE, found[-1])
    return found


@pytest.fixture(scope="module")
def reading(client: Any, paths: list[Path]) -> PartsReading:
    return read_parts(client, paths, PHONE, base=None, today=TODAY)


@pytest.fixture(scope="module")
def local(paths: list[Path]) -> LocalParts:
    return LocalParts(read_sales_files(paths, PHONE, base=None, today=TODAY).table)


def test_parts_have_the_good_rows_of_all_files_but_refunded_ones(reading: PartsReading, local: LocalParts) -> None:
    assert reading.parts.rows == local.rows < 900 == reading.agreement.rows_read
    assert reading.parts.currency == local.currency == "EUR"
    assert reading.agreement.device_class == PHONE


def test_the_design_learnt_on_workers_is_that_of_one_machine(reading: PartsReading, local: LocalParts) -> None:
    apart, whole = (learn_design(parts.total(summarise, PHONE), PHONE) for parts in (reading.parts, local))
    assert [term.name for term in apart.terms] == [term.name for term in whole.terms]
    assert apart.columns == whole.columns
    assert apart.bounds.toarray() == pytest.approx(whole.bounds.toarray(), rel=1e-12)


def test_cross_products_added_by_workers_are_those_of_one_machine(reading: PartsReading, local: LocalParts) -> None:
    design = learn_design(local.total(summarise, PHONE), PHONE)

    def moments(part: SalesTable, known: Design) -> RawMoments:
        return sales_moments(known, part, np.log(part.price))

    apart, whole = (parts.total(moments, design) for parts in (reading.parts, local))
    assert apart.rows == whole.rows
    assert np.abs(apart.rtr - whole.rtr).max() <= 1e-8 * np.abs(whole.rtr).max()
    assert np.abs(apart.rty - whole.rty).max() <= 1e-8 * np.abs(whole.rty).max()


@pytest.mark.parametrize("most", [50, 10_000])
def test_a_sample_is_that_of_one_machine_row_by_row(reading: PartsReading, local: LocalParts, most: int) -> None:
    apart, whole = (parts.sample(most, seed=4) for parts in (reading.parts, local))
    assert np.array_equal(apart.price, whole.price)
    assert np.array_equal(apart.asked, whole.asked)
    brands = [[table.condition.texts["brand"].word(row) for row in range(table.rows)] for table in (apart, whole)]
    assert brands[0] == brands[1]


def written(folder: Path, *contents: str) -> list[Path]:
    found = [folder / f"part-{number}.csv" for number in range(len(contents))]
    for path, content in zip(found, contents, strict=True):
        path.write_text(content)
    return found


def test_files_with_other_columns_become_parts_with_the_same(client: Any, tmp_path: Path) -> None:
    paths = written(tmp_path, "price,fault:boils\n10,dead\n", "price,fault:lid\n20,works\nten,works\n")
    found = read_parts(client, paths, DeviceClass(name="kettle"), base=None, today=TODAY)
    assert list(found.agreement.device_class.functions_by_name) == ["boils", "lid"]
    assert [problem.source for problem in found.agreement.problems] == ["part-1.csv"]
    summary = found.parts.total(summarise, found.agreement.device_class)
    assert (summary.rows, summary.faults["boils"].words, summary.faults["lid"].blanks) == (2, {"dead": 1}, 1)


def test_a_file_without_a_good_row_is_no_part(client: Any, tmp_path: Path) -> None:
    paths = written(tmp_path, "price\n10\n30\n", "price\nten\n")
    parts = read_parts(client, paths, DeviceClass(name="kettle"), base=None, today=TODAY).parts
    assert parts.rows == 2
    assert parts.sample(9, seed=0).price.tolist() == [10.0, 30.0]


def test_bad_files_are_named_as_on_one_machine(client: Any, tmp_path: Path) -> None:
    paths = written(tmp_path, "cost\n1\n", "price,currency\n10,EUR\n", "price,currency\n10,USD\n")
    with pytest.raises(BadInput, match=r"part-0\.csv") as caught:
        read_parts(client, paths, DeviceClass(name="kettle"), base=None, today=TODAY)
    assert [problem.source for problem in caught.value.problems] == ["part-0.csv"]
    with pytest.raises(BadInput, match=r"EUR in part-1\.csv, USD in part-2\.csv"):
        read_parts(client, paths[1:], DeviceClass(name="kettle"), base=None, today=TODAY)
    with pytest.raises(NotFound, match=r"gone\.csv"):
        read_parts(client, [tmp_path / "gone.csv"], DeviceClass(name="kettle"), base=None, today=TODAY)


def test_files_without_any_good_row_have_no_sum_and_no_sample(client: Any, tmp_path: Path) -> None:
    parts = read_parts(
        client, written(tmp_path, "price\nten\n"), DeviceClass(name="kettle"), base=None, today=TODAY
    ).parts
    with pytest.raises(ValueError, match="no part"):
        parts.total(summarise, DeviceClass(name="kettle"))
    with pytest.raises(ValueError, match="no sales"):
        parts.sample(3, seed=0)


def test_a_running_scheduler_is_used_and_left_running(client: Any, paths: list[Path]) -> None:
    address = client.scheduler.address
    for _ in range(2):
        with dask_client(address, 1) as other:
            assert read_parts(other, paths[:1], PHONE, base=None, today=TODAY).parts.rows > 100


def test_a_scheduler_that_does_not_answer_is_told_within_ten_seconds() -> None:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        address, started = f"tcp://127.0.0.1:{held.getsockname()[1]}", time.monotonic()
        with pytest.raises(NotFound, match=f"no scheduler answers at {address} within 10 seconds"), dask_client(
            address, 1
        ):
            pass
        assert time.monotonic() - started < 11


def test_a_worker_or_a_word_is_no_scheduler(client: Any) -> None:
    worker = next(iter(client.scheduler_info()["workers"]))
    for address, message in ((worker, "found Worker; expected a Dask scheduler"), ("here", "found no address")):
        with pytest.raises(BadInput, match=message), dask_client(address, 1):
            pass
