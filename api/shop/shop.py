"""The shop that every use case works in: its settings, its clock, its store, its classes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path

from api.settings import Settings
from data.catalogue.reader import find_class, read_class
from data.storage.store import Store, open_store
from pricing.errors import NotFound, UnsafeSetting
from pricing.records.device_class import DeviceClass


def clock() -> datetime:
    """Return this moment with the offset of the machine's time zone."""
    return datetime.now(UTC).astimezone()


class Shop:
    """Settings, clock, store and classes; the store is opened when it is first needed."""

    def __init__(self, settings: Settings, now: Callable[[], datetime] = clock) -> None:
        self.settings = settings
        self.now = now

    @property
    def today(self) -> date:
        """Today's date where the machine stands."""
        return self.now().date()

    @cached_property
    def store(self) -> Store:
        """The store, made on first use.

        Raises:
            UnsafeSetting: Its folder cannot be made.
        """
        if not self.settings.store:
            try:
                self.settings.home.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                raise UnsafeSetting(f"home: cannot make the folder {self.settings.home}: {error}") from error
        return open_store(self.settings.store_address)

    def class_named(self, name: str) -> DeviceClass:
        """Return the class in the file ``name`` when that is a path to a TOML file, else of that name.

        Raises:
            NotFound: There is none.
            BadInput: Its file has problems.
        """
        if name.endswith(".toml") or Path(name).name != name:
            return read_class(Path(name))
        return find_class(name, self.settings.class_folder)

    def class_called(self, name: str) -> DeviceClass:
        """Return the class of this name from the catalogue, else as sales of it were imported; never a path.

        Raises:
            NotFound: Neither knows it.
        """
        try:
            return find_class(name, self.settings.class_folder)
        except NotFound as unknown:
            with self.store.reading() as work:
                if work.comparables.currency(name) is None:
                    raise unknown
                return work.comparables.device_class(name)

    def open_and_close(self) -> None:
        """Open the store and give it back, so that what is wrong with it shows now.

        Raises:
            UnsafeSetting: Its address is refused.
            NotFound: Its folder is not there.
            BadInput: The file is no store.
        """
        if self.store:
            self.close()

    def close(self) -> None:
        """Give back the store, if it was opened."""
        if "store" in self.__dict__:
            self.store.close()
            del self.store
