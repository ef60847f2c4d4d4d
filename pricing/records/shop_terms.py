"""On what terms the shop sells, and the texts that the law of its country asks for, by day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Annotated, Literal

from pydantic import Field, model_validator

from pricing.records.base import Record

Payer = Literal["buyer", "shop"]
Sale = Literal["any", "distance"]

ADVISER = "This is a reminder, not advice: what the law asks of you is for an adviser to decide."


class CountryText(Record):
    """One thing that a country's law asks a shop to tell buyers, from a day on.

    Attributes:
        name: Short name, unique in its country ("withdrawal").
        starts: First day on which it is asked for.
        ends: Last day; None: until further notice.
        sale: "distance": only where the buyer does not stand in the shop; "any": always.
        required: What is asked for, said to the shop.
        say: Language tag -> the sentence for the listing; empty: no sentence can serve it, the shop must act.
        source: The law and the place in it; "from memory" where nobody has looked it up.
    """

    name: Annotated[str, Field(min_length=1)]
    starts: date
    ends: date | None = None
    sale: Sale = "any"
    required: Annotated[str, Field(min_length=1)]
    say: dict[str, str] = Field(default_factory=dict)
    source: Annotated[str, Field(min_length=1)]

    @model_validator(mode="after")
    def _ends_after_it_starts(self) -> CountryText:
        if self.ends is not None and self.ends < self.starts:
            raise ValueError(f"ends on {self.ends}, before it starts on {self.starts}")
        return self


class CountryTexts(Record):
    """All texts of one country.

    Attributes:
        country: Two letters of ISO 3166, small ("de").
        title: The country's name.
        looked_up_on: Day on which the sources were last looked at; None: never.
        texts: In the order in which a listing says them.
    """

    country: Annotated[str, Field(pattern="^[a-z]{2}$")]
    title: str
    looked_up_on: date | None = None
    texts: tuple[CountryText, ...] = ()

    def in_force(self, on: date) -> tuple[CountryText, ...]:
        """Return what is asked for on this day."""
        return texts_in_force(self.texts, on)


class ShopTerms(Record):
    """The shop's own settings for every sale. None means: not stated, which is a finding before publishing.

    Attributes:
        name: Name of the shop as buyers see it.
        country: Two letters of ISO 3166, small; decides which texts the law asks for.
        returns_days: Days from receipt in which a buyer may send the unit back; 0: none beyond the law.
        return_postage: Who pays the postage of a return.
        guarantee_months: The shop's own guarantee from receipt; 0: none beyond the law.
        required: Texts of the country; None: nobody knows them.
    """

    name: str | None = None
    country: Annotated[str, Field(pattern="^[a-z]{2}$")] | None = None
    returns_days: Annotated[int, Field(ge=0, le=3660)] | None = None
    return_postage: Payer | None = None
    guarantee_months: Annotated[int, Field(ge=0, le=240)] | None = None
    required: tuple[CountryText, ...] | None = None


def texts_in_force(texts: Sequence[CountryText], on: date) -> tuple[CountryText, ...]:
    """Return those of the texts that are asked for on this day."""
    return tuple(text for text in texts if text.starts <= on and (text.ends is None or on <= text.ends))
