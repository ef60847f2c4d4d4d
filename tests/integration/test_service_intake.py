"""The intake over HTTP, and that no reply of any route shows an identity in full."""

from __future__ import annotations

import json

import pytest

from api.settings import Settings
from tests.integration.test_service_costs import Caller

IMEI = "260531793113837"
SERIAL = "SN-77-ABC-901"
BOARD = "BD-11-XYZ-404"
UNIT = {
    "class": "phone", "number": "U1", "attributes": {"brand": "Arvel", "model": "N2"},
    "functions": {"wifi": "dead"},
}  # fmt: skip
NUMBERS = [
    {"key": "identity:body", "answer": IMEI},
    {"key": "identity:board", "answer": BOARD},
    {"key": "identity:label", "answer": SERIAL},
]


@pytest.fixture
def service(tmp_path):
    made = Caller(Settings(home=tmp_path, country="de", shop_name="Bench Nine"))
    assert made("POST", "/units", json=UNIT).status_code == 201
    yield made
    made.shop.close()


def answer(service, *rows, version=1, **params):
    headers = {"If-Match": f'"{version}"'}
    return service("POST", "/units/U1/answers", json={"answers": list(rows)}, headers=headers, params=params)


def test_questions_are_asked_and_answers_are_kept_as_a_new_version(service):
    asked = service("GET", "/units/U1/questions").json()
    assert (asked["unit_number"], asked["version"]) == ("U1", 1)
    assert asked["intake"]["questions"][0]["station"] == "danger look"
    assert set(asked["cautions"]) == {"look", "power", "open"}
    kept = answer(service, {"key": "function:nfc", "answer": "works", "day": "2026-03-03"})
    assert kept.status_code == 200, kept.text
    assert (kept.json()["version"], kept.headers["etag"], kept.json()["problems"]) == (2, '"2"', [])
    assert service("GET", "/units/U1").json()["unit"]["functions"]["nfc"]["status"] == "works"
    now = service("GET", "/units/U1/questions").json()
    assert now["intake"]["open"] == asked["intake"]["open"] - 1


def test_a_bad_answer_refuses_all_of_them_unless_the_good_ones_are_wanted(service):
    rows = ({"key": "function:nfc", "answer": "works"}, {"key": "lock:owner_account", "answer": "maybe"})
    refused = answer(service, *rows)
    assert (refused.status_code, refused.json()["type"]) == (422, "bad-input")
    (problem,) = refused.json()["problems"]
    assert (problem["column"], problem["found"]) == ("lock:owner_account.answer", '"maybe"')
    assert service("GET", "/units/U1").json()["version"] == 1
    kept = answer(service, *rows, keep_good=True)
    assert kept.status_code == 200
    assert [problem["column"] for problem in kept.json()["problems"]] == ["lock:owner_account.answer"]


def test_answers_to_an_old_version_are_refused(service):
    assert answer(service, {"key": "function:nfc", "answer": "works"}).status_code == 200
    assert answer(service, {"key": "function:nfc", "answer": "dead"}).status_code == 409
    assert service("POST", "/units/U1/answers", json={"answers": []}).status_code == 422
    assert service("GET", "/units/U9/questions").status_code == 404


def test_no_listing_check_question_or_problem_over_http_shows_an_identity_in_full(service):
    assert answer(service, *NUMBERS).status_code == 200
    replies = [
        service("GET", "/units/U1/questions"),
        answer(service, {"key": "identity:second", "answer": IMEI[:-1] + "1"}, version=2),
        service("GET", "/units/U1/shots"),
    ]
    for form in ("text", "markdown", "html", "json-ld"):
        replies.append(service("POST", "/listings", json={"unit_number": "U1", "format": form}))
    number = replies[3].json()["number"]
    text = f"It has the number {IMEI}, on the board {BOARD}."
    replies += [
        service("POST", "/listings/check", json={"unit_number": "U1", "text": text}),
        service("POST", f"/listings/{number}/check"),
        service("GET", f"/listings/{number}"),
        service("GET", f"/listings/{number}/history"),
        service("GET", "/listings"),
    ]
    for reply in replies:
        said = json.dumps(reply.json(), ensure_ascii=False)
        assert not [whole for whole in (IMEI, IMEI[:-1] + "1", SERIAL, BOARD) if whole in said], reply.url
    assert "identity" in json.dumps(replies[7].json()), "a text that shows one in full is a finding"
