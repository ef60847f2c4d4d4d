"""Asks and bids over HTTP say the same as the use cases, and answer errors as problem details."""

from __future__ import annotations

import asyncio
import xml.etree.ElementTree as ElementTree
from decimal import Decimal

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from api.shop.asking import AskWish, ask_advice
from api.shop.curve_charts import bid_chart
from api.shop.lots import LotWish, bid_for_units
from api.shop.models import keep_model
from api.shop.shop import Shop
from pricing.hedonic.fit import FitSettings, fit_model
from pricing.records.lot import LotBid, LotTerms
from pricing.records.unit import Unit
from tests.builders import small_class
from tests.market import small_sales

UNIT = {"class": "talker", "attributes": {"brand": "Arvel", "model": "N2", "storage_gb": "256"}}
TERMS = {"currency": "EUR", "premium_percent": 20}


@pytest.fixture(scope="module")
def model():
    return fit_model(small_sales(300), small_class(), settings=FitSettings(interactions=False, trees=False))


@pytest.fixture(scope="module")
def shop(model, tmp_path_factory):
    made = Shop(Settings(home=tmp_path_factory.mktemp("home")))
    keep_model(made, model)
    yield made
    made.close()


@pytest.fixture(scope="module")
def post(shop):
    """Post to the service in this process, without a network."""
    transport = httpx.ASGITransport(create_app(shop))

    def call(path, body):
        async def ask():
            async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
                return await client.post(path, json=body)

        return asyncio.run(ask())

    return call


def test_an_ask_is_that_of_the_use_case(post, shop, model):
    reply = post("/asks", {"unit": UNIT, "holding": "0.25", "patience": 30})
    assert reply.status_code == 200
    wish = AskWish(holding=Decimal("0.25"), patience=30)
    assert reply.json() == ask_advice(shop, model, Unit.model_validate(UNIT), wish).model_dump(mode="json")
    assert reply.json()["basis"]["words"].startswith("ASSUMED")


def test_a_bid_is_that_of_the_use_case(post, shop, model):
    body = {"device_class": "talker", "units": [UNIT] * 3, "terms": TERMS, "rivals": 2, "accepted": 0.2}
    reply = post("/lots/bid", body)
    assert reply.status_code == 200
    wish = LotWish(LotTerms.model_validate(TERMS), accepted=0.2, rivals=2)
    assert reply.json() == bid_for_units(shop, model, [Unit.model_validate(UNIT)] * 3, wish).model_dump(mode="json")


def test_curves_of_an_ask_and_of_a_bid_are_drawn_from_the_same_figures(post):
    asked = {"unit": UNIT, "holding": "0.25", "patience": 30}
    lot = {"device_class": "talker", "units": [UNIT] * 3, "terms": TERMS, "rivals": 2}
    for path, wish in (("/asks", asked), ("/lots/bid", lot)):
        drawn = post(f"{path}/picture", wish)
        assert drawn.status_code == 200, drawn.text
        assert drawn.headers["content-type"] == "image/svg+xml"
        assert ElementTree.fromstring(drawn.text).tag.endswith("svg")
    assert drawn.text == bid_chart(LotBid.model_validate(post("/lots/bid", lot).json()))
    assert post("/asks/picture", {**asked, "patience": 0}).status_code == 422
    assert post("/lots/bid/picture", {**lot, "units": []}).status_code == 422


@pytest.mark.parametrize(
    ("changes", "status"),
    [
        ({"units": []}, 422),
        ({"accepted": 0}, 422),
        ({"rivals": -1}, 422),
        ({"terms": {"currency": "ZZZ"}}, 422),
        ({"terms": {**TERMS, "carriage": -1}}, 422),
        ({"rates": {"missing": 0.7, "locked": 0.7}}, 422),
        ({"history": {"units": 1, "missing": 2}}, 422),
        ({"device_class": "kettle"}, 404),
        ({"channel": "nowhere"}, 404),
        ({"channel": "../secret"}, 422),
        ({"units": [{**UNIT, "class": "kettle"}]}, 422),
    ],
)
def test_a_lot_that_cannot_be_bid_for_is_answered_with_the_place(post, changes, status):
    reply = post("/lots/bid", {"device_class": "talker", "units": [UNIT], "terms": TERMS, **changes})
    assert reply.status_code == status, reply.text
    assert reply.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    ("changes", "status"),
    [({"holding": -1}, 422), ({"patience": 0}, 422), ({"every": 0}, 422), ({"channel": "nowhere"}, 404),
     ({"unit": None}, 422)],
)  # fmt: skip
def test_an_ask_that_cannot_be_is_answered_with_the_place(post, changes, status):
    reply = post("/asks", {"unit": UNIT, **changes})
    assert reply.status_code == status, reply.text
    assert reply.headers["content-type"] == "application/problem+json"
