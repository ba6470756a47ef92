"""Archives of each earlier form are brought up to this one, with what is in them."""

import json
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory

import kerfdocket.archive.migrations
from archive.conftest import sheet
from kerfdocket.archive import Archive, ArchiveProblem, open_archive, verify
from kerfdocket.archive.engine import make_engine
from kerfdocket.archive.schema import METADATA, TABLES
from kerfdocket.archive.words import in_field, words_in

HERE = Path(__file__).parent
MIGRATIONS = Path(next(iter(kerfdocket.archive.migrations.__path__)))


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    return config


FORMS = [one.revision for one in ScriptDirectory.from_config(_config()).walk_revisions()][:0:-1]


def test_there_are_data_of_each_earlier_form() -> None:
    """Made by the program of that time; a new form needs one more."""
    assert {f"form_{one}.json" for one in FORMS} == {one.name for one in HERE.glob("form_*.json")}


@pytest.mark.parametrize("form", FORMS)
def test_from_an_earlier_form(place: str, form: str) -> None:
    rows = json.loads((HERE / f"form_{form}.json").read_text("utf-8"))
    if "://" not in place:
        Path(place).parent.mkdir()
    engine = make_engine(place)
    with engine.begin() as connection:
        config = _config()
        config.attributes["connection"] = connection
        command.upgrade(config, form)
        for table in TABLES:
            for row in rows.get(table.name, ()):
                if table.name == "content":
                    row = {**row, "bytes": row["bytes"].encode()}
                connection.execute(table.insert().values(**row))
    engine.dispose()
    archive = open_archive(place)
    assert verify(archive) == ()
    old, new, other = sorted(archive.travellers(), key=lambda one: (one.number, one.revision))
    assert (old.number, old.revision, old.state) == ("KD-0001", "A", "superseded")
    assert (new.revision, new.state, new.reason) == ("B", "issued", "plate is thicker")
    assert (other.number, other.state) == ("W-7", "withdrawn")
    # What that form did not have follows from what it had.
    assert {one.thickness_m for one in (old, new, other)} == {0.012}
    assert new.program == "0.1.0"
    kind, letters = new.code.rsplit(":", 1)
    assert kind == "KD-0001:B"
    assert len(letters) == 10
    assert archive.content(new.pdf) == b"%PDF-1.7 second"
    assert archive.reserve("KD-????", "F") == "KD-0003"
    with archive.engine.connect() as connection:
        words = connection.exec_driver_sql(
            "SELECT words FROM traveller WHERE number = 'W-7'"
        ).scalar_one()
    assert set(words_in("Base plates for the stair tower")) <= set(words.split())
    assert in_field("grade", "s355j2") in words.split()
    archive.close()


def test_the_migrations_lead_to_the_schema(archive: Archive) -> None:
    def is_ours(_thing: object, name: str | None, kind: str, *_more: object) -> bool:
        # The words' index is of each database's own kind, so the schema does not know it.
        own = "traveller_words", "ix_traveller_words"
        return kind not in {"table", "index"} or not (name or "").startswith(own)

    with archive.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"include_object": is_ours})
        assert compare_metadata(context, METADATA) == []


def test_a_newer_form_is_refused_with_its_version(archive: Archive, place: str) -> None:
    archive.issue("KD-1", sheet(), "F")
    with archive.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    archive.close()
    with pytest.raises(ArchiveProblem, match=rf"form 9999.* knows up to {_head()}"):
        open_archive(place)


def _head() -> str:
    head = ScriptDirectory.from_config(_config()).get_current_head()
    assert head is not None
    return head
