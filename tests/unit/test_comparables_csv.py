"""Sales files: what is read, what is refused, and where each problem is said to be."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from data.demo.generate import generate, write_csv
from data.importing.comparables_csv import SalesReading, read_sales
from data.importing.rates import DatedRate
from pricing.errors import BadInput, NotFound
from pricing.records.device_class import Attribute, DeviceClass, Function, Lock, Part, Surface
from pricing.records.sales_table import TextColumn

TODAY = date(2026, 11, 25)
KETTLE = DeviceClass(
    name="kettle",
    attributes=(
        Attribute(name="brand", kind="group"),
        Attribute(name="litres", kind="number", scale="log"),
        Attribute(name="colour", kind="choice", options=("red", "blue")),
    ),
    functions=(Function(name="boils"), Function(name="whistles")),
    surfaces=(Surface(name="body"),),
    parts=(Part(name="lid"),),
    locks=(Lock(name="owner"),),
)


class OneRate:
    """Every rate is 2, published some days before."""

    def __init__(self, age: int = 0) -> None:
        self.age = age
        self.asked_for: list[tuple[str, str, date]] = []

    def rate(self, currency: str, base: str, day: date) -> DatedRate:
        self.asked_for.append((currency, base, day))
        return DatedRate(Decimal(2), date.fromordinal(day.toordinal() - self.age))


def read(tmp_path: Path, content: str | bytes, **options: object) -> SalesReading:
    path = tmp_path / "sales.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    device_class = options.pop("device_class", KETTLE)
    return read_sales(path, device_class, **{"base": None, "today": TODAY, **options})


def told(reading: SalesReading) -> list[tuple[int | None, str | None]]:
    return [(problem.line, problem.column) for problem in reading.problems]


def test_all_columns_of_a_sales_file_are_read(tmp_path):
    reading = read(
        tmp_path,
        "price,currency,sold_on,brand,litres,colour,sold_as,asked,ask,listed_on,withdrawn_on,still_listed,"
        "channel,country,price_includes_postage,refunded,opened,battery_share,"
        "fault:boils,mark:body,part:lid,lock:owner\n"
        "12.50,EUR,2026-01-02,Ambrisk,1.7,red,working,no,13,2026-01-01,,no,"
        "counter,AT,yes,no,yes,90,works,scratch+dent,salvaged,free\n"
        "9,EUR,,,,,,,,,,yes,,,,,,,Dead,none,unknown,not checked\n"
        "8,EUR,2026-02-01,,,,parts,,,2026-01-01,2026-02-01,,,,,yes,not known,,,covered,,\n",
    )
    table, condition = reading.table, reading.table.condition
    assert reading.problems == ()
    assert reading.rows_read == table.rows == 3
    assert table.currency == "EUR"
    assert table.price.tolist() == [12.5, 9.0, 8.0]
    assert table.asked.tolist() == [False, True, True]
    assert table.refunded.tolist() == [False, False, True]
    assert table.still_listed.tolist() == [False, True, False]
    assert str(table.withdrawn_on[2]) == "2026-02-01"
    assert str(condition.sold_on[0]) == "2026-01-02"
    assert np.isnat(condition.sold_on[1])
    assert condition.numbers["litres"][0] == 1.7
    assert np.isnan(condition.numbers["battery_share"][1])
    words = {
        name: [column.word(row) for row in range(3)]
        for group in (condition.texts, condition.faults, condition.marks, condition.parts, condition.locks)
        for name, column in group.items()
    }
    assert words["brand"] == ["Ambrisk", None, None]
    assert words["opened"] == ["by others", None, None]
    assert words["price_includes_postage"] == ["yes", None, None]
    assert words["boils"] == ["works", "dead", None]
    assert words["body"] == ["dent+scratch", "none", "covered"]
    assert words["lid"] == ["salvaged", None, None]
    assert words["owner"] == ["free", "not checked", None]
    assert condition.sold_as.word(2) == "parts"
    assert table.line.tolist() == [2, 3, 4]


CELLS = [
    ("price", "0", "above 0"),
    ("price", "-5", "above 0"),
    ("price", "", "above 0"),
    ("price", "NaN", "a number such as"),
    ("price", "inf", "a number such as"),
    ("price", "1e400", "too large"),
    ("price", "1e-400", "above 0"),
    ("price", "12 000", "a number such as"),
    ("price", "€12", "a number such as"),
    ("price", "1_000", "a number such as"),
    ("price", "１２", "a number such as"),
    ("price", "1.234,50", "decimal point"),
    ("currency", "XQZ", "ISO 4217"),
    ("currency", "", "as in the other rows"),
    ("sold_on", "2026-11-26", "not after today"),
    ("sold_on", "2026-02-30", "YYYY-MM-DD"),
    ("sold_on", "01.02.2026", "YYYY-MM-DD"),
    ("sold_on", "0001-01-01", "from 1970"),
    ("sold_on", "2025-12-31", "not before listed_on"),
    ("withdrawn_on", "2025-12-31", "not before listed_on"),
    ("sold_as", "broken", "working, faulty, parts"),
    ("asked", "maybe", "one of yes, no"),
    ("ask", "0", "above 0"),
    ("opened", "perhaps", "by others"),
    ("battery_share", "151", "0 to 150"),
    ("litres", "0", "scale is log"),
    ("litres", "about two", "a number such as"),
    ("colour", "Red", "red, blue"),
    ("class", "phone", "kettle"),
    ("fault:boils", "broken", "works, impaired"),
    ("mark:body", "scratch+hole", "kinds of mark"),
    ("mark:body", "none+dent", "kinds of mark"),
    ("part:lid", "new", "third-party"),
    ("lock:owner", "open", "not checked"),
]
NAMES = list(dict.fromkeys(["listed_on", *(name for name, _, _ in CELLS)]))
GOOD = {"price": "10.50", "currency": "EUR", "listed_on": "2026-01-01"}


@pytest.mark.parametrize(("name", "word", "expected"), CELLS)
def test_a_bad_cell_is_one_problem_and_hides_no_other_row(tmp_path, name, word, expected):
    good = ",".join(GOOD.get(column, "") for column in NAMES)
    bad = ",".join(f'"{word}"' if column == name else GOOD.get(column, "") for column in NAMES)
    reading = read(tmp_path, "\n".join([",".join(NAMES), good, bad, good, bad, good]) + "\n")
    assert told(reading) == [(3, name), (5, name)]
    assert expected in reading.problems[0].expected
    assert reading.problems[0].source == "sales.csv"
    assert (word[:10] or "nothing") in reading.problems[0].found
    assert reading.table.rows == 3
    assert reading.table.line.tolist() == [2, 4, 6]


FILES = [
    (b"", "empty file"),
    (b"price\n", "no row"),
    (b"\n\n", "no column names"),
    (b"brand,litres\nx,1\n", "a column named price"),
    (b"price,price\n1,2\n", "twice"),
    (b"price,\n1,2\n", "an empty name"),
    (b"price,fault:flies\n1,works\n", "boils, whistles"),
    (b"price,mark:\n1,none\n", "body"),
    (b"price;a,b\n1;2,3\n", "parted by comma, semicolon"),
    (b"price,brand\n1;2\n3;4\n", "another number of cells"),
    ("price,brand\n1,x\n".encode("utf-16"), "UTF-16"),
    (b"price,brand\n1,\x00\n", "NUL"),
    (b"PK\x03\x04rest", "packed file"),
    (b"price,brand\n1,Gr\x81n\n", "0x81"),
    ("price,brand\n1,Grün\n".encode() + b"2,Gr\xfcn\n", "UTF-8 throughout"),
    (b"price,currency\n1,EUR\n2,USD\n", "--base"),
    (b'"price,brand\n1,x\n', "quote"),
]


@pytest.mark.parametrize(("content", "expected"), FILES)
def test_a_file_that_cannot_be_used_is_refused_with_the_reason(tmp_path, content, expected):
    with pytest.raises(BadInput) as caught:
        read(tmp_path, content)
    assert expected in str(caught.value)
    assert caught.value.problems
    assert all(problem.source == "sales.csv" for problem in caught.value.problems)


def test_a_file_or_folder_that_is_not_there_is_told_apart(tmp_path):
    with pytest.raises(NotFound):
        read_sales(tmp_path / "none.csv", KETTLE, base=None, today=TODAY)
    with pytest.raises(BadInput, match="folder"):
        read_sales(tmp_path, KETTLE, base=None, today=TODAY)


@pytest.mark.parametrize(
    ("content", "brand", "notices"),
    [
        ("price,brand\n1,Grün\n".encode(), "Grün", 0),
        ("price,brand\n1,Grün\n".encode("utf-8-sig"), "Grün", 0),
        ("price,brand\n1,Grün\n".encode("cp1252"), "Grün", 1),
        (b"price;brand\r\n1;Gruen\r\n", "Gruen", 0),
        (b"price\tbrand\n1\tGruen\n", "Gruen", 0),
        (b"price|brand\n1|a,b\n", "a,b", 0),
        (b'price,brand\n1,"a ""b"", c"\n', 'a "b", c', 0),
    ],
)
def test_encodings_and_delimiters_are_recognised(tmp_path, content, brand, notices):
    reading = read(tmp_path, content)
    assert reading.table.condition.texts["brand"].word(0) == brand
    assert len([notice for notice in reading.notices if "Windows-1252" in notice]) == notices


@pytest.mark.parametrize(
    ("content", "prices", "notice"),
    [
        ("price;litres\n1.234,50;1\n12,5;2\n", [1234.5, 12.5], "1.234,50 is 1234.5"),
        ("price;litres\n1,234;1\n", [1.234], "1,234 is 1.234"),
        ('price,litres\n"1,234",1.5\n', [1234.0], "1,234 is 1234"),
        ('price,litres\n"1,234.50",1\n', [1234.5], "1,234.50 is 1234.5"),
        ("price,litres\n1.234,1.75\n", [1.234], None),
        ("price\n1e3\n", [1000.0], None),
        ("price\n0.325\n", [0.325], None),
    ],
)
def test_the_decimal_mark_is_recognised_and_said(tmp_path, content, prices, notice):
    reading = read(tmp_path, content)
    assert reading.table.price.tolist() == prices
    assert reading.problems == ()
    if notice is not None:
        assert any(notice in line for line in reading.notices)


@pytest.mark.parametrize(
    ("content", "lines", "expected"),
    [
        ('price\n"1,234"\n12\n', [2], "1234 or 1.234"),
        ("price;litres\n1.234;\n", [2], "1.234 or 1234"),
        ("price;litres\n1.5;\n1,5;\n", [2, 3], "one decimal mark"),
        ("price;litres\n1.5;\n2.5;\n1,5;\n1.234;\n", [4, 5], "a decimal point"),
    ],
)
def test_a_number_with_two_readings_is_never_guessed(tmp_path, content, lines, expected):
    reading = read(tmp_path, content)
    assert [problem.line for problem in reading.problems] == lines
    assert expected in reading.problems[0].expected


def test_rows_that_are_no_rows_are_named_by_line_and_hide_nothing(tmp_path):
    long_cell = "x" * 120_000
    huge_cell = "y" * 10_000_000
    reading = read(
        tmp_path,
        f'price,brand\n1,"two\nlines"\n2\n3,a,b\n4,"open\n5,x\n\n6,{long_cell}\n7,{huge_cell}\n8,"a"b\n9,z\n',
    )
    assert [problem.line for problem in reading.problems] == [4, 5, 6, 9, 10, 11]
    assert reading.table.price.tolist() == [1.0, 5.0, 9.0]
    assert reading.table.line.tolist() == [2, 7, 12]
    assert reading.table.condition.texts["brand"].word(0) == "two\nlines"
    assert len(str(reading.problems[3])) < 300


def test_a_class_that_describes_no_functions_takes_them_from_the_file(tmp_path):
    bare = DeviceClass(name="lamp", attributes=(Attribute(name="brand", kind="group"),))
    reading = read(
        tmp_path,
        "price,fault:glows,mark:shade,part:bulb,lock:owner\n5,dead,crack,original,free\n",
        device_class=bare,
    )
    assert set(reading.device_class.functions_by_name) == {"glows"}
    assert set(reading.device_class.surfaces_by_name) == {"shade"}
    assert reading.table.condition.faults["glows"].word(0) == "dead"
    assert any("no column for brand" in notice for notice in reading.notices)
    assert reading.table.condition.texts["brand"].word(0) is None


def test_unknown_columns_are_passed_by_with_a_notice(tmp_path):
    reading = read(tmp_path, "price,shelf,estimate\n5,3,7\n")
    assert any("shelf, estimate" in notice for notice in reading.notices)
    assert reading.table.rows == 1


@pytest.mark.parametrize(
    ("content", "base", "currency"),
    [("price\n5\n", None, ""), ("price\n5\n", "eur", "EUR"), ("price,currency\n5,usd\n", None, "USD"),
     ("price,currency\n5,USD\n", "USD", "USD"), ("price,currency\n5,\n", None, "")],
)  # fmt: skip
def test_one_currency_needs_no_rate(tmp_path, content, base, currency):
    rates = OneRate()
    reading = read(tmp_path, content, base=base, rates=rates)
    assert reading.table.currency == currency
    assert reading.table.price.tolist() == [5.0]
    assert rates.asked_for == []


def test_several_currencies_are_converted_at_the_rate_of_their_day(tmp_path):
    rates = OneRate(age=9)
    reading = read(
        tmp_path,
        "price,ask,currency,sold_on\n5,6,USD,2026-01-05\n5,6,USD,2026-01-05\n7,,EUR,2026-01-06\n5,,USD,\n",
        base="EUR",
        rates=rates,
    )
    assert reading.table.price.tolist() == [10.0, 10.0, 14.0]
    assert reading.table.ask.tolist()[:2] == [12.0, 12.0]
    assert told(reading) == [(5, "sold_on")]
    assert rates.asked_for.count(("USD", "EUR", date(2026, 1, 5))) == 1
    (stale,) = [notice for notice in reading.notices if "days old" in notice]
    assert stale.startswith("3 prices converted at a rate more than 7 days old; the oldest is 9 days old: USD of 2025")


class AgedRates:
    """One to two, published some days before: so many for each currency."""

    def __init__(self, **ages: int) -> None:
        self.ages = ages

    def rate(self, currency: str, base: str, day: date) -> DatedRate:
        return DatedRate(Decimal(2), day - timedelta(days=self.ages.get(currency, 0)))


def test_stale_rates_are_counted_by_price_and_the_oldest_is_named(tmp_path):
    rows = "".join(f"5,{currency},2026-01-{day:02}\n" for currency in ("USD", "GBP", "CHF") for day in (5, 5, 6))
    rates = AgedRates(USD=7, GBP=8, CHF=30)
    notices = read(tmp_path, "price,currency,sold_on\n" + rows, base="EUR", rates=rates).notices
    (stale,) = [notice for notice in notices if "days old" in notice]
    assert stale.startswith("6 prices converted at a rate more than 7 days old; the oldest is 30 days old: CHF of 2025")
    fresh = read(tmp_path, "price,currency,sold_on\n5,USD,2026-01-05\n", base="EUR", rates=rates).notices
    assert not any("days old" in notice for notice in fresh)


def test_a_base_that_is_no_currency_is_refused(tmp_path):
    with pytest.raises(BadInput, match="unknown currency"):
        read(tmp_path, "price\n5\n", base="gold")


@pytest.mark.parametrize("name", ["phone", "laptop", "console"])
def test_reading_what_was_written_gives_the_same_table(tmp_path, name):
    demo = generate(11, rows={name: 300})
    before = demo.tables[name]
    write_csv(before, demo.device_classes[name], tmp_path / "sales.csv")
    reading = read_sales(tmp_path / "sales.csv", demo.device_classes[name], base=None, today=TODAY)
    after = reading.table
    assert reading.problems == ()
    for label in ("price", "asked", "refunded", "ask", "listed_on", "withdrawn_on", "still_listed", "line"):
        np.testing.assert_array_equal(getattr(after, label), getattr(before, label), err_msg=label)
    np.testing.assert_array_equal(after.condition.sold_on, before.condition.sold_on)
    for column, values in before.condition.numbers.items():
        np.testing.assert_array_equal(after.condition.numbers[column], values, err_msg=column)
    for label in ("texts", "faults", "marks", "parts", "locks"):
        for column, words in getattr(before.condition, label).items():
            assert all_words(getattr(after.condition, label)[column]) == all_words(words), column
    assert all_words(after.condition.sold_as) == all_words(before.condition.sold_as)


def all_words(column: TextColumn) -> list[str | None]:
    return [column.word(row) for row in range(len(column.codes))]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    content=st.one_of(
        st.binary(max_size=200),
        st.text(alphabet='price,;\t|"\n\r 0123.-é\x85\u2028', max_size=200).map(
            lambda text: ("price,brand\n" + text).encode()
        ),
        st.binary(max_size=60).map(lambda noise: b"price,sold_on,fault:boils\n10,2026-01-01,works\n" + noise),
    )
)
def test_no_file_brings_down_the_reader(tmp_path, content):
    try:
        reading = read(tmp_path, content)
    except BadInput:
        return
    assert reading.rows_read >= reading.table.rows
    assert {problem.line for problem in reading.problems}.isdisjoint(reading.table.line.tolist())
