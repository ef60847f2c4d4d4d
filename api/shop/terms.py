"""On what terms the shop sells: its settings, with the texts that the law of its country asks for."""

from __future__ import annotations

from api.settings import Settings
from data.catalogue.country_text_reader import find_country_texts, text_countries
from pricing.records.shop_terms import ShopTerms


def terms_of_shop(settings: Settings) -> ShopTerms:
    """Return the shop's terms; what its settings leave open stays None, which is a finding before publishing.

    Raises:
        BadInput: The user's own file of texts for the country has problems.
    """
    country = settings.country.lower() or None
    folder = settings.country_text_folder
    known = country is not None and country in text_countries(folder)
    return ShopTerms(
        name=settings.shop_name or None,
        country=country,
        returns_days=settings.returns_days,
        return_postage=settings.return_postage,
        guarantee_months=settings.guarantee_months,
        required=find_country_texts(country, folder).texts if country is not None and known else None,
    )
