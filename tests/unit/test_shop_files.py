"""Files are read and written whole, or the reason is told."""

from __future__ import annotations

import pytest

from api.shop.files import read_text, write_rows, write_text
from pricing.errors import BadInput, NotFound


def test_what_is_written_is_read_again_without_a_byte_order_mark(tmp_path):
    write_text(tmp_path / "note", "prices in €\nsecond\r\n")
    assert read_text(tmp_path / "note") == "prices in €\nsecond\r\n"
    (tmp_path / "marked").write_bytes("\ufeffplain".encode())
    assert read_text(tmp_path / "marked") == "plain"


def test_rows_are_quoted_where_they_must_be(tmp_path):
    write_rows(tmp_path / "rows.csv", [("a,b", 'say "hi"'), ("", "x\ny")])
    assert (tmp_path / "rows.csv").read_text() == '"a,b","say ""hi"""\n,"x\ny"\n'


def test_a_write_that_fails_leaves_the_old_file_and_no_rest(tmp_path):
    write_text(tmp_path / "rows.csv", "old")

    def rows():
        yield ("new",)
        raise RuntimeError("the shelf fell down")

    with pytest.raises(RuntimeError):
        write_rows(tmp_path / "rows.csv", rows())
    assert read_text(tmp_path / "rows.csv") == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["rows.csv"]


def test_what_cannot_be_read_or_written_is_told(tmp_path):
    with pytest.raises(NotFound, match="no file"):
        read_text(tmp_path / "none")
    with pytest.raises(BadInput, match="can be read"):
        read_text(tmp_path)
    (tmp_path / "latin").write_bytes(b"caf\xe9")
    with pytest.raises(BadInput, match="0xe9"):
        read_text(tmp_path / "latin")
    with pytest.raises(BadInput, match="can be written"):
        write_text(tmp_path / "none" / "note", "text")
