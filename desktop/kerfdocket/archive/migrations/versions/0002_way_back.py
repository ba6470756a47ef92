"""What came back from the floor, drafts, and what travellers are found by."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables and columns; what can be worked out is filled in after the last step."""
    for column in (
        sa.Column("program", sa.Text, nullable=False, server_default=""),
        sa.Column("tables", sa.Text, nullable=False, server_default=""),
        sa.Column("code", sa.Text, nullable=False, server_default=""),
        sa.Column("thickness_m", sa.Float),
        sa.Column("cutter", sa.Text, nullable=False, server_default=""),
        sa.Column("words", sa.Text, nullable=False, server_default=""),
    ):
        op.add_column("traveller", column)
    for columns in (("code",), ("thickness_m", "state", "date"), ("date", "state", "thickness_m")):
        op.create_index(f"ix_traveller_{columns[0]}", "traveller", columns)
    op.create_index("ix_event_number", "event", ["number", "place"])
    op.create_table(
        "page",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("file", sa.String(64), sa.ForeignKey("content.digest"), nullable=False),
        sa.Column("page", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("taken_at", sa.String(32), nullable=False),
        sa.Column("number", sa.String(120), nullable=False),
        sa.Column("revision", sa.String(12), nullable=False),
        sa.Column("side", sa.String(1), nullable=False),
        sa.Column("how", sa.String(8), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("is_set_aside", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.UniqueConstraint("file", "page", "number", "revision", name="uq_page_file"),
    )
    op.create_index("ix_page_number", "page", ["number", "revision"])
    op.create_table(
        "actual",
        sa.Column("number", sa.String(120), primary_key=True),
        sa.Column("revision", sa.String(12), primary_key=True),
        sa.Column("name", sa.String(80), primary_key=True),
        sa.Column("text", sa.Text, nullable=False),
    )
    op.create_table(
        "draft",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("job", sa.String(64), sa.ForeignKey("content.digest"), nullable=False),
        sa.Column("who", sa.String(120), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("ended", sa.String(8), nullable=False),
        sa.Column("number", sa.String(120), nullable=False),
        sa.Column("held_by", sa.String(120), nullable=False, server_default=""),
        sa.Column("held_at", sa.String(32), nullable=False, server_default=""),
    )
    if op.get_bind().dialect.name == "postgresql":
        # Words as they are, not as its parser would part them, so that both databases agree.
        op.execute(
            "CREATE INDEX ix_traveller_words ON traveller "
            "USING gin (array_to_tsvector(string_to_array(words, ' ')))"
        )
    else:
        _index_words_in_sqlite()


def _index_words_in_sqlite() -> None:
    # `words` has made the words: `ascii` parts them at their spaces and leaves all other letters
    # as they are. Indexes of prefixes would double the size and make nothing faster.
    op.execute(
        "CREATE VIRTUAL TABLE traveller_words USING fts5(words, content='traveller', "
        "content_rowid='id', tokenize=\"ascii tokenchars '_'\", detail=column, columnsize=0)"
    )
    taken_out = (
        "INSERT INTO traveller_words(traveller_words, rowid, words) "
        "VALUES ('delete', old.id, old.words);"
    )
    put_in = "INSERT INTO traveller_words(rowid, words) VALUES (new.id, new.words);"
    for name, when, doing in (
        ("in", "AFTER INSERT", put_in),
        ("out", "AFTER DELETE", taken_out),
        ("anew", "AFTER UPDATE OF words", taken_out + put_in),
    ):
        op.execute(f"CREATE TRIGGER traveller_words_{name} {when} ON traveller BEGIN {doing} END")
    op.execute("INSERT INTO traveller_words(traveller_words) VALUES ('rebuild')")
