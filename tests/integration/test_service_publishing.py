"""Publishing over HTTP: from the draft to the buyer's answer, and every way to do it wrong told as a problem."""

from __future__ import annotations

import re
from hashlib import sha256

import pytest

from api.settings import Settings
from tests.integration.test_service_costs import Caller
from tests.kept_listings import LENS, TERMS

ORDER = "2026-0041"
TICKED = r"<input[^>]*\schecked"
IDENTITY = "356938035643809"


@pytest.fixture
def service(tmp_path):
    made = Caller(Settings(home=tmp_path, country="de", **TERMS))
    assert made("POST", "/units", json={**LENS, "identity": IDENTITY}).status_code == 201
    yield made
    made.shop.close()


def ok(reply):
    assert reply.status_code in (200, 201), reply.text
    return reply.json()


def draft(service, **wish):
    return ok(service("POST", "/listings", json={"unit_number": "U1", **wish}))["number"]


def checked(service, number):
    """Check a listing and answer what is soft; return the last check."""
    check = ok(service("POST", f"/listings/{number}/checks"))
    for place, raised in enumerate(check["findings"], start=1):
        if not raised["answer"]:
            given = {"finding": place, "reason": "an adviser said so", "by": "desk"}
            check = ok(service("POST", f"/listings/{number}/answers", json=given))
    return check


def published(service, **wish):
    number = draft(service, **wish)
    digest = checked(service, number)["text_digest"]
    confirmed = {"confirmed_by": "desk", "text_digest": digest}
    return ok(service("POST", f"/listings/{number}/publication", json=confirmed))


def test_from_the_draft_to_the_sale(service):
    number = draft(service)
    written = ok(service("GET", f"/listings/{number}"))
    assert (written["state"], written["stale"], written["intact"]) == ("draft", False, True)
    text = written["text"] + "\nWe answer within a day.\n"
    assert ok(service("PUT", f"/listings/{number}/text", json={"text": text}))["text"] == text
    check = checked(service, number)
    assert (check["state"], check["passed"], check["unit_version"]) == ("checked", True, 1)
    assert check["text_digest"] == sha256(text.encode()).hexdigest()
    confirmed = {"confirmed_by": "desk", "text_digest": check["text_digest"]}
    said = ok(service("POST", f"/listings/{number}/publication", json=confirmed))
    assert said == ok(service("GET", f"/listings/{number}/publication"))
    assert (said["text"], said["confirmed_by"], said["state"]) == (text, "desk", "published")
    lines = ok(service("GET", f"/listings/{number}/deviations"))
    assert (lines["way"], lines["cannot"], lines["text_digest"]) == ("checkout", "", said["text_digest"])
    numbers = [line["number"] for line in lines["lines"]]
    accepted = {"buyer": ORDER, "text_digest": said["text_digest"], "lines": numbers}
    assert ok(service("POST", f"/listings/{number}/acceptances", json=accepted))["complete"]
    sale = ok(service("POST", f"/listings/{number}/sale", json={"by": "desk", "buyer": ORDER}))
    assert (sale["listing"]["state"], sale["notices"]) == ("sold", [])
    steps = ok(service("GET", f"/listings/{number}/history"))
    assert [step["did"] for step in steps if step["did"] not in ("answered", "checked")] == [
        "edited", "published", "sold",
    ]  # fmt: skip
    assert all(step["intact"] and len(step["digest"]) == 64 for step in steps)
    assert ok(service("GET", "/listings", params={"state": "sold"}))["total"] == 1


def test_the_identity_is_nowhere_in_what_the_service_gives(service):
    number = published(service)["number"]
    for path in ("", "/publication", "/history", "/deviations", "/acceptances", "/deviations/form", "/sheet"):
        reply = service("GET", f"/listings/{number}{path}")
        assert reply.status_code == 200, reply.text
        assert IDENTITY not in reply.text
    assert IDENTITY not in service("GET", "/listings/feed").text
    other = draft(service)
    service("PUT", f"/listings/{other}/text", json={"text": f"Number {IDENTITY}."})
    found = ok(service("POST", f"/listings/{other}/checks"))["findings"]
    (shown,) = (raised for raised in found if raised["finding"]["kind"] == "identity shown")
    assert shown["said"] == "…809"


def test_a_changed_fact_makes_it_stale_and_ends_its_lines_and_its_place_in_the_feed(service):
    number = published(service)["number"]
    assert "Arvel" in service("GET", "/listings/feed", params={"form": "ndjson"}).text
    unit = {**LENS, "functions": {"lens_focus": "dead", "lens_zoom": "dead"}}
    assert service("PUT", "/units/U1", json=unit, headers={"If-Match": '"1"'}).status_code == 200
    told = ok(service("GET", f"/listings/{number}"))
    assert told["stale"]
    assert {"function:lens_zoom", "identity"} <= {change["key"] for change in told["changed"]}
    for path in ("/deviations", "/deviations/form", "/sheet"):
        refused = service("GET", f"/listings/{number}{path}")
        assert refused.status_code == 409
        assert "function:lens_zoom" in refused.json()["detail"]
    assert "Arvel" not in service("GET", "/listings/feed", params={"form": "ndjson"}).text


