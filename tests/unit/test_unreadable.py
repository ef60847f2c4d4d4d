"""What a text holds and its reader does not see: hidden on a page, disguised, or in another language."""

from __future__ import annotations

import pytest

from listing_templates.honesty import read_text
from listing_templates.honesty.disguise import disguised
from listing_templates.honesty.tongue import foreign_to, language_of
from listing_templates.honesty.visible import without_markup
from tests.builders import healthy, small_class, spotless

DEAD = spotless(functions=healthy(wifi="dead"))


@pytest.mark.parametrize(
    "page",
    [
        '<p style="display:none">dead</p>',
        '<p style="DISPLAY : none !important">dead</p>',
        '<div style="visibility:hidden"><p>dead</p></div>',
        '<p style="color:#fff">dead</p>',
        '<p style="background:#222;color:#232323">dead</p>',
        '<font color="white">dead</font>',
        '<p style="font-size:0">dead</p>',
        '<p style="font-size:20%"><span style="font-size:0.9em">dead</span></p>',
        '<p style="opacity:0.05">dead</p>',
        '<p style="position:absolute;left:-9999px">dead</p>',
        '<p style="text-indent:-999em">dead</p>',
        '<p style="height:0;overflow:hidden">dead</p>',
        "<p hidden>dead</p>",
        '<p aria-hidden="true">dead</p>',
        "<details><summary>More</summary>dead</details>",
        "<style>.n { color: white }</style><p class='m n'>dead</p>",
        "<style>p#x, div { display: none }</style><p id=x>dead</p>",
    ],
)
def test_what_a_page_hides_is_not_seen_and_its_place_is_known(page: str) -> None:
    seen = without_markup(page)
    assert "dead" not in seen.text
    assert [page[start:end] for start, end in seen.hidden] == ["dead"]


@pytest.mark.parametrize(
    "page",
    [
        '<p style="color:#333">dead</p>',
        '<p style="background:#000"><span style="color:#fff">dead</span></p>',
        '<p style="display:none"></p><p>dead</p>',
        '<p style="display:none"><br></p>dead',
        "<details open><summary>More</summary>dead</details>",
        "<details><summary>dead</summary></details>",
        '<p style="font-size:small; left: -3px; height: 20px">dead</p>',
        '<img style="display:none" alt="x">dead',
        "<style>@media print { p { display: none } }</style><p>dead</p>",
    ],
)
def test_what_a_page_shows_is_seen(page: str) -> None:
    seen = without_markup(page)
    assert "dead" in seen.text
    assert seen.hidden == ()


@pytest.mark.parametrize(
    "text",
    [
        "d e a d", "d.e.a.d", "d-e-f-e-c-t", "de\u200bad", "\u202edaed", "dе\u0430d", "ԁеа\u0501 here",
        "𝖉𝖊𝖆𝖉", "ｄｅａｄ",
    ],
)  # fmt: skip
def test_a_disguised_word_is_found(text: str) -> None:
    assert list(disguised(text))


@pytest.mark.parametrize(
    "text",
    [
        "W A S D keys", "e.g. a b", "i.e. it works", "the größe, façade, señal", "24 µm, 5 Ω", "Λ 3",
        "👩‍🔧 mended", "f/2.8 II",
        "a - b - c", "1 . 2 . 3", "Привет", "½ m",
    ],
)  # fmt: skip
def test_ordinary_letters_are_no_disguise(text: str) -> None:
    assert list(disguised(text)) == []


@pytest.mark.parametrize(
    ("text", "tag"),
    [
        ("The camera works and the back has a scratch.", "en"),
        ("Die Kamera funktioniert, das Display ist zerkratzt und der Akku schwach.", "de"),
        ("La caméra fonctionne, mais le dos est rayé et la batterie est faible.", "fr"),
        ("La cámara funciona, pero la parte de atrás está rayada y no tiene caja.", "es"),
        ("", "en"),
    ],
)
def test_the_language_of_a_text_is_told(text: str, tag: str) -> None:
    assert language_of(text) == tag


def test_a_line_in_another_language_is_told_from_a_line_with_a_foreign_word() -> None:
    assert foreign_to("en", "Das WLAN ist defekt und wurde nicht repariert.") == "de"
    assert foreign_to("en", "The Weltzeit model with the Autobahn dial works.") is None
    assert foreign_to("de", "Das Gerät ist in the box.") is None


def test_a_defect_told_where_nobody_reads_it_is_missing_and_unreadable() -> None:
    text = "<p>A talker.</p><p style='display:none'>The Wi-Fi is dead.</p>"
    missing, = (found for found in read_text(text, DEAD, small_class()) if found.kind == "missing")
    hidden, = (found for found in read_text(text, DEAD, small_class()) if found.kind == "unreadable")
    assert (missing.fact, hidden.fact) == ("function:wifi", "function:wifi")
    assert text[hidden.start : hidden.end] == "The Wi-Fi is dead."


def test_a_defect_told_in_another_language_is_unreadable_and_a_greeting_is_not() -> None:
    line = "Das WLAN ist defekt und wurde nicht repariert."
    found = {finding.kind for finding in read_text(f"This is a talker. {line}", DEAD, small_class(), language="en")}
    assert found == {"missing", "unreadable"}
    greeting = "Viele Grüße aus der Werkstatt und bis bald, das Team ist für Sie da."
    text = f"The Wi-Fi is dead. {greeting}"
    assert read_text(text, DEAD, small_class(), language="en") == ()
