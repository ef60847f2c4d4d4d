"""The shop's terms from its settings: what is not set is not stated."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.settings import read_settings
from api.shop.terms import terms_of_shop
from pricing.errors import UnsafeSetting
from pricing.records.shop_terms import ShopTerms


def test_nothing_set_is_nothing_stated(tmp_path: Path) -> None:
    assert terms_of_shop(read_settings(home=tmp_path)) == ShopTerms()


def test_settings_of_the_environment_become_terms(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stated = {
        "SHOP_NAME": "Kestrel Bench", "COUNTRY": "DE", "RETURNS_DAYS": "30", "RETURN_POSTAGE": "shop",
        "GUARANTEE_MONTHS": "0",
    }  # fmt: skip
    for name, value in stated.items():
        monkeypatch.setenv(f"PLAINSALE_{name}", value)
    terms = terms_of_shop(read_settings(home=tmp_path))
    assert (terms.name, terms.country, terms.returns_days) == ("Kestrel Bench", "de", 30)
    assert (terms.return_postage, terms.guarantee_months) == ("shop", 0)
    assert [text.name for text in terms.required or ()] == ["withdrawal", "conformity", "harmonised_notice"]


def test_a_country_that_nobody_wrote_down_has_no_known_texts(tmp_path: Path) -> None:
    terms = terms_of_shop(read_settings(home=tmp_path, country="nz"))
    assert (terms.country, terms.required) == ("nz", None)


def test_a_file_of_the_user_serves_another_country(tmp_path: Path) -> None:
    folder = tmp_path / "country_texts"
    folder.mkdir()
    (folder / "nz.toml").write_text('[country]\ncountry = "nz"\ntitle = "New Zealand"\n')
    assert terms_of_shop(read_settings(home=tmp_path, country="NZ")).required == ()


@pytest.mark.parametrize(
    ("name", "value"), [("country", "deu"), ("returns_days", "-1"), ("return_postage", "nobody")]
)
def test_a_setting_that_makes_no_sense_is_refused_by_its_name(tmp_path: Path, name: str, value: str) -> None:
    with pytest.raises(UnsafeSetting, match=f"PLAINSALE_{name.upper()}"):
        read_settings(home=tmp_path, **{name: value})