def test_the_form_works_without_script_and_counts_only_when_complete(service):
    number = published(service)["number"]
    path = f"/listings/{number}/deviations/form"
    form = service("GET", path, params={"buyer": ORDER})
    assert form.headers["content-type"].startswith("text/html")
    assert "default-src 'none'" in form.headers["content-security-policy"]
    boxes = re.findall(r'<input type="checkbox" name="line" value="(\d+)"[^>]*>', form.text)
    assert len(boxes) > 3
    assert not re.search(TICKED, form.text)
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', form.text))
    half = service("POST", path, data={**fields, "line": boxes[1:]})
    assert half.status_code == 201
    assert "Not complete yet: line 1." in half.text
    assert not re.search(TICKED, half.text)
    whole = service("POST", path, data={**fields, "line": boxes})
    assert f"Every line is accepted under {ORDER}." in whole.text
    kept = ok(service("GET", f"/listings/{number}/acceptances", params={"buyer": ORDER}))["items"]
    assert [answer["complete"] for answer in kept] == [True, False]
    assert [line["accepted"] for line in kept[1]["acceptance"]["lines"]][:2] == [False, True]


def test_nothing_ticked_at_all_is_kept_as_an_answer_that_accepts_nothing(service):
    said = published(service)
    fields = {"buyer": ORDER, "text_digest": said["text_digest"]}
    assert "Not complete yet" in service("POST", f"/listings/{said['number']}/deviations/form", data=fields).text


def test_a_market_place_that_takes_no_answers_gives_a_message(service):
    number = published(service, channel="online-market")["number"]
    lines = ok(service("GET", f"/listings/{number}/deviations"))
    assert lines["way"] == "message"
    assert "before you take payment" in lines["cannot"]
    assert all(line["text"] in lines["message"] for line in lines["lines"])
    assert service("GET", f"/listings/{number}/deviations/form").status_code == 409


def test_a_text_in_public_is_read_back_and_an_answer_to_a_buyer_is_read_alone(service):
    said = published(service)
    path = f"/listings/{said['number']}/readings"
    assert ok(service("POST", path, json={"text": said["text"]}))["same"] == "the same"
    cut = ok(service("POST", path, json={"text": "A lens by Arvel. The focus works."}))
    assert cut["same"] == "changed"
    assert "missing" in {finding["kind"] for finding in cut["findings"]}
    asked = {"unit_number": "U1", "text": "The focus ring and motor works.", "answer": True}
    found = ok(service("POST", "/listings/check", json=asked))["findings"]
    assert [finding["kind"] for finding in found] == ["against fact"]
    assert ok(service("POST", "/listings/check", json={**asked, "text": "We send it on Monday."})) == {"findings": []}


def test_a_sentence_says_why_it_stands_there(service):
    number = draft(service)
    (reason,) = ok(service("GET", f"/listings/{number}/reasons/function.dead"))
    assert "Focus" in reason["sentence"]
    assert reason["because"] == ["Focus ring and motor: not working. Recorded by the shop."]
    unknown = service("GET", f"/listings/{number}/reasons/function.shiny")
    assert unknown.status_code == 404
    assert "function.dead" in unknown.json()["detail"]


@pytest.mark.parametrize(
    ("method", "path", "body", "status", "words"),
    [
        ("GET", "/listings/99", None, 404, "no listing 99"),
        ("POST", "/listings/99/checks", None, 404, "no listing 99"),
        ("POST", "/listings/1/publication", {"confirmed_by": "desk", "text_digest": "0" * 64}, 409, "must be checked"),
        ("POST", "/listings/1/publication", {"confirmed_by": " ", "text_digest": "0" * 64}, 422, "problem"),
        ("POST", "/listings/1/answers", {"finding": 1, "reason": "so it is", "by": "d"}, 422, "found something"),
        ("POST", "/listings/1/sale", {"by": "desk"}, 409, "must be published"),
        ("POST", "/listings/1/sale", {"by": "desk", "buyer": "Some Body"}, 422, "problem"),
        ("POST", "/listings/1/withdrawal", {"by": "desk", "reason": ""}, 422, "problem"),
        ("POST", "/listings/1/readings", {"text": "x"}, 409, "must be published"),
        ("PUT", "/listings/1/text", {"text": ""}, 422, "problem"),
        ("GET", "/listings/1/publication", None, 409, "nothing of it was published"),
        ("GET", "/listings/1/sheet", None, 409, "nothing of it was published"),
        ("GET", "/listings/1/deviations", None, 409, "nothing of it was published"),
        ("GET", "/listings/1/deviations/form?buyer=Some%20Body", None, 422, "problem"),
        ("GET", "/listings/99/acceptances", None, 404, "no listing 99"),
        ("GET", "/listings/feed?form=xml", None, 422, "problem"),
        ("GET", "/listings?state=gone", None, 422, "problem"),
        ("POST", "/listings", {"unit_number": "U1", "language": "xx"}, 404, "no language"),
    ],
)
def test_what_cannot_be_is_a_problem_in_words(service, method, path, body, status, words):
    draft(service)
    reply = service(method, path, json=body)
    assert reply.status_code == status, reply.text
    assert reply.headers["content-type"].startswith("application/problem+json")
    assert words in reply.json()["detail"]


@pytest.mark.parametrize("changes", [{"text_digest": "0" * 64}, {"lines": [99]}, {"way": "phone"}, {"buyer": "Kim"}])
def test_an_answer_that_does_not_fit_is_refused(service, changes):
    said = published(service)
    given = {"buyer": ORDER, "text_digest": said["text_digest"], "lines": [1], **changes}
    assert service("POST", f"/listings/{said['number']}/acceptances", json=given).status_code == 422
