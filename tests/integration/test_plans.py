"""Plans as a user meets them: the command, its files, the service, and the picture."""

from __future__ import annotations

import asyncio
import json
from xml.etree import ElementTree

import httpx
import pytest

from api.app import create_app
from api.settings import Settings
from api.shop.models import keep_model, read_model
from api.shop.shop import Shop

PARTS = (
    "part,source,price,currency,postage,lead_days,available,checked_on,quality,success\n"
    "camera_wide,Isle Parts,,,,,no,2026-03-01,,\n"
    "camera_main,Nordkant,1.50,EUR,0.50,2,yes,2026-03-01,original,0.97\n"
)
TERMS = {"hour_cost": 6, "minutes": 5, "jobs": [{"name": "press the plug", "functions": ["camera_main"], "success": 0.3,
                                                 "minutes": 2, "opens": False}]}  # fmt: skip


@pytest.fixture
def bench(goods, tmp_path):
    """A unit with a dead main camera, a parts list and the terms of a bench."""
    unit = json.loads(goods.unit.read_text())
    unit["functions"]["camera_main"] = {"status": "dead"}
    for name, content in (("unit.json", json.dumps(unit)), ("parts.csv", PARTS), ("terms.json", json.dumps(TERMS))):
        (tmp_path / name).write_text(content)
    return tmp_path


def planned(plainsale, goods, bench, *more):
    return plainsale(
        "plan", "--model", goods.model, "--unit", bench / "unit.json", "--parts", bench / "parts.csv",
        "--terms", bench / "terms.json", "--on", "2026-03-10", *more,
    )  # fmt: skip


def test_a_plan_is_told_in_words_in_json_and_as_a_picture(plainsale, goods, bench):
    told = planned(plainsale, goods, bench, "--svg", bench / "plan.svg")
    assert told.code == 0, told.err
    assert "First: " in told.out
    assert "cannot be done: sold nowhere" in " ".join(told.out.split())
    drawn = ElementTree.fromstring((bench / "plan.svg").read_text())
    assert drawn.tag.endswith("svg")
    found = planned(plainsale, goods, bench, "--json").json
    assert found["first"] in (bench / "plan.svg").read_text()
    assert float(found["gain"]["amount"]) == pytest.approx(
        float(found["value"]["amount"]) - float(found["now_net"]["amount"]), abs=0.011
    )
    repairs = [each for each in found["actions"] if each["kind"] == "repair" and each["available"]]
    assert {each["chance"] for each in repairs} == {0.97, 0.3}
    for repair in repairs:
        pays = repair["break_even"] is not None and repair["break_even"] < repair["chance"]
        assert pays is repair["verdict"].startswith("done")
    assert float(found["gain"]["amount"]) > 1
    assert found["spread"]["draws"] == 1000


def test_the_same_seed_gives_the_same_plan_and_fees_lower_it(plainsale, goods, bench):
    first, again = (planned(plainsale, goods, bench, "--json", "--seed", "4").out for _ in range(2))
    assert first == again
    sold = planned(plainsale, goods, bench, "--json", "--channel", "online-market").json
    assert float(sold["now_net"]["amount"]) < float(json.loads(first)["now_net"]["amount"])


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("parts.csv", "part,price,currency\nwheel,5,EUR\n", "line 2, part"),
        ("parts.csv", "part,price,currency\ncamera_main,5,QQQ\n", "line 2, currency"),
        ("terms.json", '{"jobs": [{"name": "oil", "functions": ["wifi"]}]}', "a function with a fault on this unit"),
        ("terms.json", '{"success": 1.5}', "success"),
        ("terms.json", '{"causes": {"camera_main": [{"name": "a", "chance": 0.7}, {"name": "b", "chance": 0.7}]}}',
         "has no fault"),
        ("terms.json", "{", "JSON"),
    ],
)  # fmt: skip
def test_bad_files_are_refused_where_they_are_wrong(plainsale, goods, bench, name, content, says):
    (bench / name).write_text(content)
    refused = planned(plainsale, goods, bench)
    assert refused.code == 3
    assert refused.out == ""
    if says != "has no fault":
        assert says in refused.err
    else:
        assert "sum to 1.4; expected 1" in refused.err
    assert "Traceback" not in refused.err


def test_good_rows_of_a_parts_list_can_be_kept(plainsale, goods, bench):
    (bench / "parts.csv").write_text(PARTS + "wheel,x,1,EUR,,,,,,\n")
    kept = planned(plainsale, goods, bench, "--keep-good")
    assert kept.code == 3
    assert "First: " in kept.out


class Service:
    """Answers in this process, without a network."""

    def __init__(self, shop):
        self.store = shop.settings.store_address
        self.transport = httpx.ASGITransport(create_app(shop))

    def post(self, path, **parts):
        return self._ask("POST", path, **parts)

    def get(self, path):
        return self._ask("GET", path)

    def _ask(self, method, path, **parts):
        async def ask():
            async with httpx.AsyncClient(transport=self.transport, base_url="http://127.0.0.1") as client:
                return await client.request(method, path, **parts)

        return asyncio.run(ask())


