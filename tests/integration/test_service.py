"""The service: every noun over HTTP, every error as problem details."""

from __future__ import annotations

import asyncio
import json
import random
from functools import partialmethod

import httpx
import pytest

from api.app import create_app
from api.cli.main import main
from api.settings import Settings
from api.shop.demo_goods import STORY_UNIT
from api.shop.shop import Shop

PROBLEM_KEYS = {"type", "title", "status", "detail", "instance", "problems"}


@pytest.fixture(scope="module")
def filled(goods, tmp_path_factory):
    """A store with sales and a model."""
    home = tmp_path_factory.mktemp("shop")
    store = f"sqlite:///{home}/shop.sqlite"
    for words in (["import", "--class", "phone", "--sales", str(goods.sales)], ["fit", "--class", "phone"]):
        with pytest.raises(SystemExit) as left:
            main([*words, "--store", store, "--json"])
        assert not left.value.code
    return Settings(home=home, store=store)


class Caller:
    """Calls the service in this process, without a network."""

    def __init__(self, settings):
        self.shop = Shop(settings)
        self.transport = httpx.ASGITransport(create_app(self.shop))

    def request(self, method, path, **parts):
        async def ask():
            async with httpx.AsyncClient(transport=self.transport, base_url="http://127.0.0.1") as client:
                return await client.request(method, path, **parts)

        return asyncio.run(ask())

    get = partialmethod(request, "GET")
    post = partialmethod(request, "POST")
    put = partialmethod(request, "PUT")
    delete = partialmethod(request, "DELETE")


@pytest.fixture
def client(filled):
    made = Caller(filled)
    yield made
    made.shop.close()


@pytest.fixture
def empty(tmp_path):
    made = Caller(Settings(home=tmp_path))
    yield made
    made.shop.close()


def refused(reply, status, kind):
    body = reply.json()
    assert reply.status_code == body["status"] == status, body
    assert reply.headers["content-type"] == "application/problem+json"
    assert set(body) == PROBLEM_KEYS
    assert body["type"] == kind
    assert "Traceback" not in reply.text
    return body


def test_health_says_which_version_answers(client):
    assert client.get("/health").json()["status"] == "ok"


LISTING_PATHS = (
    "/check", "/feed", "/{number}", "/{number}/history", "/{number}/text", "/{number}/checks", "/{number}/answers",
    "/{number}/publication", "/{number}/readings", "/{number}/sale", "/{number}/withdrawal",
    "/{number}/reasons/{sentence}", "/{number}/sheet", "/{number}/deviations", "/{number}/deviations/form",
    "/{number}/acceptances",
)  # fmt: skip


def test_the_interface_describes_every_path_and_its_errors(client):
    described = client.get("/openapi.json").json()
    wanted = {"/health", "/comparables", "/models", "/units", "/units/{number}", "/units/{number}/history",
              "/units/{number}/questions", "/units/{number}/answers",
              "/units/{number}/shots", "/units/{number}/photos", "/units/{number}/photos/{digest}",
              "/estimates", "/estimates/{number}", "/estimates/what-if", "/estimates/explanation", "/listings",
              *(f"/listings{path}" for path in LISTING_PATHS), "/asks", "/asks/picture", "/plans", "/plans/picture",
              "/plans/shelf", "/plans/{number}", "/plans/{number}/picture",
              "/lots/bid", "/lots/bid/picture", "/costs", "/costs/basis", "/costs/lots", "/costs/lots/{lot}",
              "/costs/lots/{lot}/scrapped",
              "/costs/{entry}/reversal", "/proceeds", "/proceeds/channels", "/proceeds/offers",
              "/proceeds/pool"}  # fmt: skip
    assert wanted == set(described["paths"])
    for path, operations in described["paths"].items():
        for operation in operations.values():
            assert operation["description"] or operation["summary"]
            assert path == "/health" or "application/problem+json" in operation["responses"]["422"]["content"]


