"""Settings: one typed class, read from the environment, that refuses unsafe values at start."""

from __future__ import annotations

import re
from ipaddress import ip_address
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

from pricing.errors import UnsafeSetting
from pricing.records.shop_terms import Payer

# Signs that end an address, or could be taken for markup, have no place in one.
_FOLDER_ON_THE_NET = re.compile(r"https?://[^\s/\\<>\"'?#@]+/(?:[^\s\\<>\"'?#]*/)?")


class Settings(BaseSettings):
    """Where things are kept and where the service listens; each is also an environment variable.

    Attributes:
        home: Folder of the store, the user's own classes and the log (PLAINSALE_HOME).
        store: Address of the store, sqlite:///FILE (PLAINSALE_STORE); empty: plainsale.sqlite in ``home``.
        catalogue: Folder of the user's own device classes (PLAINSALE_CATALOGUE); None: "classes" in ``home``.
        host: Address to listen on, loopback only (PLAINSALE_HOST).
        port: Port to listen on, 0 for any free one (PLAINSALE_PORT).
        shop_name: The shop's name as buyers see it in listings (PLAINSALE_SHOP_NAME); empty: not stated.
        country: The shop's country, two letters of ISO 3166 (PLAINSALE_COUNTRY); empty: not stated.
        returns_days: Days in which a unit may come back, 0: none beyond the law (PLAINSALE_RETURNS_DAYS).
        return_postage: Who pays the postage of a return, buyer or shop (PLAINSALE_RETURN_POSTAGE).
        guarantee_months: The shop's own guarantee, 0: none beyond the law (PLAINSALE_GUARANTEE_MONTHS).
        photos: Ask for photos: one that is missing is a finding before publishing (PLAINSALE_PHOTOS). A unit that has
            any photo is asked for the others anyway.
        photo_address: Where pictures lie on the net, each as DIGEST.jpg (PLAINSALE_PHOTO_ADDRESS); empty: nowhere.
    """

    model_config = SettingsConfigDict(env_prefix="PLAINSALE_", frozen=True, extra="ignore")

    home: Path = Field(default_factory=lambda: Path.home() / ".plainsale")
    store: str = ""
    catalogue: Path | None = None
    host: str = "127.0.0.1"
    port: int = Field(default=8000, ge=0, le=65535)
    shop_name: str = Field(default="", max_length=200)
    country: str = Field(default="", pattern="^([A-Za-z]{2})?$")
    returns_days: int | None = Field(default=None, ge=0, le=3660)
    return_postage: Payer | None = None
    guarantee_months: int | None = Field(default=None, ge=0, le=240)
    photos: bool = False
    photo_address: str = Field(default="", max_length=500)

    @field_validator("host")
    @classmethod
    def _loopback_only(cls, host: str) -> str:
        try:
            address = ip_address("127.0.0.1" if host == "localhost" else host)
        except ValueError as error:
            raise ValueError("expected an address such as 127.0.0.1") from error
        if not address.is_loopback:
            raise ValueError("only a loopback address is served, because there are no keys yet")
        return str(address)

    @field_validator("photo_address")
    @classmethod
    def _of_a_folder_on_the_net(cls, address: str) -> str:
        if address and not _FOLDER_ON_THE_NET.fullmatch(address):
            raise ValueError("expected an address such as https://example.org/photos/")
        return address

    @property
    def store_address(self) -> str:
        """Address of the store."""
        return self.store or f"sqlite:///{self.home / 'plainsale.sqlite'}"

    @property
    def class_folder(self) -> Path:
        """Folder of the user's own device classes; it need not be there."""
        return self.catalogue or self.home / "classes"

    @property
    def channel_folder(self) -> Path:
        """Folder of the user's own channels; it need not be there."""
        return self.home / "channels"

    @property
    def tax_folder(self) -> Path:
        """Folder of the user's own tax rates; it need not be there."""
        return self.home / "tax_rates"

    @property
    def country_text_folder(self) -> Path:
        """Folder of the user's own texts that a country's law asks for; it need not be there."""
        return self.home / "country_texts"


def read_settings(**given: str | int | Path | None) -> Settings:
    """Return the settings of the environment, with those ``given`` (and not None) put over them.

    Raises:
        UnsafeSetting: A value is refused; the message names the setting.
    """
    try:
        wanted: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
        return Settings(**wanted)
    except ValidationError as error:
        first = error.errors()[0]
        name = str(first["loc"][0])
        said = str(first["msg"]).removeprefix("Value error, ")
        raise UnsafeSetting(f"{name} (PLAINSALE_{name.upper()}): found {first['input']!r}; {said}") from error