@pytest.fixture
def service(goods, tmp_path):
    shop = Shop(Settings(home=tmp_path / "home"))
    keep_model(shop, read_model(goods.model))
    yield Service(shop)
    shop.close()


def test_the_service_plans_as_the_command_does(service, plainsale, goods, bench):
    unit = json.loads((bench / "unit.json").read_text())
    offer = {"part": "camera_main", "source": "Nordkant", "price": {"amount": "1.50", "currency": "EUR"},
             "postage": {"amount": "0.50", "currency": "EUR"}, "lead_days": 2, "quality": "original", "success": 0.97}
    nowhere = {"part": "camera_wide", "source": "Isle Parts", "available": "no", "checked_on": "2026-03-01"}
    wish = {"unit": unit, "on": "2026-03-10", "offers": [nowhere, offer], "terms": TERMS}
    answered = service.post("/plans", json=wish)
    assert answered.status_code == 201, answered.text
    assert answered.json()["plan"] == planned(plainsale, goods, bench, "--json").json
    picture = service.post("/plans/picture", json=wish)
    assert picture.headers["content-type"].startswith("image/svg+xml")


def test_units_of_the_store_are_planned_together(service, plainsale, goods, bench):
    whole = json.loads((bench / "unit.json").read_text())
    other = json.loads(json.dumps(whole))
    whole["number"], other["number"] = "T-1", "T-2"
    other["functions"] |= {"camera_main": {"status": "works", "tested_on": "2026-06-29"},
                           "camera_focus": {"status": "works", "tested_on": "2026-06-29"},
                           "video_record": {"status": "works", "tested_on": "2026-06-29"}, "power_on": "dead"}
    other |= {"opened": "no sign", "opened_on": None, "opened_parts": [], "parts": []}
    for unit in (whole, other):
        assert service.post("/units", json=unit).status_code == 201
    answered = service.post("/plans/shelf", json={"device_class": "phone", "hours": 2, "terms": TERMS, "always": True})
    assert answered.status_code == 200, answered.text
    shelf = answered.json()
    assert [unit["number"] for unit in shelf["units"]] == ["T-1", "T-2"]
    assert all(unit["plan"] for unit in shelf["units"])
    told = plainsale("plan", "--class", "phone", "--store", service.store, "--hours", "2", "--always",
                     "--terms", bench / "terms.json", "--json")  # fmt: skip
    assert told.code == 0, told.err
    assert told.json == shelf
    words = plainsale("plan", "--class", "phone", "--store", service.store, "--always", "--terms", bench / "terms.json")
    assert "T-1" in words.out
    assert plainsale("plan", "--class", "phone", "--store", service.store, "--svg", bench / "x.svg").code == 2


def test_a_plan_is_kept_with_the_unit_as_it_was_and_shown_again(service, plainsale, bench):
    unit = json.loads((bench / "unit.json").read_text())
    kept = service.post("/plans", json={"unit": unit, "on": "2026-03-10"}).json()
    assert service.get(f"/plans/{kept['number']}").json() == kept
    assert (kept["unit_number"], kept["plan"]["on"]) == (unit["number"], "2026-03-10")
    assert len(kept["digest"]) == 64
    told = plainsale("plan", "--class", "phone", "--store", service.store, "--unit", bench / "unit.json", "--keep")
    assert told.code == 0, told.err
    assert f"Kept as plan {kept['number'] + 1}." in told.out
    listed = service.get(f"/plans?unit_number={unit['number']}").json()
    assert [plan["number"] for plan in listed["items"]] == [kept["number"] + 1, kept["number"]]
    assert service.get("/plans?unit_number=none").json()["total"] == 0
    drawn = service.get(f"/plans/{kept['number']}/picture")
    assert kept["plan"]["tree"]["value"]["amount"] in drawn.text
    assert service.get("/plans/99").status_code == 404


def test_a_stored_unit_is_planned_by_its_number_with_what_its_ledger_says(service, plainsale, bench):
    unit = json.loads((bench / "unit.json").read_text()) | {"number": "T-1"}
    assert service.post("/units", json=unit).status_code == 201
    plainsale("cost", "--store", service.store, "--number", "T-1", "--add", "purchase", "--paid", "31 EUR",
              "--base", "EUR", "--on", "2026-03-01")  # fmt: skip
    arguments = ("plan", "--class", "phone", "--store", service.store, "--on", "2026-03-10", "--json")
    found = plainsale(*arguments, "--number", "T-1", "--channel", "counter")
    assert found.code == 0, found.err
    assert found.json["spent"] == {"amount": "31.00", "currency": "EUR"}
    wish = {"unit_number": "T-1", "channel": "counter", "on": "2026-03-10"}
    assert service.post("/plans", json=wish).json()["plan"] == found.json
    assert plainsale(*arguments, "--number", "T-9").code == 4
    both = plainsale(*arguments, "--number", "T-1", "--unit", bench / "unit.json")
    assert both.code == 2
    kept = plainsale(*arguments, "--number", "T-1", "--keep").json
    assert kept["plan"]["on"] == "2026-03-10"
    assert plainsale(*arguments, "--keep").code == 2


