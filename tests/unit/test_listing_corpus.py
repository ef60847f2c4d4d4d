"""The corpus of listings is well formed: a text that names a wrong fact or unit would measure nothing."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any, get_args

import pytest

from data.catalogue.reader import class_names, find_class
from data.importing.unit_json import read_unit
from listing_templates.facts import facts_of
from pricing.records.finding import FindingKind
from pricing.records.unit import Unit
from pricing.records.unit_columns import check_unit

CORPUS = Path(__file__).parents[1] / "data" / "listings"
HALVES = {"build": ("b", "a"), "measured": ("m", "b")}  # first letter of the ids, last letter of the families
LANGUAGES = ("en", "de", "fr", "es")
COMMON_WAYS = {1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 13, 14, 16, 18, 19, 21, 22, 23, 26, 27, 31, 32}
ALL_WAYS = set(range(1, 33)) - {30}  # 30 is about pictures
KINDS = set(get_args(FindingKind))
TEXT_KEYS = {"id", "language", "honest", "ways", "family", "unit", "finds", "text"}
PAIR_KEYS = {"id", "language", "honest_for", "false_for", "finds", "text"}

both_halves = pytest.mark.parametrize("half", HALVES)


@cache
def texts_of(half: str) -> list[dict[str, Any]]:
    """Return all texts of a half; a language without its file is an error."""
    files = [CORPUS / half / f"texts_{language}.toml" for language in LANGUAGES]
    return [entry for file in files for entry in tomllib.loads(file.read_text("utf-8"))["text"]]


@cache
def pairs_of(half: str) -> list[dict[str, Any]]:
    """Return all pairs of a half."""
    return list(tomllib.loads((CORPUS / half / "pairs.toml").read_text("utf-8"))["pair"])


@cache
def units_of(half: str) -> dict[str, Unit]:
    """Return all records of a half by the name of their file."""
    return {path.stem: read_unit(path) for path in sorted((CORPUS / half / "units").glob("*.json"))}


@cache
def keys_of(half: str, name: str) -> set[str]:
    """Return the keys of all facts of one unit, and "" for a finding that contradicts no single fact."""
    unit = units_of(half)[name]
    return {fact.key for fact in facts_of(unit, find_class(unit.device_class))} | {""}


@both_halves
def test_every_record_fits_its_class_and_answers_every_function(half: str) -> None:
    for name, unit in units_of(half).items():
        device_class = find_class(unit.device_class)
        check_unit(unit, device_class, name)
        assert set(device_class.functions_by_name) == set(unit.functions), name
    assert {unit.device_class for unit in units_of(half).values()} == set(class_names())


@both_halves
def test_each_language_has_25_honest_and_25_misleading_texts(half: str) -> None:
    counts = Counter((entry["language"], entry["honest"]) for entry in texts_of(half))
    assert counts == {(language, honest): 25 for language in LANGUAGES for honest in (True, False)}


@both_halves
def test_there_are_30_pairs_of_two_different_records_over_all_languages(half: str) -> None:
    pairs = pairs_of(half)
    assert len(pairs) == 30
    assert {pair["language"] for pair in pairs} == set(LANGUAGES)
    for pair in pairs:
        units = units_of(half)
        assert set(pair) == PAIR_KEYS, pair["id"]
        assert units[pair["honest_for"]] != units[pair["false_for"]], pair["id"]
        assert_finds(pair, half, pair["false_for"])


@both_halves
def test_a_misleading_text_names_its_ways_and_what_must_be_found_and_an_honest_one_nothing(half: str) -> None:
    for entry in texts_of(half):
        assert set(entry) == TEXT_KEYS, entry["id"]
        if entry["honest"]:
            assert entry["family"].startswith("h:"), entry["id"]
            assert (entry["ways"], entry["finds"]) == ([], []), entry["id"]
            assert entry["unit"] in units_of(half), entry["id"]
        else:
            assert set(entry["ways"]) <= ALL_WAYS, entry["id"]
            way, letter = re.fullmatch(r"(\d+)([ab])", entry["family"]).groups()  # type: ignore[union-attr]
            assert int(way) in entry["ways"], entry["id"]
            assert letter == HALVES[half][1], entry["id"]
            assert_finds(entry, half, entry["unit"])


@both_halves
def test_the_common_ways_are_in_each_language_and_every_way_is_in_the_half(half: str) -> None:
    seen = {language: set[int]() for language in LANGUAGES}
    for entry in texts_of(half):
        seen[entry["language"]].update(entry["ways"])
    assert {language: COMMON_WAYS - ways for language, ways in seen.items()} == {key: set() for key in LANGUAGES}
    assert set().union(*seen.values()) == ALL_WAYS


@both_halves
def test_numbers_of_texts_are_unique_and_begin_with_the_letter_of_the_half(half: str) -> None:
    numbers = [entry["id"] for entry in (*texts_of(half), *pairs_of(half))]
    assert [number for number, count in Counter(numbers).items() if count > 1] == []
    assert {number.split("-")[0] for number in numbers} == {HALVES[half][0]}


def test_no_text_stands_in_both_halves_or_twice() -> None:
    texts = [" ".join(entry["text"].split()) for half in HALVES for entry in texts_of(half)]
    assert [text for text, count in Counter(texts).items() if count > 1] == []
    assert min(len(text) for text in texts) > 150


def assert_finds(entry: dict[str, Any], half: str, unit: str) -> None:
    """Fail unless the entry names at least one finding, each of known kinds and about a fact of the unit."""
    assert entry["finds"], entry["id"]
    for find in entry["finds"]:
        assert set(find) == {"kind", "fact"}, entry["id"]
        assert find["kind"], entry["id"]
        assert set(find["kind"]) <= KINDS, entry["id"]
        assert find["fact"] in keys_of(half, unit), (entry["id"], find["fact"])
