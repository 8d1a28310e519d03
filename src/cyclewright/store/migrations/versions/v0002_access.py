"""Tables for wrong PINs and open shifts; the list's summaries are made again, they are a cache."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of version 0002."""
    op.create_table(
        "attempt",
        sa.Column("person", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("failures", sa.Integer, nullable=False),
        sa.Column("last", sa.String(40), nullable=False),
    )
    op.create_table(
        "shift",
        sa.Column("token", sa.String(64), primary_key=True),
        sa.Column("person", sa.Integer, nullable=False),
        sa.Column("pin", sa.Integer, nullable=False),
        sa.Column("until", sa.String(40), nullable=False),
    )
    op.execute("DELETE FROM summary")


def downgrade() -> None:
    """There is no way back: an older version does not open a newer record."""
    raise NotImplementedError("an older Cyclewright does not open a newer record")
