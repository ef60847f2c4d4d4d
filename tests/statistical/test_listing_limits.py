"""On random units, in every language and format: a channel's limits are kept, and no disclosure is lost or cut.

Full count: 2,000 units, each in four languages and four formats, each with a limit drawn between what must be said
and the whole text; refused only where the disclosures alone are too long.
"""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from data.catalogue.reader import class_names, find_class
from listing_templates.json_ld import described
from listing_templates.language import language_tags
from listing_templates.render import render_listing, shown
from pricing.errors import ListingRefused
from pricing.records.channel import Channel
from pricing.records.listing import FORMATS
from tests.builders import small_class
from tests.counts import count
from tests.random_units import random_unit

UNITS = count(2000)


@cache
def classes():
    return (small_class(), *(find_class(name) for name in class_names()))


def size_of(listing):
    return len(described(listing.body) if listing.format == "json-ld" else listing.body)


def channel(body, title=None):
    return Channel(name="any", title="Any", currency="EUR", body_limit=body, title_limit=title)


@pytest.mark.parametrize("language", language_tags())
@pytest.mark.parametrize("format", FORMATS)
def test_limits_are_kept_and_every_disclosure_stands_whole(format, language):
    shrunk = refused = 0
    for seed in range(UNITS):
        device_class = classes()[seed % len(classes())]
        unit = random_unit(device_class, seed)
        whole = render_listing(unit, device_class, format=format, language=language)
        told = [sentence for sentence in whole.sentences if sentence.disclosure]
        limit = int(size_of(whole) * Random(f"{seed} {format} {language}").uniform(0.5, 1.0))
        try:
            shorter = render_listing(
                unit, device_class, format=format, language=language, channel=channel(limit, title=60)
            )
        except ListingRefused:
            refused += 1
            assert sum(len(shown(sentence.text, format)) for sentence in told) > limit - overhead(whole)
            continue
        shrunk += bool(shorter.left_off)
        assert size_of(shorter) <= limit
        assert len(shorter.title) <= 60
        assert [sentence for sentence in shorter.sentences if sentence.disclosure] == told
        assert all(shown(sentence.text, format) in shorter.body for sentence in told)
        assert not any(sentence.disclosure for sentence in shorter.left_off)
    assert shrunk > UNITS / 10
    assert refused > UNITS / 20


def overhead(whole):
    """Return the characters of a whole body that belong to no sentence: headings, signs of the format, the style."""
    return size_of(whole) - sum(len(shown(s.text, whole.format)) for s in whole.sentences) + len(whole.title)
