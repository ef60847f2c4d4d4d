"""Text tables: every row has the line on which it starts, whatever stands around it."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from data.importing import encoding
from data.importing.encoding import recognised_encoding
from data.importing.text_table import read_text_table, text_tables
from pricing.errors import BadInput

CELL = st.text(alphabet='ab ,;"\n\té', max_size=6)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(CELL, CELL, CELL), min_size=1, max_size=12), st.sampled_from(["\n", "\r\n"]))
def test_what_a_writer_wrote_is_read_back_with_its_lines(tmp_path, rows, ending):
    stream, starts = io.StringIO(newline=""), []
    writer = csv.writer(stream, lineterminator=ending, quoting=csv.QUOTE_ALL)
    writer.writerow(["one", "two", "three"])
    for row in rows:
        starts.append(stream.getvalue().count("\n") + 1)
        writer.writerow(row)
    path = tmp_path / "table.csv"
    path.write_bytes(stream.getvalue().encode())
    table = read_text_table(path)
    columns = [table.columns[name] for name in ("one", "two", "three")]
    read = [tuple(column.words[column.codes[place]] for column in columns) for place in range(table.rows)]
    assert read == rows
    assert table.line.tolist() == starts
    assert not table.broken


def test_a_stray_quote_does_not_swallow_the_rows_below(tmp_path):
    path = tmp_path / "table.csv"
    lines = ["one,two"] + [f'"{place},x' if place in (3, 50) else f"{place},x" for place in range(2, 400)]
    path.write_text("\n".join(lines) + "\n")
    table = read_text_table(path)
    assert sorted(table.line[row] for row in table.broken) == [3, 50]
    assert table.rows == 398


def test_rows_beyond_one_chunk_keep_their_codes(tmp_path):
    path = tmp_path / "table.csv"
    path.write_text("one,two\n" + "".join(f"{place % 7},w{place}\n" for place in range(45_000)))
    table = read_text_table(path)
    column = table.columns["one"]
    assert [column.words[code] for code in column.codes[[0, 20_003, 44_999]]] == ["0", "4", "3"]
    assert len(table.columns["two"].words) == 45_000


@pytest.mark.parametrize("block", [1, 2, 3, 7, 64])
@pytest.mark.parametrize(
    ("content", "name"),
    [("a,é€\n1,\U0001f600\n".encode(), "utf-8"), (b"a,b\n1,\xe9\xe8\n", "cp1252"), (b"a,b\n1,2\xe9", "cp1252")],
)
def test_the_encoding_does_not_depend_on_where_blocks_end(tmp_path, monkeypatch, block, content, name):
    monkeypatch.setattr(encoding, "BLOCK_BYTES", block)
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    found = recognised_encoding(path)
    assert found.name == name
    assert (found.notice is None) == (name == "utf-8")
    assert "line 2" in (found.notice or "line 2")


@pytest.mark.parametrize("block", [1, 3, 64])
def test_a_broken_character_is_named_by_its_line(tmp_path, monkeypatch, block):
    monkeypatch.setattr(encoding, "BLOCK_BYTES", block)
    path = tmp_path / "table.csv"
    path.write_bytes("a,é\n1,2\n".encode() + b"3,\xe9\n")
    with pytest.raises(BadInput, match="line 3: found the byte 0xe9"):
        recognised_encoding(path)


def test_a_file_that_is_too_large_is_refused_before_it_is_read(tmp_path, monkeypatch):
    monkeypatch.setattr(encoding, "MOST_BYTES", 10)
    path = tmp_path / "table.csv"
    path.write_text("one,two\n1,2\n")
    with pytest.raises(BadInput, match="split the file"):
        read_text_table(path)


@pytest.mark.parametrize("most", [1, 2, 20_000, 20_001, 99_999])
def test_a_file_in_tables_holds_every_row_and_problem_once(tmp_path, most):
    path = tmp_path / "table.csv"
    count = 7 if most < 10 else 45_000
    path.write_text("one,two\n" + "".join('"x,3\n' if row == 5 else f"{row},w\n" for row in range(count)))
    whole, parts = read_text_table(path), list(text_tables(path, most))
    assert max(part.rows for part in parts) <= most
    assert [line for part in parts for line in part.line.tolist()] == whole.line.tolist()
    ones = [part.columns["one"].words[code] for part in parts for code in part.columns["one"].codes]
    assert ones == [whole.columns["one"].words[code] for code in whole.columns["one"].codes]
    assert [problem for part in parts for problem in part.broken.values()] == list(whole.broken.values())
    assert len(whole.broken) == 1
