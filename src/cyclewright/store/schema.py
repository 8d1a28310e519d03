"""Tables of the record. Bodies and hashes are bytes; events are never updated."""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Column,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

VERSION = "0003"
"""The newest schema this program writes; equal to the newest migration."""

META = MetaData()

VERSIONS = Table("alembic_version", META, Column("version_num", String(32), primary_key=True))

SHOP = Table(
    "shop",
    META,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("name", String(36), nullable=False),
    Column("sequence", BigInteger, nullable=False),
    Column("chain", LargeBinary, nullable=False),
)

STREAM = Table(
    "stream",
    META,
    Column("stream", Integer, primary_key=True, autoincrement=False),
    Column("number", Integer, nullable=False),
    Column("hash", LargeBinary, nullable=False),
)

EVENT = Table(
    "event",
    META,
    Column("sequence", BigInteger, primary_key=True, autoincrement=False),
    Column("stream", Integer, nullable=False),
    Column("number", Integer, nullable=False),
    Column("uuid", String(36), nullable=False, unique=True),
    Column("subject", String(200), nullable=False),
    Column("body", LargeBinary, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    Column("chain", LargeBinary, nullable=False),
    UniqueConstraint("stream", "number", name="event_stream_number"),
    Index("event_subject", "stream", "subject", "number"),
)

ATTACHMENT = Table(
    "attachment",
    META,
    Column("address", String(64), primary_key=True),
    Column("content", LargeBinary, nullable=False),
)

SUMMARY = Table(
    "summary",
    META,
    Column("stream", Integer, primary_key=True, autoincrement=False),
    Column("number", Integer, nullable=False),
    Column("updated", String(40), nullable=False),
    Column("content", Text, nullable=False),
)
"""One line a bike for the list: made from its events, thrown away and made again at will."""

ATTEMPT = Table(
    "attempt",
    META,
    Column("person", Integer, primary_key=True, autoincrement=False),
    Column("failures", Integer, nullable=False),
    Column("last", String(40), nullable=False),
)
"""Wrong PINs in a row, by person."""

SHIFT = Table(
    "shift",
    META,
    Column("token", String(64), primary_key=True),
    Column("person", Integer, nullable=False),
    Column("pin", Integer, nullable=False),
    Column("until", String(40), nullable=False),
)
"""Open shifts by the hash of their token; `pin` is the number of the PIN's event."""

DEVICE = Table(
    "device",
    META,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("token", String(64), nullable=False, unique=True),
    Column("name", String(80), nullable=False),
    Column("person", Integer),
    Column("paired", String(40), nullable=False),
    Column("seen", String(40), nullable=False),
    Column("until", String(40), nullable=False),
    Column("revoked", String(40)),
)
"""Phones that were let in, by the hash of their cookie; a number is never given twice."""

THROTTLE = Table(
    "throttle",
    META,
    Column("source", String(100), primary_key=True),
    Column("failures", Integer, nullable=False),
    Column("last", String(40), nullable=False),
)
"""Wrong pairing codes in a row, by the address that sent them."""
