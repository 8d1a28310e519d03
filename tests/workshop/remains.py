"""All that is left of a shop in files and rows, to look for what should be gone."""

from __future__ import annotations

import sqlalchemy as sa

from cyclewright.store import database, schema
from cyclewright.workshop.shop import Shop


def events_of(shop: Shop) -> bytes:
    """Every event's body."""
    with database.reading(shop.store.engine) as connection:
        return b"".join(bytes(body) for body in connection.scalars(sa.select(schema.EVENT.c.body)))


def remains(shop: Shop) -> bytes:
    """Events, attachments in rows, and every file of the data folder."""
    files = b"".join(path.read_bytes() for path in shop.data.rglob("*") if path.is_file())
    with database.reading(shop.store.engine) as connection:
        rows = connection.scalars(sa.select(schema.ATTACHMENT.c.content))
        kept = b"".join(bytes(content) for content in rows)
    return files + kept + events_of(shop)
