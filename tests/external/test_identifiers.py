"""Check digits of IMEI and GTIN, against published worked examples.

IMEI: 26053179311383 is the worked example of 3GPP TS 23.003, annex B.3; 35780502398494 is worked in a public manual of
a telephone gateway; 49015420323751 and 7992739871 are from memory. GTIN: 629104150021 is worked by GS1, "How to
calculate a check digit manually", 730001100001 by GS1 Sweden; 501234567890 stands in a leaflet of GS1 UK;
400638133393 is from memory.
"""

from __future__ import annotations

import pytest
from stdnum import ean, luhn

from listing_templates.identity import kind_of_identity, masked

IMEI_BODIES = [("26053179311383", "7"), ("35780502398494", "2"), ("49015420323751", "8")]
EXAMPLE = "260531793113837"


@pytest.mark.parametrize(("body", "digit"), [*IMEI_BODIES, ("7992739871", "3")])
def test_luhn_digits(body: str, digit: str) -> None:
    assert luhn.calc_check_digit(body) == digit


@pytest.mark.parametrize(
    ("body", "digit"),
    [("629104150021", "3"), ("730001100001", "7"), ("501234567890", "0"), ("400638133393", "1")],
)
def test_gtin_digits(body: str, digit: str) -> None:
    assert ean.calc_check_digit(body) == digit
    assert [last for last in "0123456789" if ean.is_valid(body + last)] == [digit]


@pytest.mark.parametrize(("body", "digit"), IMEI_BODIES)
def test_only_the_published_digit_makes_an_imei(body: str, digit: str) -> None:
    assert [last for last in "0123456789" if kind_of_identity(body + last) == "imei"] == [digit]
    assert {kind_of_identity(body + last) for last in "0123456789"} == {"imei", "imei wrong"}


@pytest.mark.parametrize("place", range(15))
def test_one_wrong_digit_anywhere_is_seen(place: int) -> None:
    for other in set("0123456789") - {EXAMPLE[place]}:
        assert kind_of_identity(EXAMPLE[:place] + other + EXAMPLE[place + 1 :]) == "imei wrong"


@pytest.mark.parametrize("place", [place for place in range(14) if EXAMPLE[place] != EXAMPLE[place + 1]])
def test_two_neighbours_swapped_are_seen(place: int) -> None:
    """All but 0 and 9, which this check digit cannot tell apart; the example has no such neighbours."""
    swapped = EXAMPLE[:place] + EXAMPLE[place + 1] + EXAMPLE[place] + EXAMPLE[place + 2 :]
    assert kind_of_identity(swapped) == "imei wrong"


@pytest.mark.parametrize("written", ["26-053179-311383-7", "26 053179 311383 7", " 260531793113837 "])
def test_separators_do_not_matter(written: str) -> None:
    assert kind_of_identity(written) == "imei"


@pytest.mark.parametrize("identity", ["26053179311383", "2605317931138312", "26-053179-311383-12"])
def test_without_a_check_digit_nothing_is_claimed(identity: str) -> None:
    """14 digits lack it; 16 are the 14 and a software version of two digits (annex B of the same), which has none."""
    assert kind_of_identity(identity) == "imei unchecked"


@pytest.mark.parametrize("identity", ["2605317931138", "26053179311383712", "26053179311383A"])
def test_what_cannot_be_an_imei_is_a_serial_number(identity: str) -> None:
    assert kind_of_identity(identity) == "serial"


def test_an_identity_is_never_shown_whole() -> None:
    assert masked(EXAMPLE) == "…837"