def test_a_unit_is_priced_and_the_estimate_is_kept(client):
    given = client.post("/estimates", json={"unit": STORY_UNIT})
    assert given.status_code == 201
    estimate = given.json()["estimate"]
    low, high = (float(estimate["intervals"][1][end]["amount"]) for end in ("low", "high"))
    assert low < float(estimate["estimate"]["amount"]) < high
    number = given.json()["number"]
    assert client.get(f"/estimates/{number}").json() == given.json()
    assert client.get("/estimates", params={"unit_number": "P-104"}).json()["items"][0] == given.json()


def test_the_service_and_the_command_say_the_same(client, plainsale, goods, filled):
    told = plainsale("price", "--class", "phone", "--store", filled.store, "--unit", goods.unit, "--json").json
    given = client.post("/estimates", json={"unit": STORY_UNIT}).json()["estimate"]
    assert given == told["estimate"]
    asked = {"unit": STORY_UNIT, "changes": ["function:camera_wide=works"]}
    changed = client.post("/estimates/what-if", json=asked).json()
    options = ("--class", "phone", "--store", filled.store, "--unit", goods.unit, "--set", asked["changes"][0])
    assert float(changed["change"]["amount"]) == plainsale("what-if", *options, "--json").json["change"]
    explained = client.post("/estimates/explanation", json={"unit": STORY_UNIT}).json()
    assert explained == told["explanation"]
    assert len(explained["nearest"]) == 5


def test_an_abstained_unit_is_a_problem_unless_a_figure_is_wanted_always(client):
    unit = {"class": "phone", "attributes": {"storage_gb": "1e9"}}
    body = refused(client.post("/estimates", json={"unit": unit}), 422, "abstained")
    assert "storage_gb" in body["detail"]
    assert client.post("/estimates", json={"unit": unit, "always": True}).status_code == 201


def test_a_change_of_a_unit_names_the_version_that_it_changes(empty):
    made = empty.post("/units", json={"class": "phone"})
    assert made.status_code == 201
    assert made.headers["etag"] == '"1"'
    number = made.json()["unit"]["number"]
    change = {"class": "phone", "accessories": ["box"]}
    changed = empty.put(f"/units/{number}", json=change, headers={"If-Match": '"1"'})
    assert (changed.status_code, changed.json()["version"]) == (200, 2)
    stale = empty.put(f"/units/{number}", json=change, headers={"If-Match": '"1"'})
    refused(stale, 409, "stale-version")
    refused(empty.put(f"/units/{number}", json=change), 422, "bad-input")
    refused(empty.put(f"/units/{number}", json=change, headers={"If-Match": "one"}), 422, "bad-input")
    history = empty.get(f"/units/{number}/history").json()
    assert [past["unit"]["accessories"] for past in history] == [[], ["box"]]
    assert empty.get(f"/units/{number}").headers["etag"] == '"2"'


def test_lists_come_in_pages(empty):
    for _ in range(5):
        empty.post("/units", json={"class": "phone"})
    page = empty.get("/units", params={"limit": 2, "offset": 3}).json()
    assert (page["total"], page["offset"]) == (5, 3)
    assert [item["unit"]["number"] for item in page["items"]] == ["U0004", "U0005"]
    refused(empty.get("/units", params={"limit": 0}), 422, "bad-input")


def test_sales_are_taken_and_a_model_is_fitted_to_them(empty):
    chance = random.Random(5)
    rows = [
        {"price": round(chance.lognormvariate(4.6 + 0.1 * (n % 3), 0.2), 2), "currency": "EUR",
         "sold_on": f"2025-05-{1 + n % 28:02d}", "brand": "ABC"[n % 3], "fault:nfc": ("works", "dead")[n % 2]}
        for n in range(60)
    ]  # fmt: skip
    kept = empty.post("/comparables", json={"device_class": "phone", "rows": rows})
    assert kept.status_code == 201, kept.text
    assert (kept.json()["rows"], kept.json()["currency"]) == (60, "EUR")
    listed = empty.get("/comparables", params={"device_class": "phone", "limit": 1}).json()
    assert listed["total"] == 60
    assert listed["items"][0]["stated"]["fault:nfc"] == "works"
    fitted = empty.post("/models", json={"device_class": "phone"})
    assert fitted.status_code == 201, fitted.text
    assert empty.get("/models").json()["items"][0]["fingerprint"] == fitted.json()["fingerprint"]


