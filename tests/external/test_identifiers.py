"""Check digits of IMEI and GTIN, against published worked examples.

IMEI: 3GPP TS 23.003 annex B.3. GTIN: the worked examples of GS1 and of GS1 Sweden on calculating a check digit.
"""

from __future__ import annotations

import pytest
from stdnum import ean, luhn

from listing_templates.identity import kind_of_identity, masked


@pytest.mark.parametrize(
    ("body", "digit"),
    [("26053179311383", "7"), ("35780502398494", "2"), ("49015420323751", "8"), ("7992739871", "3")],
)
def test_luhn_digits(body: str, digit: str) -> None:
    assert luhn.calc_check_digit(body) == digit


@pytest.mark.parametrize(
    ("body", "digit"),
    [("629104150021", "3"), ("730001100001", "7"), ("501234567890", "0"), ("400638133393", "1")],
)
def test_gtin_digits(body: str, digit: str) -> None:
    assert ean.calc_check_digit(body) == digit


@pytest.mark.parametrize(
    ("identity", "kind"),
    [("260531793113837", "imei"), ("260531793113838", "imei wrong"), ("26053179311383", "imei unchecked"),
     ("2605317931138312", "imei unchecked")],
)  # fmt: skip
def test_an_imei_is_checked_where_it_has_a_digit(identity: str, kind: str) -> None:
    """14 digits lack the check digit; 16 are an IMEI with a software version, which has none."""
    assert kind_of_identity(identity) == kind


def test_an_identity_is_never_shown_whole() -> None:
    assert masked("260531793113837") == "…837"
