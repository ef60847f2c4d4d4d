from __future__ import annotations

import pytest

from listing_templates.honesty.sentences import spans_of
from listing_templates.honesty.visible import as_written, has_tags, without_markup


@pytest.mark.parametrize(
    ("page", "text"),
    [
        ("<p>a &amp; b</p>", "\na & b\n"),
        ("a<b>b</b>c", "abc"),
        ("<h2>Faults</h2><ul><li>fan</li></ul>", "\n# Faults\n\n\n- fan\n\n"),
        ("<style>p { }</style>a<!-- b -->c<script>d</script>", "\na\nc\n"),
        ("2 < 3 and <3", "2 < 3 and <3"),
        ("one\ntwo", "one two"),
    ],
)
def test_what_a_page_shows_is_left_when_its_markup_is_taken_out(page: str, text: str) -> None:
    assert without_markup(page).text == text


def test_each_character_knows_its_place_in_the_page() -> None:
    page = "<p>x &amp; <b>Wi-Fi</b></p>"
    seen = without_markup(page)
    start = seen.text.index("Wi-Fi")
    place = seen.place(start, start + 5)
    assert page[slice(*place)] == "Wi-Fi"
    ampersand = seen.text.index("&")
    assert page[slice(*seen.place(ampersand, ampersand + 1))] == "&amp;"
    assert as_written(page).place(3, 4) == (3, 4)


def test_tags_are_told_from_signs() -> None:
    assert has_tags("a <br> b")
    assert not has_tags("a <3 b > c")


def cut(text: str) -> list[str]:
    return [text[span.start : span.end] for span in spans_of(text, frozenset({"approx"}))]


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("One. Two! Three?", ["One.", "Two!", "Three?"]),
        ("It is 12.5 mm, approx. 1 cm. Yes.", ["It is 12.5 mm, approx. 1 cm.", "Yes."]),
        ("One\n\ntwo", ["One", "two"]),
        ("... --- ...", []),
        ('He said "no." Then left.', ['He said "no.', '" Then left.']),
    ],
)
def test_a_text_is_cut_where_sentences_end(text: str, sentences: list[str]) -> None:
    assert cut(text) == sentences


def test_headings_colons_and_lines_above_a_list_lead() -> None:
    text = "# Faults\n\nNot tested:\n- fan\n\nDead\n* hinge\n\nAn end."
    leads = {text[span.start : span.end]: span.leads for span in spans_of(text, frozenset())}
    assert leads == {
        "# Faults": True, "Not tested:": True, "- fan": False, "Dead": True, "* hinge": False, "An end.": False,
    }  # fmt: skip
