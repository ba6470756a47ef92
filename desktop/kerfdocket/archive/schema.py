"""The archive's tables. A change of them is a migration in `migrations/versions`."""

from sqlalchemy import (
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    false,
)

__all__ = [
    "ACTUAL",
    "CONTENT",
    "DRAFT",
    "EVENT",
    "FACTS",
    "METADATA",
    "PAGE",
    "SERIES",
    "TABLES",
    "TRAVELLER",
]

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
    Index("ix_event_number", "number", "place"),
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
    Column("program", Text, nullable=False, server_default=""),
    Column("tables", Text, nullable=False, server_default=""),
    Column("code", Text, nullable=False, server_default=""),
    Column("thickness_m", Float),
    Column("cutter", Text, nullable=False, server_default=""),
    # What it is found by, as `words` makes it. Each database has an index of its own kind on it.
    Column("words", Text, nullable=False, server_default=""),
    UniqueConstraint("number", "revision"),
    Index("ix_traveller_state", "state"),
    Index("ix_traveller_code", "code"),
    # Each range with what it is narrowed by, so that nothing has to be looked up in the table.
    Index("ix_traveller_thickness_m", "thickness_m", "state", "date"),
    Index("ix_traveller_date", "date", "state", "thickness_m"),
)

PAGE = Table(
    "page",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("file", String(64), ForeignKey(CONTENT.c.digest), nullable=False),
    Column("page", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("taken_at", String(32), nullable=False),
    Column("number", String(120), nullable=False),
    Column("revision", String(12), nullable=False),
    Column("side", String(1), nullable=False),
    Column("how", String(8), nullable=False),
    Column("reason", Text, nullable=False),
    Column("is_set_aside", Boolean, nullable=False, server_default=false()),
    # Two sheets side by side on one page make two rows.
    UniqueConstraint("file", "page", "number", "revision", name="uq_page_file"),
    Index("ix_page_number", "number", "revision"),
)

ACTUAL = Table(
    "actual",
    METADATA,
    Column("number", String(120), primary_key=True),
    Column("revision", String(12), primary_key=True),
    Column("name", String(80), primary_key=True),
    Column("text", Text, nullable=False),
)

DRAFT = Table(
    "draft",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("version", Integer, nullable=False),
    Column("title", Text, nullable=False),
    Column("job", String(64), ForeignKey(CONTENT.c.digest), nullable=False),
    Column("who", String(120), nullable=False),
    Column("at", String(32), nullable=False),
    Column("ended", String(8), nullable=False),
    Column("number", String(120), nullable=False),
    # Who has it open is told to others and proves nothing: no event tells of it.
    Column("held_by", String(120), nullable=False, server_default=""),
    Column("held_at", String(32), nullable=False, server_default=""),
)

# All of them, each after those that it points to.
TABLES = (CONTENT, EVENT, SERIES, TRAVELLER, PAGE, ACTUAL, DRAFT)
