"""The units whose listings people read aloud: valid, and their listings hold against the reader in every language."""

from __future__ import annotations

from datetime import date

import pytest

from data.catalogue.reader import class_names
from listing_templates.honesty import read_text
from listing_templates.language import language_tags
from listing_templates.render import render_listing
from pricing.records.unit_columns import check_unit
from tests.example_units import example_units

DAY = date(2026, 3, 10)


def test_there_is_one_valid_unit_of_each_packaged_class() -> None:
    examples = example_units()
    assert sorted(device_class.name for device_class, _ in examples) == sorted(class_names())
    for device_class, unit in examples:
        check_unit(unit, device_class)


@pytest.mark.parametrize("tag", language_tags())
def test_their_listings_have_no_finding_and_no_defect_that_is_not_theirs(tag: str) -> None:
    for device_class, unit in example_units():
        listing = render_listing(unit, device_class, format="text", language=tag, on=DAY)
        assert read_text(listing.body, unit, device_class, language=tag) == ()
        faults = {key for s in listing.sentences if s.id.startswith("function.") for key in s.facts}
        works = {key for s in listing.sentences if s.id.startswith("works.") for key in s.facts}
        assert len(works) > len(faults) > 0, device_class.name
