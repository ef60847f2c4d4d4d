"""How much of what misleads is found in texts that sellers write, and how many honest texts are stopped for nothing.

Both halves of ``tests/data/listings`` are counted, each language by itself. The rules are built on the half ``build``;
what counts is ``measured``, whose texts nobody reads who writes rules: of it, a failure shows numbers of texts only.
Texts that all was learnt from, ``wide_*`` to ``after_*``, are not counted: the reader knows them by heart. From
``unseen_*`` nothing was learnt.
"""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from data.catalogue.reader import find_class
from data.importing.unit_json import read_unit
from listing_templates.honesty import read_text
from listing_templates.honesty.words import words_tags
from pricing.records.finding import Finding
from pricing.records.unit import Unit

CORPUS = Path(__file__).parents[1] / "data" / "listings"
HALVES = ("build", "measured")
LANGUAGES = ("en", "de", "fr", "es")
LEAST_FOUND = 0.95
MOST_STOPPED = 0.03
MOST_LONG_STOPPED = 0.05
LEAST_PAIRS = 0.95

NO_WORDS = "there are no words of this language yet, it is read as English"
# Bounds that are not met yet: what is counted, half, file -> the figure. A bound that is met fails its entry here.
NOT_YET: dict[tuple[str, str, str], str] = {
    ("found", "build", "other_en"): "10 of 12 found",
    ("found", "build", "other_es"): "10 of 12 found",
    ("found", "build", "other_fr"): "12 of 13 found",
    ("found", "build", "texts_en"): "24 of 26 found",
    ("found", "build", "unseen_de"): "43 of 48 found",
    ("found", "build", "unseen_es"): "43 of 48 found",
    ("found", "build", "unseen_fr"): "45 of 48 found",
    ("stopped", "build", "long_en"): "1 of 12 stopped",
    ("stopped", "build", "more_de"): "2 of 36 stopped",
    ("stopped", "build", "more_en"): "2 of 36 stopped",
    ("stopped", "build", "other_de"): "2 of 32 stopped",
    ("stopped", "build", "other_en"): "5 of 32 stopped",
    ("stopped", "build", "other_fr"): "1 of 32 stopped",
    ("stopped", "build", "unseen_de"): "3 of 48 stopped",
    ("stopped", "build", "unseen_en"): "3 of 48 stopped",
    ("stopped", "build", "unseen_fr"): "4 of 48 stopped",
    ("pairs", "measured", "de"): "7 of 8 right",
    ("pairs", "measured", "es"): "6 of 7 right",
    ("pairs", "measured", "fr"): "4 of 7 right",
    ("stopped", "measured", "long_de"): "1 of 13 stopped",
    ("stopped", "measured", "long_en"): "2 of 13 stopped",
    ("stopped", "measured", "long_es"): "3 of 13 stopped",
    ("stopped", "measured", "long_fr"): "2 of 13 stopped",
    ("stopped", "measured", "texts_de"): "1 of 25 stopped",
    ("stopped", "measured", "texts_es"): "2 of 25 stopped",
    ("stopped", "measured", "texts_fr"): "1 of 25 stopped",
}


def cases(counted: str, *kinds: str) -> pytest.MarkDecorator:
    """Return the parameters of a count: half and file of each text file of these kinds; unmet ones are marked."""
    names = sorted(f"{kind}_{language}" for kind in kinds for language in LANGUAGES)
    found = [(half, name) for half in HALVES for name in names if (CORPUS / half / f"{name}.toml").exists()]
    return pytest.mark.parametrize(
        ("half", "file"), [pytest.param(*case, marks=unmet(counted, *case)) for case in found]
    )


def unmet(counted: str, half: str, name: str) -> tuple[pytest.MarkDecorator, ...]:
    """Return the mark of a case that is known not to keep its bound yet."""
    reason = NOT_YET.get((counted, half, name), "" if name[-2:] in words_tags() else NO_WORDS)
    return (pytest.mark.xfail(strict=True, reason=reason),) if reason else ()


@cache
def unit_of(half: str, name: str) -> Unit:
    """Return the record of one unit of a half."""
    return read_unit(CORPUS / half / "units" / f"{name}.json")


def entries_of(half: str, file: str, table: str = "text") -> list[dict[str, Any]]:
    """Return the entries of one file of a half."""
    return list(tomllib.loads((CORPUS / half / f"{file}.toml").read_text("utf-8"))[table])


def read(entry: dict[str, Any], half: str, name: str) -> tuple[Finding, ...]:
    """Return what the reader finds in a text against one unit."""
    unit = unit_of(half, name)
    return read_text(entry["text"], unit, find_class(unit.device_class), language=entry["language"])


def missed_in(entry: dict[str, Any], findings: tuple[Finding, ...]) -> list[str]:
    """Return the number of the text once for each find not reported.

    Any of its kinds about its fact reports it; where it is about no single fact ("flawless"), its kind alone.
    """
    return [
        entry["id"]
        for find in entry["finds"]
        if not any(found.kind in find["kind"] and find["fact"] in ("", found.fact) for found in findings)
    ]


def assert_few(wrong: list[str], of_all: int, most: float) -> None:
    """Fail where more than a share are wrong; of the texts themselves the message shows nothing."""
    message = f"{len(wrong)} of {of_all}: {' '.join(wrong)}"
    if len(wrong) > most * of_all + 1e-9:
        pytest.fail(message, pytrace=False)


@cases("found", "texts", "other", "unseen")
def test_95_percent_of_what_misleads_is_found(half: str, file: str) -> None:
    misleading = [entry for entry in entries_of(half, file) if not entry["honest"]]
    missed = [number for entry in misleading for number in missed_in(entry, read(entry, half, entry["unit"]))]
    assert_few(missed, sum(len(entry["finds"]) for entry in misleading), 1 - LEAST_FOUND)


@cases("stopped", "texts", "more", "other", "unseen")
def test_at_most_3_percent_of_honest_texts_are_stopped(half: str, file: str) -> None:
    assert_few(*stopped(half, file), MOST_STOPPED)


@cases("stopped", "long")
def test_at_most_5_percent_of_long_honest_texts_are_stopped(half: str, file: str) -> None:
    assert_few(*stopped(half, file), MOST_LONG_STOPPED)


def stopped(half: str, file: str) -> tuple[list[str], int]:
    """Return the numbers of the honest texts of which anything is reported, and how many honest ones there are."""
    honest = [entry for entry in entries_of(half, file) if entry["honest"]]
    return [entry["id"] for entry in honest if read(entry, half, entry["unit"])], len(honest)


@pytest.mark.parametrize(
    ("half", "language"),
    [pytest.param(half, one, marks=unmet("pairs", half, one)) for half in HALVES for one in LANGUAGES],
)
def test_95_percent_of_pairs_pass_for_one_record_and_are_found_for_the_other(half: str, language: str) -> None:
    pairs = [pair for pair in entries_of(half, "pairs", "pair") if pair["language"] == language]
    assert_few([pair["id"] for pair in pairs if not is_told_apart(pair, half)], len(pairs), 1 - LEAST_PAIRS)


def is_told_apart(pair: dict[str, Any], half: str) -> bool:
    """Return whether nothing is reported for the one record, and all that is wanted for the other."""
    found = read(pair, half, pair["false_for"])
    return not read(pair, half, pair["honest_for"]) and not missed_in(pair, found)
