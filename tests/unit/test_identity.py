from __future__ import annotations

import pytest

from pricing.errors import shortened, without_imeis
from pricing.records.identity import kind_of_identity, known_as, masked, unspoken


@pytest.mark.parametrize(
    ("identity", "kind"),
    [
        ("260531793113837", "imei"),  # 3GPP TS 23.003, Annex B: check digit 7
        ("26 053179 311383 7", "imei"),
        ("260531793113838", "imei wrong"),
        ("26053179311383", "imei unchecked"),
        ("2605317931138301", "imei unchecked"),
        ("SN-1234-5678", "serial"),
        ("", "serial"),
        ("٢٦٠٥٣١٧٩٣١١٣٨٣٧", "serial"),
    ],
)
def test_the_kind_of_an_identity_is_seen_from_its_digits(identity: str, kind: str) -> None:
    assert kind_of_identity(identity) == kind


@pytest.mark.parametrize(
    ("identity", "shown"),
    [("260531793113837", "…837"), ("ABCDEFGHIJKLMNOPQRST", "…QRST"), ("AB12", "…2"), ("AB", "…"), ("", "…")],
)
def test_at_most_four_characters_and_a_quarter_are_shown(identity: str, shown: str) -> None:
    assert masked(identity) == shown


@pytest.mark.parametrize(
    "text", ["IMEI 260531793113837.", "26-053179-311383-7", "a 26053179311383 b", "2605317931138301"]
)
def test_whatever_could_be_an_imei_is_masked_in_messages(text: str) -> None:
    assert "605317" not in without_imeis(text).replace("-", "").replace(" ", "")
    assert "605317" not in shortened(text).replace("-", "")
    assert without_imeis(text).count("…") == 1


@pytest.mark.parametrize("text", ["128 GB", "2026-03-03", "12345.678901234567", "1234567890123", "0" * 17, "9" * 30])
def test_other_numbers_stay(text: str) -> None:
    assert without_imeis(text) == text


def test_an_imei_at_the_edge_of_a_shortened_text_is_not_shown_in_part() -> None:
    assert "26053179" not in shortened("x" * 70 + " 260531793113837 and more")


def test_what_stands_at_the_place_of_an_identity_is_masked_however_deep() -> None:
    assert unspoken(("identity",), "SN-77-ABC-901") == "…01"
    assert unspoken((), {"identities": {"board": "SN-77-ABC-901"}, "class": "phone"}) == {
        "identities": {"board": "…01"}, "class": "phone",
    }  # fmt: skip
    assert unspoken(("class",), "SN-77-ABC-901") == "SN-77-ABC-901"


def test_a_known_serial_is_masked_inside_a_sentence() -> None:
    assert known_as(["SN-77-ABC-901"], "box of SN-77-ABC-901") == "box of …01"
