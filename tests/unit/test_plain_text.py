from __future__ import annotations

import html
import json

import pytest

from listing_templates.plain_text import clipped, escaped, neutral


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("a\x00b\x1b[2J", "ab[2J"),
        ("\u202eabc\u2066\u200b\ufeff", "abc"),
        ("one\r\n\n# two\u2028three", "one # two three"),
        ("\ud800 x", "x"),
        ("  Größe 12 mm  ", "Größe 12 mm"),
    ],
)
def test_what_cannot_be_seen_is_taken_out(given: str, shown: str) -> None:
    assert neutral(given) == shown


def test_long_text_is_clipped_and_says_so() -> None:
    assert clipped("x" * 2000, 10) == "x" * 9 + "…"
    assert clipped("x" * 10, 10) == "x" * 10


@pytest.mark.parametrize(
    ("given", "written"),
    [
        ("*bold* _it_ `code`", r"\*bold\* \_it\_ \`code\`"),
        ("# head", r"\# head"),
        ("1. first", r"1\. first"),
        ("- item", r"\- item"),
        ("[x](y) <b> & |", r"\[x\](y) \<b\> \& \|"),
        ("see https://a.example or www.a.example", r"see https\://a.example or www\.a.example"),
        ("Wi-Fi: dead (12.5 mm).", "Wi-Fi: dead (12.5 mm)."),
    ],
)
def test_markdown_shows_what_was_written(given: str, written: str) -> None:
    assert escaped(given, "markdown") == written


def test_html_is_escaped_and_text_left_alone() -> None:
    hostile = "<script>\"'&</script>"
    assert html.unescape(escaped(hostile, "html")) == hostile
    assert "<" not in escaped(hostile, "html")
    assert escaped(hostile, "text") == hostile


@pytest.mark.parametrize("hostile", ["</script><b>", 'a "quoted" \\ path', "<!-- & -->", "\u2028", "\x00\n"])
def test_text_in_linked_data_reads_back_and_ends_no_script(hostile: str) -> None:
    shown = escaped(hostile, "json-ld")
    assert json.loads(f'"{shown}"') == hostile
    assert not set("<>&\u2028\n\x00") & set(shown)
