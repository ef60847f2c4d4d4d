"""Costs and proceeds over HTTP agree with the command line and answer errors as problem details."""

from __future__ import annotations

import asyncio

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from api.shop.shop import Shop


class Caller:
    """Calls the service in this process, without a network."""

    def __init__(self, settings):
        self.shop = Shop(settings)
        self.transport = httpx.ASGITransport(create_app(self.shop))

    def __call__(self, method, path, **parts):
        async def ask():
            async with httpx.AsyncClient(transport=self.transport, base_url="http://127.0.0.1") as client:
                return await client.request(method, path, **parts)

        return asyncio.run(ask())


@pytest.fixture
def service(tmp_path):
    made = Caller(Settings(home=tmp_path))
    for number in ("A", "B", "C"):
        assert made("POST", "/units", json={"class": "phone", "number": number}).status_code == 201
    yield made
    made.shop.close()


def eur(amount):
    return {"amount": str(amount), "currency": "EUR"}


def cost(paid, **more):
    return {"kind": "purchase", "on": "2026-05-04", "paid": paid, "reason": "from a neighbour", **more}


def proof(way="private person", kind="seller's declaration"):
    return {"way": way, "on": "2026-05-04", "proof": {"kind": kind, "reference": "D-1", "dated": "2026-05-04"}}


def test_a_ledger_is_written_listed_and_taken_back(service):
    kept = service("POST", "/costs", json={"unit_number": "A", "cost": cost(eur(80)), "purchase": proof()})
    assert kept.status_code == 201
    assert kept.json()["basis"]["total"] == eur("80.00")
    assert service("GET", "/units/A").json()["unit"]["purchase"] == {**proof(), "lot": None}
    listed = service("GET", "/costs", params={"unit_number": "A", "limit": 1}).json()
    assert (listed["total"], listed["items"][0]["number"]) == (1, 1)
    undone = service("POST", "/costs/1/reversal", json={"unit_number": "A", "reason": "typed twice"})
    assert undone.status_code == 201
    basis = service("GET", "/costs/basis", params={"unit_number": "A", "on": "2026-05-05"}).json()["basis"]
    assert (basis["total"], basis["entries"]) == (eur("0.00"), 2)
    assert service("GET", "/costs/basis", params={"unit_number": "B"}).json() == {"basis": None}


def test_a_sale_is_counted_with_tax_and_an_offer_is_answered(service):
    service("POST", "/costs", json={"unit_number": "A", "cost": cost(eur(81)), "purchase": proof()})
    sale = {"channel": "counter", "unit_number": "A", "tax": "de", "on": "2026-06-01"}
    told = service("POST", "/proceeds", json={**sale, "price": eur(200)}).json()
    lines = {line["kind"]: line["amount"]["amount"] for line in told["proceeds"]["lines"]}
    # The margin of 119 holds 19 of tax; 1.2 % payment, 2 % of (5 + 16) for returns, 3 % put aside.
    assert lines == {"payment": "2.40", "tax": "19.00", "returns": "0.42", "guarantee": "6.00"}
    assert told["proceeds"]["net"] == eur("172.18")
    assert told["profit"]["profit"] == eur("91.18")
    offer = {**sale, "offer": eur(150), "waiting": eur(140), "ask": eur(200)}
    answered = service("POST", "/proceeds/offers", json=offer).json()
    assert answered["answer"] == "counter"
    known = {**offer, "counters": [{"price": eur(155), "chance": "0.9"}]}
    assert service("POST", "/proceeds/offers", json=known).json()["answer"] == "wait"
    assert "counter" in service("GET", "/proceeds/channels").json()["channels"]


def test_a_lot_is_divided_and_a_scrapped_unit_hands_on(service):
    lot = {"number": "L-1", "on": "2026-05-04", "price": eur(10), "units": ["A", "B", "C"]}
    shared = service("POST", "/costs/lots", json={"lot": lot})
    assert shared.status_code == 201
    assert list(shared.json()["shares"].values()) == [eur("3.34"), eur("3.33"), eur("3.33")]
    moved = service("POST", "/costs/lots/L-1/scrapped", json={"units": ["C"]}).json()
    assert moved["shares"]["C"] == eur("0.00")
    assert service("GET", "/costs/lots/L-1").json() == moved


def test_a_period_of_pooled_margins_is_closed(service):
    pounds = {"amount": "600", "currency": "GBP"}
    period = {
        "starts": "2026-01-01", "ends": "2026-03-31", "sales": [pounds], "brought_forward": {**pounds, "amount": "0"},
    }  # fmt: skip
    closed = service("POST", "/proceeds/pool", json={"period": period, "tax": "gb"}).json()
    assert closed["tax"] == {"amount": "100.00", "currency": "GBP"}


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("POST", "/costs", {"unit_number": "Z", "cost": cost(eur(5))}, 404),
        ("POST", "/costs", {"unit_number": "A", "cost": cost(eur(0))}, 422),
        ("POST", "/costs", {"unit_number": "A", "cost": cost({"amount": "5", "currency": "QQQ"})}, 422),
        ("POST", "/costs", {"unit_number": "A", "cost": cost(eur(5), tax_back="-1")}, 422),
        ("POST", "/costs", {"unit_number": "A", "cost": {**cost(eur(5)), "on": "2099-01-01"}}, 422),
        ("POST", "/costs/5/reversal", {"unit_number": "A", "reason": "x"}, 404),
        ("POST", "/costs/lots", {"lot": {"number": "L", "on": "2026-05-04", "price": eur(1), "units": []}}, 422),
        ("GET", "/costs/lots/none", None, 404),
        ("POST", "/costs/lots/none/scrapped", {"units": ["A"]}, 404),
        ("POST", "/proceeds", {"channel": "counter", "price": eur(5), "tax": "de"}, 422),
        ("POST", "/proceeds", {"channel": "counter", "price": eur("NaN")}, 422),
        ("POST", "/proceeds", {"channel": "counter", "price": eur("1e40")}, 422),
        ("POST", "/proceeds", {"channel": "../../etc/passwd.toml", "price": eur(5)}, 404),
        ("POST", "/proceeds", {"channel": "counter", "price": eur(5), "zone": "moon"}, 404),
        ("POST", "/proceeds", {"channel": "counter", "price": eur(5), "tax": "../gb"}, 404),
        ("POST", "/proceeds/offers", {"channel": "counter", "offer": eur(5), "waiting": eur(4), "stands": "2"}, 422),
    ],
)
def test_what_cannot_be_is_a_problem_in_words(service, method, path, body, status):
    reply = service(method, path, json=body)
    assert reply.status_code == status, reply.text
    assert reply.headers["content-type"].startswith("application/problem+json")
    assert "Traceback" not in reply.text
    assert reply.json()["detail"]
