"""Opening the database: SQLite in the data folder by default, or PostgreSQL by its URL."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from cyclewright.errors import CyclewrightError, Integrity, Problem, input_error
from cyclewright.store import schema

FILE = "record.sqlite3"


def engine_for(folder: Path, url: str | None) -> Engine:
    """An engine whose writing transactions are serialised; nothing is connected yet."""
    if not url:
        return _sqlite(folder / FILE)
    try:
        parsed = sa.make_url(url)
    except sa.exc.ArgumentError:
        raise _bad_url() from None
    if parsed.get_backend_name() not in ("postgresql", "postgres"):
        raise _bad_url()
    driver = parsed.set(drivername="postgresql+psycopg")
    return sa.create_engine(driver, pool_pre_ping=True, hide_parameters=True)


def _bad_url() -> CyclewrightError:
    return input_error(
        "database-url",
        "CYCLEWRIGHT_DATABASE",
        "give a PostgreSQL address like postgresql://user@host/name, or unset it for SQLite",
    )


def _sqlite(path: Path) -> Engine:
    engine = sa.create_engine(
        "sqlite+pysqlite://",
        creator=lambda: _connect(path),
        poolclass=sa.pool.QueuePool,
        hide_parameters=True,
        pool_size=8,
        max_overflow=8,
    )
    sa.event.listen(engine, "begin", _begin)
    return engine


def _connect(path: Path) -> Any:
    import sqlite3

    with suppress(OSError):  # said better below; the files beside it take its mode
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    connection = sqlite3.connect(path, timeout=10.0, isolation_level=None, check_same_thread=False)
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("PRAGMA secure_delete=ON")
    return connection


def _begin(connection: Connection) -> None:
    """Writers take the lock at once, so that two of them queue instead of failing late."""
    write = connection.get_execution_options().get("write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A consistent view; errors of the database come out as one clear sentence."""
    with _clear(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """One transaction that is on disk when the block has ended."""
    with _clear(engine), engine.connect() as connection:
        connection = connection.execution_options(write=True)
        with connection.begin():
            yield connection


@contextmanager
def _clear(engine: Engine) -> Iterator[None]:
    try:
        yield
    except sa.exc.DBAPIError as error:
        raise plain(error, str(engine.url.database or "the record")) from error
    except (sa.exc.NoResultFound, sa.exc.MultipleResultsFound, UnicodeDecodeError) as error:
        raise _integrity("damaged", "the record is damaged: restore a backup") from error
    except sa.exc.TimeoutError as error:
        raise _integrity("busy", "too much at once: try again in a moment") from error
    except OSError as error:
        raise _integrity("disk", f"the disk refused: {error.strerror or error}") from error


def plain(error: sa.exc.DBAPIError, where: str) -> Integrity:
    """A database error as one sentence that says what to do."""
    text = str(error.orig).lower()
    for part, code, do in _WORDS:
        if part in text:
            return _integrity(code, do)
    first = str(error.orig).splitlines()[0] if str(error.orig) else "unknown"
    return _integrity("database", f"the database refused: {first}")


_WORDS = (
    ("not a database", "not-a-database", "the record file is not one: restore a backup"),
    ("malformed", "damaged", "the record file is damaged: restore a backup"),
    ("full", "disk-full", "the disk is full: make room, then do it again; nothing was recorded"),
    ("readonly", "read-only", "the data folder cannot be written: check its permissions"),
    ("unable to open", "unopened", "the record cannot be opened: check the data folder"),
    ("locked", "busy", "another program holds the record: close it or try again"),
    ("disk i/o", "disk", "the disk failed: check it, then restore a backup"),
    ("connection", "no-database", "the database does not answer: check CYCLEWRIGHT_DATABASE"),
    ("no such table", "not-a-record", "this file is not a Cyclewright record: choose another"),
)


def _integrity(code: str, do: str) -> Integrity:
    return Integrity(Problem(code, "record", do))


def insert_for(connection: Connection) -> Any:
    """The INSERT of this database that says what to do when the row is there already."""
    if connection.dialect.name == "sqlite":
        from sqlalchemy.dialects.sqlite import insert
    else:
        from sqlalchemy.dialects.postgresql import insert  # type: ignore[assignment]
    return insert


def version(connection: Connection) -> str | None:
    """The schema's version, or None for an empty database: one SELECT."""
    try:
        with connection.begin_nested() if connection.dialect.name != "sqlite" else _no_nesting():
            return connection.scalar(sa.select(schema.VERSIONS.c.version_num))
    except sa.exc.DBAPIError as error:
        if isinstance(error, (sa.exc.OperationalError, sa.exc.ProgrammingError)) and (
            "no such table" in str(error.orig) or "does not exist" in str(error.orig)
        ):
            return None
        raise


@contextmanager
def _no_nesting() -> Iterator[None]:
    yield


def make_folder(path: Path, mode: int = 0o700) -> None:
    """A folder that survives a power cut, for this user only."""
    if path.is_dir():
        return
    make_folder(path.parent, mode)
    path.mkdir(mode=mode, exist_ok=True)
    sync_folder(path.parent)


def sync_folder(path: Path) -> None:
    """The folder's own entries on disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
