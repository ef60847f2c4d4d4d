"""Texts that the law of a country asks for: read by country, by day, every mistake named by line."""

from __future__ import annotations

from datetime import date

import pytest

from data.catalogue.country_text_reader import country_texts_from_text, find_country_texts, text_countries
from listing_templates.language import language_tags
from pricing.errors import BadInput, NotFound

HEAD = '[country]\ncountry = "xx"\ntitle = "Nowhere"\n'
TEXT = """[[text]]
name = "slip"
starts = 2020-01-01
required = "a slip"
source = "a law"
say.en = "Here is a slip."
"""


def problems_of(text: str) -> list[tuple[int | None, str | None]]:
    with pytest.raises(BadInput) as refused:
        country_texts_from_text(text, "xx.toml")
    return [(problem.line, problem.column) for problem in refused.value.problems]


@pytest.mark.parametrize("country", text_countries())
def test_every_text_that_comes_along_names_its_source_and_is_said_in_every_language_or_in_none(country: str) -> None:
    texts = find_country_texts(country)
    assert texts.country == country
    assert texts.texts
    for text in texts.texts:
        assert set(text.say) in (set(), set(language_tags())), text.name
        assert text.source


@pytest.mark.parametrize("country", ["de", "at", "fr", "es"])
def test_the_notice_of_a_fixed_form_is_asked_for_from_its_day_on(country: str) -> None:
    texts = find_country_texts(country)
    names = [[text.name for text in texts.in_force(day)] for day in (date(2026, 9, 26), date(2026, 9, 27))]
    assert names == [["withdrawal", "conformity"], ["withdrawal", "conformity", "harmonised_notice"]]


def test_a_text_ends_with_its_last_day() -> None:
    texts = country_texts_from_text(HEAD + TEXT + "ends = 2021-05-31\n", "xx.toml")
    assert len(texts.in_force(date(2021, 5, 31))) == 1
    assert not texts.in_force(date(2021, 6, 1))


def test_every_mistake_is_named_by_its_line() -> None:
    assert problems_of(TEXT) == [(None, "country")]
    assert problems_of(HEAD + TEXT + 'colour = "red"\n') == [(10, "text.colour")]
    soon = TEXT.replace("2020-01-01", '"soon"')
    assert problems_of(HEAD + soon + TEXT) == [(6, "text.starts"), (11, "text.name")]
    assert problems_of(HEAD + TEXT + "ends = 2019-01-01\n") == [(4, "text")]


def test_a_file_of_the_user_comes_first_and_must_be_called_as_its_country(tmp_path) -> None:
    (tmp_path / "de.toml").write_text(HEAD.replace("xx", "de") + TEXT)
    (tmp_path / "yy.toml").write_text(HEAD + TEXT)
    assert [text.name for text in find_country_texts("DE", tmp_path).texts] == ["slip"]
    with pytest.raises(BadInput, match="as the file is called"):
        find_country_texts("yy", tmp_path)


@pytest.mark.parametrize("country", ["zz", "../de", ""])
def test_a_country_without_texts_is_told_which_there_are(country: str) -> None:
    with pytest.raises(NotFound, match="there are: at, de, es, fr, gb"):
        find_country_texts(country)
