"""Opening a store: one SQLite file in WAL mode, brought to the newest tables on opening."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from sqlite3 import Connection as FileConnection

from alembic import command
from alembic.config import Config
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DatabaseError
from sqlalchemy.pool import ConnectionPoolEntry

from data.storage.unit_of_work import UnitOfWork
from pricing.errors import BadInput, NotFound, Problem, UnsafeSetting, shortened

_WAIT_SECONDS = 30.0


class Store:
    """An open store; hands out one unit of work for each use case."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @contextmanager
    def reading(self) -> Iterator[UnitOfWork]:
        """Give a unit of work that sees one moment of the store and writes nothing."""
        with self._engine.connect() as connection:
            yield UnitOfWork(connection, None)
            connection.rollback()

    @contextmanager
    def writing(self, at: datetime) -> Iterator[UnitOfWork]:
        """Give a unit of work that is kept whole, or not at all when anything in it fails.

        ``at`` is the moment under which everything in it is recorded.
        """
        connecting = self._engine.connect().execution_options(plainsale_writes=True)
        with connecting as connection, connection.begin():
            yield UnitOfWork(connection, at)

    def close(self) -> None:
        """Give back the file."""
        self._engine.dispose()


def open_store(url: str) -> Store:
    """Return the store at ``url`` ("sqlite:///shop.sqlite"), made or brought to the newest tables.

    Raises:
        UnsafeSetting: The address is not of an SQLite file.
        NotFound: The folder of the file is not there.
        BadInput: The file is no store, or one of a later version.
    """
    address = _checked_address(url)
    engine = create_engine(address, connect_args={"timeout": _WAIT_SECONDS})
    event.listen(engine, "connect", _prepare_file)
    event.listen(engine, "begin", _begin)
    try:
        _migrate(engine)
    except CommandError as error:
        engine.dispose()
        raise _no_store(address, "a store of a later version", "a store that this version wrote") from error
    except DatabaseError as error:
        engine.dispose()
        raise _no_store(address, str(error.orig), "an SQLite file that plainsale wrote") from error
    return Store(engine)


def _checked_address(url: str) -> URL:
    try:
        address = make_url(url)
    except ArgumentError as error:
        raise UnsafeSetting(f"store: {shortened(url)} is no address; expected sqlite:///FILE") from error
    if address.get_backend_name() != "sqlite" or not address.database or address.database == ":memory:":
        hidden = address.render_as_string(hide_password=True)
        raise UnsafeSetting(f"store: {shortened(hidden)} is not an SQLite file; expected sqlite:///FILE")
    folder = Path(address.database).parent
    if not folder.is_dir():
        raise NotFound(f"store: the folder {folder} is not there; make it first")
    return address


def _no_store(address: URL, found: str, expected: str) -> BadInput:
    problem = Problem(str(address.database), None, None, shortened(found), expected)
    return BadInput(str(problem), (problem,))


def _prepare_file(file: FileConnection, _entry: ConnectionPoolEntry) -> None:
    # The driver would begin transactions by itself, too late for a consistent read; _begin does it instead.
    file.isolation_level = None
    file.execute("PRAGMA journal_mode=WAL")
    file.execute("PRAGMA foreign_keys=ON")
    file.execute("PRAGMA synchronous=NORMAL")
    # A picture that was taken off may show what must not stay: its place in the file is overwritten.
    file.execute("PRAGMA secure_delete=ON")


def _begin(connection: Connection) -> None:
    # A writer takes its lock at once: two writers wait for each other instead of one failing halfway.
    writes = connection.get_execution_options().get("plainsale_writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _migrate(engine: Engine) -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with engine.connect().execution_options(plainsale_writes=True) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
