"""Listings over HTTP within a channel's limits."""

from __future__ import annotations

import pytest

from api.settings import Settings
from tests.integration.test_service_costs import Caller

UNIT = {"class": "lens", "number": "U1", "attributes": {"brand": "Arvel"}, "functions": {"lens_focus": "dead"}}


@pytest.fixture
def service(tmp_path):
    folder = tmp_path / "channels"
    folder.mkdir()
    for name, limit in (("wide", 100_000), ("narrow", 100)):
        limits = f'body_limit = {limit}\nformats = ["text"]\n'
        (folder / f"{name}.toml").write_text(f'[channel]\nname = "{name}"\ntitle = "T"\ncurrency = "EUR"\n{limits}')
    made = Caller(Settings(home=tmp_path))
    yield made
    made.shop.close()


def test_a_listing_says_what_a_channel_left_no_room_for(service):
    kept = service("POST", "/listings", json={"unit": UNIT, "channel": "wide"})
    assert kept.status_code == 201
    assert kept.json()["listing"]["left_off"] == []
    assert kept.json()["listing"]["condition"] == "damaged"


@pytest.mark.parametrize(
    ("wish", "status", "words"),
    [
        ({"channel": "narrow"}, 409, "100 are allowed"),
        ({"channel": "wide", "format": "html"}, 409, "takes listings as text"),
        ({"channel": "nowhere"}, 404, "no channel"),
        ({"channel": "../wide.toml"}, 404, "no channel"),
    ],
)
def test_a_channel_without_room_is_told_as_a_problem(service, wish, status, words):
    refused = service("POST", "/listings", json={"unit": UNIT, **wish})
    assert refused.status_code == status
    assert words in refused.json()["detail"]
