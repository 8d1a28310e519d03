"""Migrations: the same tables either way, on a copy, bodies untouched, newer records refused."""

from __future__ import annotations

import shutil
import sqlite3
from pathlib import Path

import pytest
import sqlalchemy as sa

from cyclewright.errors import Integrity
from cyclewright.store import database, migrate, schema
from cyclewright.store.store import Store
from cyclewright.store.verifying import verify
from store.shelves import add, bike, reading
from waking import woken

NEXT = """
import sqlalchemy as sa
from alembic import op
revision = "9999"
down_revision = "{before}"
branch_labels = None
depends_on = None
def upgrade():
    op.add_column("summary", sa.Column("colour", sa.Text))
    op.create_table("later", sa.Column("x", sa.Integer, primary_key=True))
    {more}
"""


def _layout(path: Path) -> dict[str, set[tuple[str, str, bool]]]:
    engine = sa.create_engine(f"sqlite:///{path}")
    seen = sa.inspect(engine)
    found = {
        table: {(c["name"], str(c["type"]), bool(c["nullable"])) for c in seen.get_columns(table)}
        | {(str(i["name"]), str(i["column_names"]), True) for i in seen.get_indexes(table)}
        | {("", str(sorted(u["column_names"])), True) for u in seen.get_unique_constraints(table)}
        for table in seen.get_table_names()
    }
    engine.dispose()
    return found


def test_migrations_make_the_same_tables_as_a_new_record(tmp_path: Path) -> None:
    Store.open(tmp_path).close()
    engine = sa.create_engine(f"sqlite:///{tmp_path / 'other.sqlite3'}")
    with engine.begin() as connection:
        migrate.run(connection, migrate.MIGRATIONS, "head")
        assert database.version(connection) == schema.VERSION
    engine.dispose()
    assert _layout(tmp_path / "other.sqlite3") == _layout(tmp_path / database.FILE)


@pytest.fixture
def later(tmp_path: Path) -> Path:
    """The migrations of this version and an invented next one."""
    folder = tmp_path / "migrations"
    shutil.copytree(migrate.MIGRATIONS, folder, ignore=shutil.ignore_patterns("__pycache__"))
    (folder / "versions" / "v9999_next.py").write_text(
        NEXT.format(before=schema.VERSION, more="pass")
    )
    return folder


def _old(tmp_path: Path) -> Store:
    store = Store.open(tmp_path / "data")
    add(store, bike(store), 5)
    return store


def _bodies(path: Path) -> list[tuple[bytes, bytes, bytes]]:
    with sqlite3.connect(path) as connection:
        rows = connection.execute("SELECT body, hash, chain FROM event ORDER BY sequence")
        found = rows.fetchall()
    connection.close()
    return found


def test_an_upgrade_keeps_every_byte(tmp_path: Path, later: Path) -> None:
    store = _old(tmp_path)
    path = store.folder / database.FILE
    before = _bodies(path)
    migrate.upgrade(store, schema.VERSION, later, "9999")
    assert _bodies(path) == before
    assert "later" in _layout(path)
    assert not verify(store).faults
    store.close()
    with pytest.raises(Integrity, match="made by a newer Cyclewright"):
        Store.open(store.folder)


def test_a_record_of_the_first_version_opens(tmp_path: Path) -> None:
    """The tables of version 0001, filled, opened by this program: bodies stay, the list is new."""
    store = _old(tmp_path)
    path = store.folder / database.FILE
    before = _bodies(path)
    store.close()
    with sqlite3.connect(path) as connection:
        for table in ("attempt", "shift", "device", "throttle"):
            connection.execute(f"DROP TABLE {table}")
        connection.execute("UPDATE alembic_version SET version_num = '0001'")
    connection.close()
    again = Store.open(store.folder)
    assert {"attempt", "shift", "device", "throttle"} <= set(_layout(path))
    assert _bodies(path) == before
    assert not verify(again).faults
    again.append(1, [reading()])
    again.close()


def test_an_upgrade_that_fails_changes_nothing(tmp_path: Path, later: Path) -> None:
    (later / "versions" / "v9999_next.py").write_text(
        NEXT.format(before=schema.VERSION, more='raise OSError("no room")')
    )
    store = _old(tmp_path)
    before = _layout(store.folder / database.FILE)
    with pytest.raises(OSError, match="no room"):
        migrate.upgrade(store, schema.VERSION, later, "9999")
    assert _layout(store.folder / database.FILE) == before
    store.append(1, [reading()])
    assert not verify(store).faults
    store.close()


def test_an_upgrade_waits_for_nobody_in_secret(tmp_path: Path, later: Path) -> None:
    store = _old(tmp_path)
    with sqlite3.connect(store.folder / database.FILE, isolation_level=None) as other:
        other.execute("BEGIN")
        other.execute("SELECT count(*) FROM event").fetchone()
        with pytest.raises(Integrity, match="close every other Cyclewright"):
            migrate._upgrade_file(store.folder / database.FILE, schema.VERSION, later, "9999", 0.2)
    other.close()
    assert "later" not in _layout(store.folder / database.FILE)
    store.close()


def test_a_program_with_the_old_file_open_appends_nothing_to_it(
    tmp_path: Path, later: Path
) -> None:
    store = _old(tmp_path)
    path = store.folder / database.FILE
    old = path.with_name("old.sqlite3")
    migrate.upgrade(store, schema.VERSION, later, "9999")
    with pytest.raises(Integrity, match="a newer Cyclewright has upgraded it"):
        store.append(1, [reading()])
    assert not old.exists()
    store.close()


def test_an_upgrade_cut_short_after_the_mark_is_finished(tmp_path: Path, later: Path) -> None:
    store = _old(tmp_path)
    path = store.folder / database.FILE
    before = _bodies(path)
    store.close()
    shutil.copy(path, path.with_name(path.name + ".upgraded"))
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = 'moved'")
        connection.execute("DELETE FROM event")
    connection.close()
    again = Store.open(tmp_path / "data")
    assert _bodies(path) == before
    again.close()


def test_alembic_is_not_loaded_for_an_ordinary_opening(tmp_path: Path) -> None:
    code = """
    from pathlib import Path
    from cyclewright.store.store import Store
    Store.open(Path(sys.argv[1])).close()
    Store.open(Path(sys.argv[1])).close()
    """
    heavy = {"alembic", "scipy", "fastapi", "numpy", "cryptography", "PIL"}
    assert not heavy & woken(code, tmp_path)
