"""Tables for the phones that were let in, and for wrong pairing codes."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of version 0003."""
    op.create_table(
        "device",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("token", sa.String(64), nullable=False, unique=True),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("person", sa.Integer),
        sa.Column("paired", sa.String(40), nullable=False),
        sa.Column("seen", sa.String(40), nullable=False),
        sa.Column("until", sa.String(40), nullable=False),
        sa.Column("revoked", sa.String(40)),
    )
    op.create_table(
        "throttle",
        sa.Column("source", sa.String(100), primary_key=True),
        sa.Column("failures", sa.Integer, nullable=False),
        sa.Column("last", sa.String(40), nullable=False),
    )


def downgrade() -> None:
    """There is no way back: an older version does not open a newer record."""
    raise NotImplementedError("an older Cyclewright does not open a newer record")
