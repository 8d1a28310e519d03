"""The first tables: shop, streams, events, attachments and the list's summaries."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of version 0001."""
    op.create_table(
        "shop",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("name", sa.String(36), nullable=False),
        sa.Column("sequence", sa.BigInteger, nullable=False),
        sa.Column("chain", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "stream",
        sa.Column("stream", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("hash", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "event",
        sa.Column("sequence", sa.BigInteger, primary_key=True, autoincrement=False),
        sa.Column("stream", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("uuid", sa.String(36), nullable=False, unique=True),
        sa.Column("subject", sa.String(200), nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.Column("hash", sa.LargeBinary, nullable=False),
        sa.Column("chain", sa.LargeBinary, nullable=False),
        sa.UniqueConstraint("stream", "number", name="event_stream_number"),
    )
    op.create_index("event_subject", "event", ["stream", "subject", "number"])
    op.create_table(
        "attachment",
        sa.Column("address", sa.String(64), primary_key=True),
        sa.Column("content", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "summary",
        sa.Column("stream", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("updated", sa.String(40), nullable=False),
        sa.Column("content", sa.Text, nullable=False),
    )


def downgrade() -> None:
    """There is no way back: an older version does not open a newer record."""
    raise NotImplementedError("an older Cyclewright does not open a newer record")