def test_each_bad_sale_is_named_by_its_place_in_the_request(empty):
    rows = [{"price": 5, "sold_on": "2025-05-01"}, {"price": -1, "sold_on": "2099-05-01"}]
    body = refused(empty.post("/comparables", json={"device_class": "phone", "rows": rows}), 422, "bad-input")
    assert {(problem["line"], problem["column"]) for problem in body["problems"]} == {(2, "price"), (2, "sold_on")}
    refused(empty.post("/comparables", json={"device_class": "phone", "rows": []}), 422, "bad-input")
    refused(empty.post("/models", json={"device_class": "phone"}), 404, "not-found")
    refused(empty.post("/comparables", json={"device_class": "toaster", "rows": rows}), 404, "not-found")


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/hostname", "phone.toml"])
def test_a_class_is_named_over_http_never_read_from_a_path(empty, name):
    sent = {"device_class": name, "rows": [{"price": 5}]}
    refused(empty.post("/comparables", json=sent), 404, "not-found")


def test_a_listing_is_written_kept_and_a_text_is_read_against_the_unit(client):
    written = client.post("/listings", json={"unit": STORY_UNIT, "price_from_model": True})
    assert written.status_code == 201
    assert client.get(f"/listings/{written.json()['number']}").json() == written.json()
    body = written.json()["listing"]["body"]
    assert client.post("/listings/check", json={"unit": STORY_UNIT, "text": body}).json()["findings"] == []
    found = client.post("/listings/check", json={"unit": STORY_UNIT, "text": "All works."}).json()["findings"]
    assert "function:camera_wide" in {finding["fact"] for finding in found}
    assert client.get("/listings").json()["total"] >= 1


def test_a_stored_unit_is_priced_by_its_number(empty, client):
    number = client.post("/units", json=STORY_UNIT | {"number": None}).json()["unit"]["number"]
    assert client.post("/estimates", json={"unit_number": number}).json()["unit_number"] == number
    refused(client.post("/estimates", json={"unit_number": "nobody"}), 404, "not-found")
    refused(client.post("/estimates", json={}), 422, "bad-input")
    refused(client.post("/estimates", json={"unit": STORY_UNIT, "unit_number": number}), 422, "bad-input")
    refused(empty.post("/estimates", json={"unit": STORY_UNIT}), 404, "not-found")


@pytest.mark.parametrize(
    ("sent", "column"),
    [
        ({"unit": {"class": "phone", "marks": [{"surface": "screen"}]}}, "unit.marks.0.kind"),
        ({"unit": {"class": "phone", "wings": 2}}, "unit.wings"),
        ({"unit": {"class": "phone", "functions": {"nfc": "impaired"}}}, "unit.functions.nfc"),
        ({"unit": STORY_UNIT, "on": "soon"}, "on"),
    ],
)
def test_a_malformed_request_is_answered_with_the_place(client, sent, column):
    body = refused(client.post("/estimates", json=sent), 422, "bad-input")
    assert [problem["column"] for problem in body["problems"]] == [column]


def test_what_is_no_json_or_no_path_is_a_problem_too(client):
    head = {"Content-Type": "application/json"}
    refused(client.post("/estimates", content=b'{"unit": NaN', headers=head), 422, "bad-input")
    assert client.get("/wings").json()["status"] == 404
    assert client.delete("/units").json()["status"] == 405
    assert client.delete("/units").headers["allow"]


def test_another_name_for_this_machine_is_refused(client):
    assert client.get("/health", headers={"Host": "shop.example.org"}).status_code == 400


def test_an_own_fault_gives_a_reference_and_stays_in_the_log(client, filled, monkeypatch):
    def stumble(*_arguments, **_options):
        raise RuntimeError("the shelf fell down")

    monkeypatch.setattr("api.routes.units.list_units", stumble)
    body = refused(client.get("/units"), 500, "our-fault")
    assert "reference" in body["detail"]
    assert "shelf" not in json.dumps(body)
    assert str(filled.home) not in json.dumps(body)
    assert "the shelf fell down" in (filled.home / "faults.log").read_text()
