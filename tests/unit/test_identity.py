from __future__ import annotations

import pytest

from listing_templates.identity import kind_of_identity, masked


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
