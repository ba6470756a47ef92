"""The first archive: contents, events, numbers, travellers."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables of an empty archive."""
    op.create_table(
        "content",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("bytes", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "event",
        sa.Column("place", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("who", sa.String(120), nullable=False),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("number", sa.String(120), nullable=False),
        sa.Column("revision", sa.String(12), nullable=False),
        sa.Column("details", sa.Text, nullable=False),
        sa.Column("previous", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False, unique=True),
    )
    op.create_table(
        "series",
        sa.Column("pattern", sa.String(120), primary_key=True),
        sa.Column("last", sa.Integer, nullable=False),
    )
    op.create_table(
        "traveller",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("number", sa.String(120), nullable=False),
        sa.Column("revision", sa.String(12), nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("issued_at", sa.String(32), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("job", sa.String(64), sa.ForeignKey("content.digest"), nullable=False),
        sa.Column("plan", sa.String(64), sa.ForeignKey("content.digest"), nullable=False),
        sa.Column("pdf", sa.String(64), sa.ForeignKey("content.digest"), nullable=False),
        *(
            sa.Column(name, sa.Text, nullable=False)
            for name in (
                "title",
                "customer",
                "drawing",
                "grade",
                "thickness",
                "nozzle",
                "gas",
                "date",
            )
        ),
        sa.UniqueConstraint("number", "revision"),
    )
    op.create_index("ix_traveller_state", "traveller", ["state"])
