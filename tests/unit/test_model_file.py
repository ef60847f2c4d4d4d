from __future__ import annotations

import json
from contextlib import suppress
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pricing.errors import BadModelFile
from pricing.hedonic.fit import fit_model
from pricing.hedonic.model import PriceModel
from pricing.hedonic.model_file import _digest, model_from_text, model_to_text
from pricing.records.sales_table import SalesTable
from tests.builders import small_class
from tests.counts import count
from tests.market import small_sales

FLIPS = 600


@pytest.fixture(scope="module")
def text(model: PriceModel) -> str:
    return model_to_text(model)


def forged(text: str, **fields: Any) -> str:
    """Return the file with other fields and a fingerprint that fits them."""
    whole = {**json.loads(text), **fields}
    content = {name: value for name, value in whole.items() if name not in ("plainsale_model", "fingerprint")}
    return json.dumps({**whole, "fingerprint": _digest(content)})


def test_a_model_comes_back_with_the_same_text(model: PriceModel, text: str) -> None:
    again = model_from_text(text, "m.json")
    assert model_to_text(again) == text
    assert again.fingerprint == model.fingerprint


def test_a_model_that_came_back_predicts_the_same_bit_for_bit(
    model: PriceModel, text: str, sales: SalesTable
) -> None:
    again = model_from_text(text, "m.json")
    first, second = (each.predict(each.dated(sales.condition, None)) for each in (model, again))
    assert np.array_equal(first.mean, second.mean)
    assert np.array_equal(first.own, second.own)
    assert np.array_equal(first.unseen, second.unseen)
    for level in (50, 80, 90, 95):
        assert np.array_equal(model.interval(first, level), again.interval(second, level))
    assert np.array_equal(model.expected(first), again.expected(second))


def test_a_model_of_demo_phones_comes_back_with_its_class(phone_model: PriceModel) -> None:
    text = model_to_text(phone_model)
    again = model_from_text(text, "m.json")
    assert again.device_class == phone_model.device_class
    assert model_to_text(again) == text


def test_other_sales_give_another_fingerprint(model: PriceModel) -> None:
    assert fit_model(small_sales(seed=9), small_class()).fingerprint != model.fingerprint


@settings(max_examples=count(FLIPS), deadline=None)
@given(st.data())
def test_a_file_with_another_character_anywhere_is_refused_or_says_the_same(text: str, data: st.DataObject) -> None:
    place = data.draw(st.one_of(st.integers(0, 300), st.integers(0, len(text) - 1)))
    other = data.draw(st.sampled_from('0123456789eE+-.,:[]{}"x \n\\é\x00') | st.characters())
    damaged = text[:place] + other + text[place + 1 :]
    with suppress(BadModelFile):
        # A digit beyond a float's precision, or a blank for the last line break, changes nothing.
        assert model_to_text(model_from_text(damaged, "m.json")) == text


@settings(max_examples=count(200), deadline=None)
@given(st.data())
def test_a_file_cut_short_anywhere_is_refused(text: str, data: st.DataObject) -> None:
    with pytest.raises(BadModelFile):
        model_from_text(text[: data.draw(st.integers(0, len(text) - 2))], "m.json")


@pytest.mark.parametrize(
    "damaged", ["", "null", "[]", "{}", "5", '"plainsale_model"', "\x00", "[" * 100_000, "9" * 5000, '{"a": \ud800}']
)
def test_a_text_that_is_no_model_is_refused(damaged: str) -> None:
    with pytest.raises(BadModelFile, match="not a model file"):
        model_from_text(damaged, "m.json")


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e999", "9" * 400])
def test_a_number_that_json_does_not_know_is_refused(text: str, number: str) -> None:
    damaged = text.replace('"rows":240', f'"rows":{number}')
    assert damaged != text
    with pytest.raises(BadModelFile, match="damaged"):
        model_from_text(damaged, "m.json")


def test_another_version_is_refused_with_what_to_do(text: str) -> None:
    with pytest.raises(BadModelFile, match="version 7 found, 2 expected: fit it again"):
        model_from_text(text.replace('"plainsale_model":2', '"plainsale_model":7'), "m.json")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("effects", None),
        ("effects", {"shape": [3], "kind": "f", "values": [1.0]}),
        ("effects", {"shape": [1], "kind": "q", "values": [1.0]}),
        ("inverse", [1.0, 2.0]),
        ("inverse", {}),
        ("on", "yesterday"),
        ("design", {"part": "Nothing"}),
        ("design", {"part": "Design", "terms": []}),
        ("spread", {"part": "Spread"}),
        ("device_class", {"name": ""}),
        ("device_class", []),
        ("surplus", 1),
        ("depth_freedom", {"shape": [1], "kind": "i", "values": [10**30]}),
    ],
)
def test_wrong_fields_are_refused_even_with_a_fingerprint_that_fits(text: str, field: str, value: Any) -> None:
    with pytest.raises(BadModelFile, match="damaged"):
        model_from_text(forged(text, **{field: value}), "m.json")


def test_a_missing_field_is_refused_even_with_a_fingerprint_that_fits(text: str) -> None:
    for field in json.loads(text):
        if field not in ("plainsale_model", "fingerprint"):
            whole = json.loads(text)
            del whole[field]
            with pytest.raises(BadModelFile):
                model_from_text(forged(json.dumps(whole)), "m.json")
