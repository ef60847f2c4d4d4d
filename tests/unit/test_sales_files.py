from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from api.shop.files import matching_files
from data.importing.comparables_csv import SalesReading
from data.importing.sales_files import read_sales_files
from pricing.errors import BadInput, NotFound
from pricing.records.device_class import Attribute, DeviceClass, Function

KETTLE = DeviceClass(name="kettle", attributes=(Attribute(name="brand", kind="group"),
                                                Attribute(name="litres", kind="number")))  # fmt: skip


def read(folder: Path, *contents: str, device_class: DeviceClass = KETTLE, base: str | None = None) -> SalesReading:
    paths = []
    for number, content in enumerate(contents):
        paths.append(folder / f"part-{number}.csv")
        paths[-1].write_text(content)
    return read_sales_files(paths, device_class, base=base, today=date(2026, 11, 25))


def test_files_are_read_as_one_each_in_its_own_way(tmp_path: Path) -> None:
    reading = read(tmp_path, "price;brand;litres\n10,5;Onda;1,5\n", "litres,price\n0.8,20.25\n1,30\n")
    assert reading.table.price.tolist() == [10.5, 20.25, 30.0]
    assert reading.table.condition.numbers["litres"].tolist() == [1.5, 0.8, 1.0]
    brand = reading.table.condition.texts["brand"]
    assert [brand.word(row) for row in range(3)] == ["Onda", None, None]
    assert reading.rows_read == 3


def test_problems_name_the_right_file_and_its_good_rows_stay(tmp_path: Path) -> None:
    reading = read(tmp_path, "price\n10\nten\n", "price\n20\n-3\n")
    assert [(each.source, each.line) for each in reading.problems] == [("part-0.csv", 3), ("part-1.csv", 3)]
    assert reading.table.price.tolist() == [10.0, 20.0]


def test_one_bad_file_does_not_hide_the_next(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="2 files cannot be used") as caught:
        read(tmp_path, "cost\n1\n", "price\n10\n", "price,price\n1,2\n")
    assert [problem.source for problem in caught.value.problems] == ["part-0.csv", "part-2.csv"]


def test_one_file_alone_is_refused_with_its_own_words(tmp_path: Path) -> None:
    (tmp_path / "good.csv").write_text("price\n1\n")
    with pytest.raises(NotFound, match=r"gone\.csv"):
        read_sales_files(
            [tmp_path / "good.csv", tmp_path / "gone.csv"], KETTLE, base=None, today=date(2026, 11, 25)
        )


def test_files_in_several_currencies_need_a_base(tmp_path: Path) -> None:
    contents = ("price,currency,sold_on\n10,EUR,2026-03-03\n", "price,currency,sold_on\n10,USD,2026-03-03\n")
    with pytest.raises(BadInput, match=r"EUR in part-0\.csv, USD in part-1\.csv; expected one currency.*--base"):
        read(tmp_path, *contents)
    reading = read(tmp_path, *contents, base="EUR")
    assert reading.table.currency == "EUR"
    assert 7 < reading.table.price[1] < 10 == reading.table.price[0]


def test_a_file_that_names_no_currency_does_not_agree_with_one_that_does(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"no currency in part-0\.csv, EUR in part-1\.csv"):
        read(tmp_path, "price\n10\n", "price,currency\n10,EUR\n")


def test_functions_are_those_of_all_files_where_the_class_has_none(tmp_path: Path) -> None:
    contents = ("price,fault:boils\n10,works\n", "price,fault:lid,mark:body\n10,dead,none\n")
    reading = read(tmp_path, *contents)
    assert list(reading.device_class.functions_by_name) == ["boils", "lid"]
    assert list(reading.device_class.surfaces_by_name) == ["body"]
    lid = reading.table.condition.faults["lid"]
    assert [lid.word(row) for row in range(2)] == [None, "dead"]


def test_a_class_with_functions_of_its_own_stays_as_it_is(tmp_path: Path) -> None:
    described = KETTLE.model_copy(update={"functions": (Function(name="boils"),)})
    reading = read(tmp_path, "price,fault:boils\n10,works\n", "price\n10\n", device_class=described)
    assert reading.device_class == described


def test_a_notice_of_one_file_says_which(tmp_path: Path) -> None:
    reading = read(tmp_path, "price,brand,litres\n10,Onda,1\n", "price,brand,litres,smell\n10,Onda,1,new\n")
    assert reading.notices == ("part-1.csv: columns without a meaning here, not used: smell",)
    same = read(tmp_path, "price,brand\n10,Onda\n", "price,brand\n10,Onda\n").notices
    assert same == ("no column for litres: not stated in any row",)


def test_a_pattern_names_files_in_the_order_of_their_names(tmp_path: Path) -> None:
    for name in ("part-2.csv", "part-10.csv", "other.csv", "part-1.csv"):
        (tmp_path / name).touch()
    (tmp_path / "part-0.csv").mkdir()
    found = [path.name for path in matching_files(tmp_path / "part-*.csv")]
    assert found == ["part-1.csv", "part-10.csv", "part-2.csv"]


def test_a_pattern_that_matches_nothing_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match=r"no file matches .*part-\*\.csv"):
        matching_files(tmp_path / "part-*.csv")


def test_a_path_without_a_pattern_stands_for_itself(tmp_path: Path) -> None:
    odd = tmp_path / "sales[1].csv"
    odd.touch()
    assert matching_files(odd) == (odd,)
    assert matching_files(tmp_path / "gone.csv") == (tmp_path / "gone.csv",)
