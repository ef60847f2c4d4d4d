"""How numbers are written: what one mark explains is read, what two explain is not."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from data.importing.numerals import proven_mark, read_numbers, shapes_of
from data.importing.text_table import WordColumn

AMOUNTS = st.lists(st.decimals(0, 10**9, places=2), min_size=1, max_size=20)


def column_of(*words: str) -> WordColumn:
    distinct = tuple(dict.fromkeys(words))
    return WordColumn(np.array([distinct.index(word) for word in words], dtype=np.int32), distinct)


def with_comma(text: str) -> str:
    return text.translate(str.maketrans(",.", ".,"))


@given(AMOUNTS, st.booleans(), st.booleans())
def test_amounts_with_two_decimals_are_read_back_however_they_are_written(amounts, grouped, comma):
    words = [f"{amount:,.2f}" if grouped else f"{amount:.2f}" for amount in amounts]
    column = column_of(*(map(with_comma, words) if comma else words))
    numbers = read_numbers("price", column, shapes_of(column), None)
    assert not numbers.bad_words
    assert [Decimal(repr(value)) for value in numbers.values.tolist()] == amounts
    assert (numbers.notice is not None) >= comma


@given(st.lists(st.integers(1000, 999_999), min_size=1, max_size=10))
def test_amounts_that_two_marks_explain_are_all_refused(amounts):
    column = column_of(*(f"{amount:,}" for amount in amounts))
    numbers = read_numbers("price", column, shapes_of(column), None)
    assert len(numbers.bad_words) == len(column.words)
    assert np.isnan(numbers.values).all()


@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("12", "whole"), ("-12", "whole"), ("+1", "whole"), ("0012", "whole"),
        ("1.5", "point"), (".5", "point"), ("1.", "point"), ("1,234.5", "point"), ("1,234,567", "point"),
        ("1e5", "point"), ("1.5E-3", "point"), ("0.125", "point"), ("1234.567", "point"),
        ("1,5", "comma"), (",5", "comma"), ("1.234,5", "comma"), ("1.234.567", "comma"), ("0,125", "comma"),
        ("1,234", "both"), ("1.234", "both"), ("-12.345", "both"),
        ("", "blank"), ("1,2,3", "none"), ("1.2.3", "none"), ("12,34.5", "none"), ("0x1f", "none"),
        ("1 000", "none"), ("1'000", "none"), ("--1", "none"), ("nan", "none"), ("-", "none"),
        ("1e", "none"), ("1e999999", "none"), ("²", "none"), ("9" * 401, "none"),
    ],
)  # fmt: skip
def test_each_shape_is_told_from_the_others(word, kind):
    assert shapes_of(column_of(word)).kinds == (kind,)


@pytest.mark.parametrize(
    ("columns", "delimiter", "mark"),
    [
        ([["1.5"], ["1,234"]], ",", "point"),
        ([["1,5"], ["1.234"]], ";", "comma"),
        ([["1.5"], ["1,5"]], ";", None),
        ([["1,234"]], ";", "comma"),
        ([["1,234"]], "\t", None),
        ([["1.234", "1,234"]], ";", None),
        ([["12"]], ";", None),
    ],
)
def test_a_file_proves_its_mark_by_all_its_columns(columns, delimiter, mark):
    assert proven_mark([shapes_of(column_of(*words)).marks for words in columns], delimiter) == mark


CELLS = st.sampled_from(["", "12", "1.5", "1,5", "1.234", "1,234", "1,234.5", "1.234,5", "x", "9" * 390 + ",5"])


@given(st.lists(CELLS, max_size=12), st.lists(CELLS, max_size=12), st.sampled_from([None, "point", "comma"]))
def test_a_file_read_in_parts_is_read_as_the_whole(first, second, file_mark):
    whole = column_of(*first, *second)
    expected = read_numbers("price", whole, shapes_of(whole), file_mark)
    parts = [column_of(*first), column_of(*second)]
    marks = shapes_of(parts[0]).marks.plus(shapes_of(parts[1]).marks)
    assert marks == shapes_of(whole).marks
    found = [read_numbers("price", part, shapes_of(part), file_mark, marks) for part in parts]
    values = np.concatenate([each.values for each in found])
    assert np.array_equal(values, expected.values, equal_nan=True)
    assert [each.notice for each in found] == [expected.notice] * 2


def test_in_a_typed_column_a_point_is_the_decimal_point():
    column = column_of("1.234", "7")
    assert read_numbers("size", column, shapes_of(column), None).bad_words
    assert read_numbers("size", column, shapes_of(column, typed=True), None).values.tolist() == [1.234, 7.0]