STOCK = "part,cost,currency,pieces,brand\ncamera_main,3.00,EUR,2,Harnvik\ncamera_main,0.50,EUR,1,Orrin\n"


def test_a_unit_takes_a_part_from_stock_that_fits_it_at_its_cost(service, plainsale, goods, bench):
    (bench / "stock.csv").write_text(STOCK)
    arguments = ("plan", "--model", goods.model, "--unit", bench / "unit.json", "--on", "2026-03-10")
    found = plainsale(*arguments, "--stock", bench / "stock.csv", "--json").json
    bought = plainsale(*arguments, "--parts", bench / "bought.csv", "--json")
    assert bought.code == 4
    (bench / "bought.csv").write_text("part,source,price,currency\ncamera_main,own stock,3.00,EUR\n")
    assert found == plainsale(*arguments, "--parts", bench / "bought.csv", "--json").json
    assert any("own stock" in action["name"] for action in found["actions"])
    piece = {"part": "camera_main", "cost": {"amount": "3.00", "currency": "EUR"}, "fits": {"brand": "Harnvik"}}
    wish = {"unit": json.loads((bench / "unit.json").read_text()), "on": "2026-03-10", "stock": [piece]}
    assert service.post("/plans", json=wish).json()["plan"] == found


def test_the_store_s_units_share_the_stock(service, plainsale, bench):
    unit = json.loads((bench / "unit.json").read_text())
    for number in ("T-1", "T-2", "T-3"):
        assert service.post("/units", json=unit | {"number": number}).status_code == 201
    (bench / "stock.csv").write_text(STOCK)
    arguments = ("plan", "--class", "phone", "--store", service.store, "--stock", bench / "stock.csv")
    shelf = plainsale(*arguments, "--on", "2026-03-10", "--json").json
    assert [(use["part"], use["line"]) for use in shelf["stock_uses"]] == [("camera_main", 2)] * 2
    assert all(float(use["gain"]["amount"]) > 0 for use in shelf["stock_uses"])
    told = plainsale(*arguments, "--on", "2026-03-10").out
    assert "with camera_main from stock" in told


def test_offers_in_another_currency_are_converted_at_ones_own_rates_over_http_as_by_command(
    service, plainsale, goods, bench
):
    (bench / "dollars.csv").write_text("part,source,price,postage,currency\ncamera_main,a shop,6.00,2.00,USD\n")
    (bench / "rates.csv").write_text("date,currency,per_base\n2026-03-01,USD,1.25\n")
    arguments = ("plan", "--model", goods.model, "--unit", bench / "unit.json", "--on", "2026-03-02", "--json")
    found = plainsale(*arguments, "--parts", bench / "dollars.csv", "--rates", bench / "rates.csv").json
    offer = {"part": "camera_main", "source": "a shop", "price": {"amount": "6.00", "currency": "USD"},
             "postage": {"amount": "2.00", "currency": "USD"}}  # fmt: skip
    wish = {"unit": json.loads((bench / "unit.json").read_text()), "on": "2026-03-02", "offers": [offer],
            "rates": [{"on": "2026-03-01", "currency": "USD", "per_base": "1.25"}]}  # fmt: skip
    answered = service.post("/plans", json=wish)
    assert answered.status_code == 201, answered.text
    assert answered.json()["plan"] == found
    without = service.post("/plans", json={**wish, "rates": [{**wish["rates"][0], "on": "2025-03-01"}]})
    assert without.status_code == 422
    assert "USD" in without.json()["problems"][0]["found"]


def test_bad_stock_is_refused_by_its_place(plainsale, goods, bench):
    (bench / "stock.csv").write_text("part,cost,currency\nwheel,3,EUR\ncamera_main,-3,EUR\n")
    refused = plainsale("plan", "--model", goods.model, "--unit", bench / "unit.json", "--stock", bench / "stock.csv")
    assert refused.code == 3
    assert "stock.csv, line 2, part" in refused.err
    assert "stock.csv, line 3, cost" in refused.err
    assert refused.out == ""


@pytest.mark.parametrize(
    "wish",
    [
        {"channel": "../../secret.toml"},
        {"terms": {"hour_cost": -1}},
        {"offers": [{"part": "wheel", "source": "x", "available": "no"}]},
        {"offers": [{"part": "cell", "source": "x"}]},
        {"stock": [{"part": "wheel", "cost": {"amount": "3", "currency": "EUR"}}]},
        {"stock": [{"part": "cell", "cost": {"amount": "3", "currency": "XAF"}}]},
        {"rates": [{"on": "2026-03-01", "currency": "USD", "per_base": 2}] * 2},
        {"rates": [{"on": "2026-03-01", "currency": "USD", "per_base": 0}]},
    ],
)
def test_a_wish_that_cannot_be_is_answered_with_its_problem(service, bench, wish):
    unit = json.loads((bench / "unit.json").read_text())
    answered = service.post("/plans", json={"unit": unit, **wish})
    assert answered.status_code == 422
    assert answered.json()["problems"]
