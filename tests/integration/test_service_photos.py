"""Photos over HTTP: the shot list, pictures sent and given, and every way to do it wrong told as a problem."""

from __future__ import annotations

from hashlib import sha256
from io import BytesIO

import pytest
from PIL import Image

from api.settings import Settings
from tests.integration.test_service_costs import Caller
from tests.kept_listings import LENS, TERMS
from tests.pictures import SECRET, jpeg

UNIT = {**LENS, "marks": [{"surface": "barrel", "kind": "dent", "size_mm": 3}], "looked_at": ["front_element"]}


@pytest.fixture
def service(tmp_path):
    made = Caller(Settings(home=tmp_path, country="de", **TERMS))
    assert made("POST", "/units", json=UNIT).status_code == 201
    yield made
    made.shop.close()


def send(service, shot="whole", content=None, name=f"{SECRET}.jpg", number="U1"):
    files = {"picture": (name, jpeg() if content is None else content, "image/jpeg")}
    return service("POST", f"/units/{number}/photos", data={"shot": shot}, files=files)


def shots(service):
    reply = service("GET", "/units/U1/shots")
    assert reply.status_code == 200, reply.text
    return reply.json()


def refused(reply, status, kind):
    body = reply.json()
    assert (reply.status_code, body["type"]) == (status, kind), body
    assert reply.headers["content-type"] == "application/problem+json"
    return body


def test_the_shot_list_says_what_to_take_and_what_is_there(service):
    told = shots(service)
    near = next(shot for shot in told["shots"] if shot["id"] == "mark:barrel:dent")
    assert (near["scale"], near["missing"], near["facts"]) == (True, True, ["mark:barrel:dent"])
    assert told["photos"] == []
    assert send(service, "mark:barrel:dent").status_code == 201
    told = shots(service)
    near = next(shot for shot in told["shots"] if shot["id"] == "mark:barrel:dent")
    assert (near["missing"], near["photos"]) == (False, [told["photos"][0]["digest"]])


def test_a_picture_comes_back_under_its_digest_without_what_the_camera_wrote(service):
    kept = send(service, content=jpeg(width=3_000, height=600))
    assert kept.status_code == 201, kept.text
    photo = kept.json()["photo"]
    assert (photo["width"], photo["height"], photo["outdated"]) == (2_400, 480, False)
    given = service("GET", f"/units/U1/photos/{photo['digest']}")
    assert given.headers["content-type"] == "image/jpeg"
    assert given.headers["content-disposition"] == f'inline; filename="{photo["digest"]}.jpg"'
    assert sha256(given.content).hexdigest() == photo["digest"]
    assert SECRET.encode() not in given.content
    assert SECRET not in kept.text
    assert not Image.open(BytesIO(given.content)).getexif()
    small = service("GET", f"/units/U1/photos/{photo['digest']}", params={"small": True})
    assert Image.open(BytesIO(small.content)).size == (480, 96)


def test_a_removed_picture_is_gone(service):
    digest = send(service).json()["photo"]["digest"]
    told = service("DELETE", f"/units/U1/photos/{digest}")
    assert (told.status_code, told.json()["photos"]) == (200, [])
    refused(service("GET", f"/units/U1/photos/{digest}"), 404, "not-found")
    refused(service("DELETE", f"/units/U1/photos/{digest}"), 404, "not-found")


def test_a_published_picture_can_still_be_seen(service):
    for shot in shots(service)["shots"]:
        assert send(service, shot["id"], jpeg(width=20 + len(shot["id"]))).status_code == 201
    number = service("POST", "/listings", json={"unit_number": "U1", "format": "html"}).json()["number"]
    check = service("POST", f"/listings/{number}/checks").json()
    for place in range(1, len(check["findings"]) + 1):
        given = {"finding": place, "reason": "an adviser said so", "by": "desk"}
        check = service("POST", f"/listings/{number}/answers", json=given).json()
    confirmed = {"confirmed_by": "desk", "text_digest": check["text_digest"]}
    said = service("POST", f"/listings/{number}/publication", json=confirmed).json()
    assert set(said["photos"]) == {photo["digest"] for photo in shots(service)["photos"]}
    assert said["text"].count("<img ") == len(shots(service)["photos"])
    # A page with its pictures in it is longer than a text may be, and can be read back all the same.
    padded = said["text"].replace("base64,", "base64," + "A" * 40_000)
    assert len(padded) > 200_000
    read = service("POST", f"/listings/{number}/readings", json={"text": padded})
    assert (read.status_code, read.json()["same"]) == (201, "the same as seen")
    service("DELETE", f"/units/U1/photos/{said['photos'][0]}")
    assert service("GET", f"/units/U1/photos/{said['photos'][0]}").status_code == 200


@pytest.mark.parametrize("content", [b"", b"no picture", b"<svg/>", jpeg()[:300]])
def test_what_is_no_picture_is_a_problem_in_words(service, content):
    body = refused(send(service, content=content), 422, "bad-input")
    (problem,) = body["problems"]
    assert problem["source"] == "request"
    assert "picture" in problem["expected"]
    assert SECRET not in str(body)
    assert shots(service)["photos"] == []


def test_what_is_asked_wrongly_is_a_problem_in_words(service):
    assert "whole, surface:" in refused(send(service, "sideways"), 422, "bad-input")["detail"]
    refused(send(service, number="U9"), 404, "not-found")
    refused(service("GET", "/units/U9/shots"), 404, "not-found")
    refused(service("POST", "/units/U1/photos", data={"shot": "whole"}), 422, "bad-input")
    refused(service("POST", "/units/U1/photos", files={"picture": ("a.jpg", jpeg())}), 422, "bad-input")
    assert service("GET", "/units/U1/photos/..%2F..%2Fetc%2Fpasswd").status_code == 404
    refused(service("GET", "/units/U1/photos/unit.json"), 404, "not-found")


def test_the_interface_describes_the_pictures(service):
    paths = service("GET", "/openapi.json").json()["paths"]
    assert "image/jpeg" in paths["/units/{number}/photos/{digest}"]["get"]["responses"]["200"]["content"]
    assert "multipart/form-data" in paths["/units/{number}/photos"]["post"]["requestBody"]["content"]
    for path in ("/units/{number}/shots", "/units/{number}/photos", "/units/{number}/photos/{digest}"):
        for operation in paths[path].values():
            assert operation["description"]
            assert "application/problem+json" in operation["responses"]["422"]["content"]
