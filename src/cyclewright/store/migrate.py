"""Bring an old record up to date: on a copy that is renamed into place, or not at all.

Imported only when there is something to upgrade, because alembic is slow to load.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy.engine import Connection

from cyclewright.errors import Integrity, Problem
from cyclewright.store import database, schema

if TYPE_CHECKING:
    from cyclewright.store.store import Store

MIGRATIONS = Path(__file__).parent / "migrations"
MOVED = "moved"
"""Version written into a file whose upgraded copy takes its place."""


def upgrade(
    store: Store, found: str, migrations: Path = MIGRATIONS, target: str = schema.VERSION
) -> None:
    """Upgrade the store's tables from version `found`; refuse what is newer than this program."""
    if found != MOVED and found not in _revisions(migrations):
        raise Integrity(
            Problem(
                "record-newer",
                "record",
                "it was made by a newer Cyclewright: install that version, nothing was changed",
                value=f"version {found}",
            )
        )
    if store.engine.dialect.name == "sqlite":
        store.engine.dispose()
        _upgrade_file(store.folder / database.FILE, found, migrations, target)
        return
    with database.writing(store.engine) as connection:
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(2047)")
        if database.version(connection) != target:
            run(connection, migrations, target)


def run(connection: Connection, migrations: Path, target: str) -> None:
    """Run the migrations inside the transaction of this connection."""
    config = _config(migrations)
    config.attributes["connection"] = connection
    command.upgrade(config, target)


def _config(migrations: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _revisions(migrations: Path) -> set[str]:
    try:
        walked = ScriptDirectory.from_config(_config(migrations)).walk_revisions()
        return {script.revision for script in walked}
    except CommandError as error:
        raise Integrity(Problem("migrations", "record", f"install again: {error}")) from error


def _upgrade_file(
    path: Path, found: str, migrations: Path, target: str, patience: float = 10.0
) -> None:
    """Copy under the exclusive lock, upgrade the copy, mark the old file, rename the copy.

    A program that still has the old file open finds the mark and appends nothing to it. A
    crash after the mark leaves the finished copy, which the next opening puts in place.
    """
    copy = path.with_name(path.name + ".upgraded")
    if found == MOVED:
        _put_in_place(copy, path)
        return
    old = sqlite3.connect(path, timeout=patience, isolation_level=None)
    try:
        old.execute("PRAGMA journal_mode=DELETE")
        old.execute("BEGIN EXCLUSIVE")
        if _marked(old) != found:
            return
        copy.unlink(missing_ok=True)
        _copy(old, copy)
        _upgrade_copy(copy, migrations, target)
        old.execute("UPDATE alembic_version SET version_num = ?", (MOVED,))
        old.execute("COMMIT")
        _put_in_place(copy, path)
    except sqlite3.OperationalError as error:
        busy = "locked" in str(error)
        do = "close every other Cyclewright and start again" if busy else f"it failed: {error}"
        raise Integrity(Problem("upgrade", "record", do)) from error
    finally:
        old.close()


def _marked(old: sqlite3.Connection) -> str:
    return str(old.execute("SELECT version_num FROM alembic_version").fetchone()[0])


def _copy(old: sqlite3.Connection, path: Path) -> None:
    new = sqlite3.connect(path)
    try:
        for line in old.iterdump():
            new.execute(line)
        new.commit()
    finally:
        new.close()


def _upgrade_copy(copy: Path, migrations: Path, target: str) -> None:
    engine = sa.create_engine(f"sqlite+pysqlite:///{copy}", poolclass=sa.pool.NullPool)

    @sa.event.listens_for(engine, "connect")
    def _plain(connection: sqlite3.Connection, _: object) -> None:
        connection.isolation_level = None
        connection.execute("PRAGMA synchronous=FULL")

    @sa.event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    with engine.begin() as connection:
        run(connection, migrations, target)
    engine.dispose()
    database.sync_folder(copy.parent)


def _put_in_place(copy: Path, path: Path) -> None:
    if not copy.exists():
        raise Integrity(Problem("upgrade", "record", "an upgrade was cut short: restore a backup"))
    copy.replace(path)
    database.sync_folder(path.parent)
