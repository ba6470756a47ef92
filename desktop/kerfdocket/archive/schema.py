"""The archive's tables. A change of them is a migration in `migrations/versions`."""

from sqlalchemy import (
    Column,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

__all__ = ["CONTENT", "EVENT", "FACTS", "METADATA", "SERIES", "TRAVELLER"]

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# What a traveller is found by; each a column, all of it text.
FACTS = ("title", "customer", "drawing", "grade", "thickness", "nozzle", "gas", "date")

# Each content is kept once, under its own digest.
CONTENT = Table(
    "content",
    METADATA,
    Column("digest", String(64), primary_key=True),
    Column("bytes", LargeBinary, nullable=False),
)

EVENT = Table(
    "event",
    METADATA,
    Column("place", Integer, primary_key=True, autoincrement=False),
    Column("at", String(32), nullable=False),
    Column("who", String(120), nullable=False),
    Column("what", String(20), nullable=False),
    Column("number", String(120), nullable=False),
    Column("revision", String(12), nullable=False),
    Column("details", Text, nullable=False),
    Column("previous", String(64), nullable=False),
    Column("hash", String(64), nullable=False, unique=True),
)

SERIES = Table(
    "series",
    METADATA,
    Column("pattern", String(120), primary_key=True),
    Column("last", Integer, nullable=False),
)

TRAVELLER = Table(
    "traveller",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("number", String(120), nullable=False),
    Column("revision", String(12), nullable=False),
    Column("state", String(20), nullable=False),
    Column("issued_at", String(32), nullable=False),
    Column("reason", Text, nullable=False),
    Column("job", String(64), ForeignKey(CONTENT.c.digest), nullable=False),
    Column("plan", String(64), ForeignKey(CONTENT.c.digest), nullable=False),
    Column("pdf", String(64), ForeignKey(CONTENT.c.digest), nullable=False),
    *(Column(name, Text, nullable=False) for name in FACTS),
    UniqueConstraint("number", "revision"),
    Index("ix_traveller_state", "state"),
)
