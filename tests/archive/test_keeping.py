"""Backup, export, import, retention and counts, on SQLite and on PostgreSQL."""

import csv
import json
import multiprocessing
import shutil
import sqlite3
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from archive.conftest import sheet
from archive.keeping_workers import keep_for_ever, keep_on_a_full_disk
from archive.test_pages import Read
from archive.workers import issue_for_ever
from kerfdocket.archive import (
    Archive,
    ArchiveProblem,
    GivenUp,
    NotPossible,
    migrations,
    open_archive,
    verify,
)
from kerfdocket.archive.actuals import record_actuals
from kerfdocket.archive.chain import canonical, hash_of
from kerfdocket.archive.drafts import end_draft, hold_draft, new_draft, save_draft
from kerfdocket.archive.engine import make_engine, reading, writing
from kerfdocket.archive.keeping import (
    NotWhole,
    Rule,
    backup,
    copying,
    discard,
    export,
    import_export,
    proposals,
    restore,
    stats,
    would_discard,
)
from kerfdocket.archive.keeping.form import safe_name
from kerfdocket.archive.keeping.places import beside
from kerfdocket.archive.keeping.rows import rows_of
from kerfdocket.archive.model import Event
from kerfdocket.archive.pages import keep_pages, match_page, set_page_aside, tray
from kerfdocket.archive.schema import CONTENT, EVENT, METADATA, TABLES, TRAVELLER
from kerfdocket.errors import EnvironmentProblem, InputError
from kerfdocket.office.keeping import not_compared_text
from kerfdocket.planning.page_code import PageCode

# Numbers that make bad names of files, each in its own way.
ODD = ("KD/7", "KD:7", "../../KD", "CON", "nul.1", "Türblech", "kd_7", "." * 120, "=1+1", "板" * 80)


def page(index: int, *codes: tuple[str, str, str], **fields: str) -> Read:
    """A page as it was read, with the codes of sheets that `sheet` makes."""
    return Read(index, tuple(PageCode(*of, check="") for of in codes), fields)


def fill(archive: Archive) -> None:
    """Let all happen that an archive tells of."""
    archive.reserve("KD-????", "Foreman")
    for number in ("KD-0001", "KD-0002", "KD-0003", *ODD):
        archive.issue(number, sheet(number, customer="Bay — 2\n=x"), "Foreman")
    archive.move("KD-0001", "on the floor", "Foreman")
    archive.reissue("KD-0001", "B", sheet("anew", gas="propane"), "Foreman", "plate is thicker")
    archive.move("KD-0003", "withdrawn", "Foreman", "no plate")
    both = [page(0, ("KD-0001", "B", "F"), cutter_name="A. Nyberg"), page(1, ("KD-0001", "B", "B"))]
    keep_pages(archive, b"%PDF-1.7 both sides", "scan.pdf", both, "Foreman")
    lost = [page(0), page(1), page(2)]
    keep_pages(archive, b"\x89PNG\r\n\x1a\n lost", "lost.png", lost, "Foreman")
    file = tray(archive)[0].file
    match_page(archive, file, 0, "CON", "A", "Foreman", "F")
    record_actuals(archive, "CON", "A", {"note": "cut twice"}, "Foreman")
    set_page_aside(archive, file, 1, "Foreman", "a delivery note")
    archive.move("KD-0001", "closed", "Foreman")
    record_actuals(archive, "KD-0002", "A", {"clock_time": "12 min"}, "Foreman")
    draft = new_draft(archive, "[about]\n", "Stair", "Foreman")
    save_draft(archive, draft.id, 1, "[about]\ntitle = 'x'\n", "Stair", "Mate")
    hold_draft(archive, draft.id, "Mate")
    end_draft(archive, new_draft(archive, "[about]\n", "Gone", "Mate").id, "Mate", "dropped")
    assert verify(archive) == ()


def tables(archive: Archive, with_ids: bool = True) -> dict[str, list[dict[str, Any]]]:
    with reading(archive.engine) as connection:
        found = {table.name: list(rows_of(connection, table)) for table in TABLES}
    if not with_ids:
        for name in ("traveller", "page"):
            for row in found[name]:
                del row["id"]
    return found


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture
def filled(archive: Archive) -> Archive:
    fill(archive)
    return archive


@pytest.fixture
def exported(filled: Archive, tmp_path: Path) -> Path:
    export(filled, tmp_path / "out" / "export")
    return tmp_path / "out" / "export"


@pytest.fixture
def other(tmp_path: Path) -> Any:
    """An empty archive in a file."""
    opened = open_archive(tmp_path / "other" / "b.sqlite")
    yield opened
    opened.close()


# Backup and restoring


def test_a_backup_is_one_file_and_equal(filled: Archive, tmp_path: Path) -> None:
    target = tmp_path / "backups" / "today.sqlite"
    done = backup(filled, target)
    assert (done.events, done.head) == filled.head()
    assert [one.name for one in target.parent.iterdir()] == ["today.sqlite"]
    copy = open_archive(target)
    assert tables(copy) == tables(filled)
    assert verify(copy, done.head) == ()
    copy.close()


def test_restored_it_is_equal_and_goes_on(place: str, other: Archive, tmp_path: Path) -> None:
    """From SQLite into either database."""
    fill(other)
    backup(other, tmp_path / "b.sqlite")
    before = (tmp_path / "b.sqlite").read_bytes()
    archive = open_archive(place)
    done = restore(tmp_path / "b.sqlite", archive)
    assert tables(archive) == tables(other)
    assert (done.events, done.head) == other.head()
    assert (tmp_path / "b.sqlite").read_bytes() == before
    assert archive.reserve("KD-????", "F") == "KD-0004"
    last = tables(archive)["traveller"][-1]["id"]
    archive.issue("KD-0004", sheet("new"), "F")
    keep_pages(archive, b"%PDF-1.7 new", "new.pdf", [page(0, ("KD-0004", "A", "F"))], "F")
    assert tables(archive)["traveller"][-1]["id"] == last + 1
    assert verify(archive) == ()
    archive.close()


def test_the_way_there_and_back(filled: Archive, other: Archive, tmp_path: Path) -> None:
    """From either database into a file."""
    backup(filled, tmp_path / "b.sqlite")
    restore(tmp_path / "b.sqlite", other)
    assert tables(other) == tables(filled)
    assert verify(other) == ()


def test_nothing_is_written_over(filled: Archive, tmp_path: Path) -> None:
    target = tmp_path / "b.sqlite"
    target.write_text("mine")
    with pytest.raises(InputError, match="there already"):
        backup(filled, target)
    assert target.read_text() == "mine"
    backup(filled, target, overwrite=True)
    copy = open_archive(target)
    with pytest.raises(InputError, match="someone has open"):
        backup(filled, target, overwrite=True)
    with pytest.raises(InputError, match="is the archive itself"):
        backup(copy, target, overwrite=True)
    with pytest.raises(NotPossible, match="not empty"):
        restore(target, filled)
    copy.close()
    with pytest.raises(InputError, match="is a folder"):
        backup(filled, tmp_path)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE event SET who = 'Nobody' WHERE place = 2", "event 2: was altered"),
        ("UPDATE content SET bytes = 'forged' WHERE digest = (SELECT pdf FROM traveller "
         "WHERE number = 'KD-0001' AND revision = 'A')", "was altered"),
        ("DELETE FROM actual", "is missing"),
    ],
)  # fmt: skip
def test_faults_are_named_and_copied_only_if_asked(
    filled: Archive, other: Archive, tmp_path: Path, statement: str, said: str
) -> None:
    with filled.engine.begin() as connection:
        connection.exec_driver_sql(statement)
    wanted = verify(filled)
    assert wanted
    target, folder = tmp_path / "b.sqlite", tmp_path / "export"
    for refused in (lambda: backup(filled, target), lambda: export(filled, folder)):
        with pytest.raises(NotWhole, match=said) as told:
            refused()
        assert told.value.faults == wanted
    assert not target.exists()
    assert not folder.exists()
    assert backup(filled, target, despite_faults=True).faults == wanted
    assert export(filled, folder, despite_faults=True).faults == wanted
    for refused in (lambda: restore(target, other), lambda: import_export(folder, other)):
        with pytest.raises(InputError, match=r"altered|missing|what its name says"):
            refused()
    assert not any(tables(other).values())
    restore(target, other, despite_faults=True)
    assert verify(other) == wanted


def test_what_is_no_backup_is_refused(other: Archive, tmp_path: Path) -> None:
    (tmp_path / "text").write_text("this is no database" * 100)
    sqlite3.connect(tmp_path / "strange.sqlite").close()
    (tmp_path / "strange.sqlite").write_bytes(b"")
    for name, said in (
        ("text", "no archive"),
        ("strange.sqlite", "no archive"),
        ("x", "not there"),
    ):
        with pytest.raises(InputError, match=said):
            restore(tmp_path / name, other)
    backup(other, tmp_path / "b.sqlite")
    with sqlite3.connect(tmp_path / "b.sqlite") as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    with pytest.raises(ArchiveProblem, match="made by a newer program"):
        restore(tmp_path / "b.sqlite", other)


def test_a_backup_of_an_older_form(archive: Archive, other: Archive, tmp_path: Path) -> None:
    """The file stays as it is; a renewed copy of it is read."""
    fill_as_of_old(other)
    old = tmp_path / "old.sqlite"
    engine = make_engine(str(old))
    _make_first_form(engine)
    with reading(other.engine) as source, engine.begin() as target:
        for name in ("content", "event", "series", "traveller"):
            columns = sa.inspect(target).get_columns(name)
            known = sa.table(name, *(sa.column(one["name"]) for one in columns))
            for row in rows_of(source, METADATA.tables[name]):
                target.execute(
                    known.insert().values({one["name"]: row[one["name"]] for one in columns})
                )
    engine.dispose()
    before = old.read_bytes()
    restore(old, archive)
    assert old.read_bytes() == before
    assert tables(archive) == tables(other)
    assert verify(archive) == ()


def fill_as_of_old(archive: Archive) -> None:
    archive.reserve("KD-????", "F")
    archive.issue("KD-0001", sheet(), "F")
    archive.move("KD-0001", "returned", "F")


def _make_first_form(engine: sa.Engine) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(migrations.__path__[0])))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")


def test_a_backup_while_others_issue_without_pause(
    archive: Archive, place: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(archive)
    told = tmp_path / "told"
    told.touch()
    worker = multiprocessing.get_context("spawn").Process(
        target=issue_for_ever, args=(place, str(told))
    )
    worker.start()
    try:
        _wait_for(lambda: told.read_text().count("\n") >= 3)
        real = copying.rows_of

        def rows_while_more_is_issued(connection: Any, table: Any) -> Any:
            # In the middle of the backup: it waits for whoever issues, who must not wait for it.
            if table is TRAVELLER:
                before = told.read_text().count("\n")
                _wait_for(lambda: told.read_text().count("\n") > before + 1)
            return real(connection, table)

        monkeypatch.setattr(copying, "rows_of", rows_while_more_is_issued)
        for at in range(3):
            done = backup(archive, tmp_path / f"{at}.sqlite")
            # The backup knows nothing of what was issued while it was made.
            assert archive.head()[0] > done.events
            copy = open_archive(tmp_path / f"{at}.sqlite")
            assert copy.head() == (done.events, done.head)
            assert verify(copy) == ()
            copy.close()
    finally:
        worker.kill()
        worker.join()


def _wait_for(happened: Callable[[], bool]) -> None:
    until = time.monotonic() + 60
    while not happened():
        assert time.monotonic() < until
        time.sleep(0.005)


def test_killed_it_leaves_no_half_under_the_final_name(
    filled: Archive, place: str, tmp_path: Path
) -> None:
    context = multiprocessing.get_context("spawn")
    whole_folder, whole_backup = tmp_path / "whole", tmp_path / "whole.sqlite"
    export(filled, whole_folder)
    backup(filled, whole_backup)
    wanted = files_of(whole_folder)
    out = tmp_path / "killed"
    for kill_after_s in (0.0, 0.02, 0.05, 0.1):
        out.mkdir()
        worker = context.Process(target=keep_for_ever, args=(place, str(out)))
        worker.start()
        _wait_for(lambda: any(out.iterdir()))  # it is at work
        time.sleep(kill_after_s)
        worker.kill()
        worker.join()
        for made in out.iterdir():
            if made.name.startswith("."):
                continue
            if made.is_dir():
                assert files_of(made) == wanted
            else:
                copy = open_archive(made)
                assert verify(copy, filled.head()[1]) == ()
                copy.close()
        shutil.rmtree(out)
    assert verify(filled) == ()


def test_interrupted_at_any_call_nothing_is_left_beside(tmp_path: Path) -> None:
    """As by Ctrl+C: before the folder is made, in it, and while it is cleared away."""

    def interrupt_at(nth: int) -> bool:
        left = nth

        def trace(_frame: object, _event: str, _more: object) -> None:
            nonlocal left
            left -= 1
            if left == 0:
                raise KeyboardInterrupt

        before = sys.gettrace()
        sys.settrace(trace)
        try:
            with beside(tmp_path / "copy") as folder:
                (folder / "half").write_bytes(b"half")
        except KeyboardInterrupt:
            return True
        finally:
            sys.settrace(before)
        return False

    interrupted = 0
    while interrupt_at(interrupted + 1):
        interrupted += 1
        assert list(tmp_path.iterdir()) == [], f"after call {interrupted}"
    assert interrupted > 10
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_is_said_and_leaves_nothing(
    filled: Archive, place: str, tmp_path: Path
) -> None:
    out = tmp_path / "full"
    out.mkdir()
    filled.issue("KD-big", sheet("x" * 3_000_000), "F")
    worker = multiprocessing.get_context("spawn").Process(
        target=keep_on_a_full_disk, args=(place, str(out), str(tmp_path / "said"))
    )
    worker.start()
    worker.join(120)
    assert worker.exitcode == 0
    assert not list(out.iterdir())
    backup_said, export_said = (tmp_path / "said").read_text().splitlines()
    assert backup_said.startswith(("EnvironmentProblem", "ArchiveProblem"))
    assert "backup" in backup_said
    assert export_said.startswith("EnvironmentProblem: cannot write")
    assert "File too large" in export_said


# Export and import


def test_an_export_holds_all_of_it(filled: Archive, exported: Path) -> None:
    found = {path.name for path in exported.iterdir()}
    assert found == {
        "actuals.jsonl", "contents", "contents.jsonl", "drafts.jsonl", "events.jsonl",
        "manifest.json", "names.jsonl", "pages.jsonl", "README.txt", "returned", "series.jsonl",
        "SHA256SUMS", "sheets", "travellers.csv", "travellers.jsonl",
    }  # fmt: skip
    # As sha256sum -c reads it.
    listed = {}
    for line in (exported / "SHA256SUMS").read_text("utf-8").splitlines():
        digest, name = line.split("  ", 1)
        listed[name] = digest
    files = files_of(exported)
    assert listed == {
        name: sha256(content).hexdigest()
        for name, content in files.items()
        if name not in ("SHA256SUMS", "manifest.json")
    }
    manifest = json.loads(files["manifest.json"])
    assert (manifest["events"], manifest["head"]) == filled.head()
    assert manifest["sums"] == sha256(files["SHA256SUMS"]).hexdigest()
    assert manifest["lines"]["events.jsonl"] == manifest["events"]
    for name, content in files.items():
        if name.startswith("contents/"):
            assert Path(name).stem == sha256(content).hexdigest()
    endings = {Path(name).suffix for name in files if name.startswith("contents/")}
    assert endings == {".pdf", ".png", ".toml", ".txt"}


def test_the_chain_can_be_proved_as_the_readme_says(exported: Path) -> None:
    previous = "0" * 64
    for line in (exported / "events.jsonl").read_text("utf-8").splitlines():
        one = json.loads(line)
        said = [
            one[name] for name in ("place", "at", "who", "what", "number", "revision", "details")
        ]
        text = json.dumps([*said, previous], ensure_ascii=False)
        previous = sha256(text.encode()).hexdigest()
        assert one["hash"] == previous


def test_people_find_sheets_and_scans_by_number(filled: Archive, exported: Path) -> None:
    names = [
        json.loads(line) for line in (exported / "names.jsonl").read_text("utf-8").split("\n")[:-1]
    ]
    sheets = {
        (one["number"], one["revision"]): one["file"] for one in names if "sheets" in one["file"]
    }
    assert set(sheets) == {(one.number, one.revision) for one in filled.travellers()}
    assert sheets["KD-0001", "B"] == "sheets/KD-0001-B.txt"  # the sheets of this test are texts
    for one in filled.travellers():
        path = exported / sheets[one.number, one.revision]
        assert path.read_bytes() == filled.content(one.pdf)
        assert path.parent == exported / "sheets"
        assert path.stat().st_nlink >= 2  # not on the disk twice
    assert len({path.lower() for path in sheets.values()}) == len(sheets)
    returned = {one["file"]: one["number"] for one in names if "returned" in one["file"]}
    assert returned == {"returned/KD-0001-B.pdf": "KD-0001", "returned/CON-A.png": "CON"}


@pytest.mark.parametrize("odd", [*ODD, "", " ", "a\x00b", "-rf", "com1.txt", "LPT9", "a" * 300])
def test_a_safe_name(odd: str) -> None:
    # Windows, "Naming Files, Paths, and Namespaces", from memory; POSIX: no / and no NUL.
    name = safe_name(odd, ())
    assert name
    assert name.isascii()
    assert not set(name) & set('<>:"/\\|?* \x00')
    assert not name.startswith(".")
    assert not name.endswith((".", " "))
    assert name.split(".")[0].lower() not in {"con", "nul", "com1", "lpt9"}
    assert len(name) <= 90
    assert safe_name(odd, {name.lower()}) != name


def test_a_spreadsheet_finds_no_formula(exported: Path) -> None:
    content = (exported / "travellers.csv").read_bytes()
    assert content.startswith(b"\xef\xbb\xbf")  # so that a spreadsheet takes it for UTF-8
    rows = list(csv.DictReader(content.decode("utf-8-sig").splitlines(keepends=True)))
    assert [row["number"] for row in rows if "1+1" in row["number"]] == ["'=1+1"]
    for row in rows:
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row.values())
    closed = next(row for row in rows if row["revision"] == "B")
    assert (closed["state"], closed["pages_returned"]) == ("closed", "2")


def test_the_same_archive_gives_the_same_bytes(
    filled: Archive, exported: Path, tmp_path: Path
) -> None:
    export(filled, tmp_path / "again")
    assert files_of(tmp_path / "again") == files_of(exported)


def test_imported_it_is_equal_on_either_database(
    place: str, other: Archive, tmp_path: Path
) -> None:
    """From SQLite to either database and out again."""
    fill(other)
    export(other, tmp_path / "export")
    archive = open_archive(place)
    done = import_export(tmp_path / "export", archive)
    assert (done.events, done.head) == other.head()
    assert done.travellers == len(other.travellers())
    assert tables(archive, with_ids=False) == tables(other, with_ids=False)
    export(archive, tmp_path / "again")
    assert files_of(tmp_path / "again") == files_of(tmp_path / "export")
    archive.issue("KD-0004", sheet("new"), "F")
    keep_pages(archive, b"%PDF-1.7 new", "new.pdf", [page(0, ("KD-0004", "A", "F"))], "F")
    assert verify(archive) == ()
    archive.close()


def test_from_either_database_into_a_file(
    filled: Archive, exported: Path, other: Archive, tmp_path: Path
) -> None:
    import_export(exported, other)
    assert tables(other, with_ids=False) == tables(filled, with_ids=False)
    export(other, tmp_path / "again")
    assert files_of(tmp_path / "again") == files_of(exported)


def test_a_disk_without_links_gets_copies(
    filled: Archive, exported: Path, other: Archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_ignored: object) -> None:
        raise PermissionError("no links here")

    monkeypatch.setattr("os.link", refuse)
    export(filled, tmp_path / "stick")
    assert files_of(tmp_path / "stick") == files_of(exported)
    assert all(path.stat().st_nlink == 1 for path in (tmp_path / "stick" / "sheets").iterdir())
    import_export(tmp_path / "stick", other)
    assert verify(other) == ()


def test_a_folder_that_holds_something_is_refused(filled: Archive, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "letter").write_text("dear")
    with pytest.raises(InputError, match="not empty"):
        export(filled, tmp_path / "mine")
    assert files_of(tmp_path / "mine") == {"letter": b"dear"}
    (tmp_path / "empty").mkdir()
    export(filled, tmp_path / "empty")
    assert (tmp_path / "empty" / "manifest.json").is_file()
    with pytest.raises(NotPossible, match="not empty"):
        import_export(tmp_path / "empty", filled)


_EACH_FILE = (
    "events.jsonl", "travellers.jsonl", "pages.jsonl", "actuals.jsonl", "drafts.jsonl",
    "series.jsonl", "contents.jsonl", "names.jsonl", "travellers.csv", "README.txt", "SHA256SUMS",
    "contents/*.toml", "contents/*.png", "sheets/KD-0002-A.txt", "returned/*.pdf",
)  # fmt: skip


@pytest.fixture(scope="module")
def an_export(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("export")
    archive = open_archive(folder / "a.sqlite")
    fill(archive)
    export(archive, folder / "export")
    archive.close()
    return folder / "export"


@pytest.fixture
def copied(an_export: Path, tmp_path: Path) -> Path:
    """An export that a test may spoil; no file is a link of another one."""
    return Path(shutil.copytree(an_export, tmp_path / "copied"))


@pytest.mark.parametrize("pattern", _EACH_FILE)
@pytest.mark.parametrize("how", ["altered", "gone", "a link", "cut off"])
def test_what_was_altered_is_refused_by_name(
    copied: Path, other: Archive, tmp_path: Path, pattern: str, how: str
) -> None:
    path = next(iter(sorted(copied.glob(pattern))))
    content = path.read_bytes()
    path.unlink()
    if how == "altered":
        path.write_bytes(content[:-1] + bytes([content[-1] ^ 1]))
    elif how == "cut off":
        path.write_bytes(content[: len(content) // 2])
    elif how == "a link":
        (tmp_path / "elsewhere").write_bytes(content)
        path.symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputError) as told:
        import_export(copied, other)
    assert path.name in str(told.value)
    assert not any(tables(other).values())


def sealed(folder: Path) -> None:
    """Make sums and manifest fit again, as whoever means harm would."""
    sums = "".join(
        f"{sha256(content).hexdigest()}  {name}\n"
        for name, content in sorted(files_of(folder).items())
        if name not in ("SHA256SUMS", "manifest.json")
    )
    (folder / "SHA256SUMS").write_text(sums)
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["sums"] = sha256(sums.encode()).hexdigest()
    (folder / "manifest.json").write_text(json.dumps(manifest))


def rewritten(folder: Path, name: str, change: Callable[[dict[str, Any]], Any]) -> None:
    """Let the first line of a file be another one."""
    first, *others = (folder / name).read_text("utf-8").splitlines(keepends=True)
    values = json.loads(first)
    values = change(values) or values
    (folder / name).write_text("".join([json.dumps(values) + "\n", *others]), "utf-8")
    sealed(folder)


def _event_again(folder: Path, **details: Any) -> None:
    """Let the first `issued` event tell other details, in a chain that is whole."""
    lines, previous = [], "0" * 64
    changed = False
    for line in (folder / "events.jsonl").read_text("utf-8").splitlines():
        values = json.loads(line)
        if values["what"] == "issued" and not changed:
            changed = True
            values["details"] = canonical({**json.loads(values["details"]), **details})
        event = Event(**{**values, "previous": previous})
        previous = hash_of(event)
        lines.append(json.dumps({**event.__dict__, "hash": previous}) + "\n")
    (folder / "events.jsonl").write_text("".join(lines), "utf-8")
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["head"] = previous
    (folder / "manifest.json").write_text(json.dumps(manifest))
    sealed(folder)


def _set(**values: Any) -> Callable[[dict[str, Any]], dict[str, Any]]:
    return lambda row: {**row, **values}


_HARM: dict[str, tuple[Callable[[Path], Any], str]] = {
    "a digest that is a path": (
        lambda f: rewritten(f, "contents.jsonl", _set(digest="../../etc/passwd")), "digest"),
    "a file that is a path": (
        lambda f: rewritten(f, "contents.jsonl", _set(file="../../../etc/passwd")), "file"),
    "a file that is absolute": (
        lambda f: rewritten(f, "contents.jsonl", _set(file="/etc/passwd")), "file"),
    "a file of another content": (
        lambda f: rewritten(f, "contents.jsonl", _set(file=f"contents/{'a' * 64}.pdf")), "file"),
    "another size": (lambda f: rewritten(f, "contents.jsonl", _set(size=1)), "size"),
    "a size that is a text": (lambda f: rewritten(f, "contents.jsonl", _set(size="1")), "size"),
    "a content that nobody gave up": (
        lambda f: rewritten(f, "contents.jsonl", _set(file="", size=0)), "was altered"),
    "a number that is a list": (
        lambda f: rewritten(f, "travellers.jsonl", _set(number=["KD"])), "line 1: number"),
    "a number that is too long": (
        lambda f: rewritten(f, "travellers.jsonl", _set(number="9" * 121)), "line 1: number"),
    "half a letter": (
        lambda f: rewritten(f, "travellers.jsonl", _set(title="\ud800")), "line 1: title"),
    "a truth that is a number": (
        lambda f: rewritten(f, "pages.jsonl", _set(is_set_aside=1)), "is_set_aside"),
    "a number beyond all": (lambda f: rewritten(f, "pages.jsonl", _set(page=2**31)), "page"),
    "a thickness without end": (
        lambda f: rewritten(f, "travellers.jsonl", _set(thickness_m=1e400)), "no JSON"),
    "an unknown column": (lambda f: rewritten(f, "drafts.jsonl", _set(x=1)), "not known"),
    "a column less": (
        lambda f: rewritten(f, "drafts.jsonl", lambda row: {"id": row["id"]}), "missing"),
    "a line that is a list": (lambda f: rewritten(f, "series.jsonl", lambda _row: [1]), "no row"),
    "a line without end": (
        lambda f: ((f / "events.jsonl").write_bytes(b"[" * 17_000_000), sealed(f)), "too long"),
    "a line without bottom": (
        lambda f: ((f / "events.jsonl").write_bytes(b"[" * 100_000 + b"\n"), sealed(f)), "no JSON"),
    "no text": (
        lambda f: ((f / "events.jsonl").write_bytes(b'{"at":"\xff"}\n'), sealed(f)), "no JSON"),
    "a traveller twice": (
        lambda f: rewritten(f, "travellers.jsonl", _set(number="KD-0002")), "not fit together"),
    "a traveller without its sheet": (
        lambda f: rewritten(f, "travellers.jsonl", _set(pdf="a" * 64)), "not fit together"),
    "another state": (
        lambda f: rewritten(f, "travellers.jsonl", _set(state="closed")), "state was altered"),
    "another series": (lambda f: rewritten(f, "series.jsonl", _set(last=8)), "was altered"),
    "an event altered": (lambda f: rewritten(f, "events.jsonl", _set(who="Nobody")), "event 1"),
    "facts that are none": (lambda f: _event_again(f, facts=[1]), "cannot have happened"),
    "a text that is none": (lambda f: _event_again(f, text=7), "form that no archive has"),
    "a name in the sums that leads away": (
        lambda f: _sums_with(f, "../../etc/passwd"), "names no file"),
    "an absolute name in the sums": (lambda f: _sums_with(f, "/etc/passwd"), "names no file"),
    "a hidden name in the sums": (lambda f: _sums_with(f, "contents/.."), "names no file"),
    "no manifest": (lambda f: (f / "manifest.json").write_text("[]"), "none of an export"),
    "a manifest of deep lists": (
        lambda f: (f / "manifest.json").write_text("[" * 100_000), "no JSON"),
    "a huge manifest": (
        lambda f: (f / "manifest.json").write_text(" " * 1_000_001), "too long"),
    "a newer form": (lambda f: _manifest_with(f, form="9999"), "take a newer one"),
    "fewer events": (lambda f: _manifest_with(f, events=3), "tells of 3 events"),
    "another end": (lambda f: _manifest_with(f, head="f" * 64), "the last is another"),
    "other counts": (lambda f: _manifest_with(f, lines={}), "contents.jsonl is missing or wrong"),
}  # fmt: skip


def _sums_with(folder: Path, name: str) -> None:
    sums = (folder / "SHA256SUMS").read_text() + f"{'0' * 64}  {name}\n"
    (folder / "SHA256SUMS").write_text(sums)
    _manifest_with(folder, sums=sha256(sums.encode()).hexdigest())


def _manifest_with(folder: Path, **values: Any) -> None:
    manifest = json.loads((folder / "manifest.json").read_text())
    (folder / "manifest.json").write_text(json.dumps({**manifest, **values}))


@pytest.mark.parametrize("harm", _HARM)
def test_what_means_harm_is_refused(copied: Path, other: Archive, harm: str) -> None:
    do, said = _HARM[harm]
    do(copied)
    with pytest.raises(InputError) as told:
        import_export(copied, other)
    assert said in str(told.value)
    assert not any(tables(other).values())
    assert verify(other) == ()


def test_a_refused_import_leaves_either_database_empty(copied: Path, archive: Archive) -> None:
    """The fault is met only when all of it is there: in the last file, or by `verify`."""
    rewritten(copied, "drafts.jsonl", _set(version=9))
    with pytest.raises(NotWhole, match="version was altered"):
        import_export(copied, archive)
    rewritten(copied, "drafts.jsonl", _set(version="9"))
    with pytest.raises(InputError, match="version"):
        import_export(copied, archive)
    assert not any(tables(archive).values())
    archive.issue("KD-1", sheet(), "F")
    assert verify(archive) == ()


def test_an_export_of_an_older_form(copied: Path, archive: Archive) -> None:
    """What older forms did not know follows from the events."""
    lines = []
    for line in (copied / "travellers.jsonl").read_text("utf-8").splitlines():
        values = json.loads(line)
        for name in ("program", "tables", "code", "thickness_m", "cutter", "words"):
            del values[name]
        lines.append(json.dumps(values) + "\n")
    (copied / "travellers.jsonl").write_text("".join(lines), "utf-8")
    sealed(copied)
    with pytest.raises(InputError, match="is missing"):
        import_export(copied, archive)
    _manifest_with(copied, form="0001")
    import_export(copied, archive)
    assert verify(archive) == ()
    assert [one.cutter for one in archive.revisions("KD-0001")] == ["", "A. Nyberg"]


# What need not be kept any longer


TODAY = datetime.now(UTC).date()  # or the day before, where midnight passes as they run
LATER = TODAY + timedelta(days=11 * 366)


def test_a_rule_proposes_and_does_nothing(filled: Archive) -> None:
    before = tables(filled)
    assert proposals(filled, Rule(10), TODAY) == ()
    found = proposals(filled, Rule(10), LATER)
    assert [(one.number, one.state, one.revisions, one.pages) for one in found] == [
        ("KD-0001", "closed", 2, 2),
        ("KD-0003", "withdrawn", 1, 0),
    ]
    sizes = {one: len(filled.content(one)) for one in _contents_of(filled, "KD-0003")}
    assert found[1].bytes == sum(sizes.values())
    assert found[0].since.isoformat() == filled.events("KD-0001")[-1].at[:10]
    assert proposals(filled, Rule(12), LATER) == ()
    assert tables(filled) == before
    with pytest.raises(NotPossible, match="give 1 to 1000"):
        Rule(0)


def test_the_day_itself_is_not_older() -> None:
    # Ten years after the 29th of February there is none.
    assert Rule(10).latest(datetime(2036, 2, 29, tzinfo=UTC).date()).isoformat() == "2026-02-28"
    assert Rule(10).latest(datetime(2036, 3, 1, tzinfo=UTC).date()).isoformat() == "2026-03-01"


def _contents_of(archive: Archive, number: str) -> set[str]:
    return {digest for one in archive.revisions(number) for digest in (one.job, one.plan, one.pdf)}


def test_what_is_given_up_is_gone_and_all_else_stays(
    filled: Archive, other: Archive, tmp_path: Path
) -> None:
    before = tables(filled)
    told = would_discard(filled, ["KD-0001", "KD-0003"])
    assert tables(filled) == before
    assert discard(filled, ["KD-0001", "KD-0003"], "Foreman", " ten years ") == told
    assert verify(filled) == ()
    gone = {digest for one in told for digest in one.contents}
    assert gone == {
        *_contents_of(filled, "KD-0001"),
        *_contents_of(filled, "KD-0003"),
        sha256(b"%PDF-1.7 both sides").hexdigest(),
    }
    after = tables(filled)
    for name in ("traveller", "page", "actual", "draft", "series"):
        assert after[name] == before[name]
    for row in after["content"]:
        assert (row["bytes"] == b"") == (row["digest"] in gone)
    with pytest.raises(
        GivenUp, match=r"KD-0001 was given up on 20..-..-.. UTC by Foreman.*ten years"
    ):
        filled.content(filled.revisions("KD-0001")[0].pdf)
    assert filled.events("KD-0003")[-1].what == "discarded"
    with pytest.raises(NotPossible, match="nothing is left"):
        discard(filled, ["KD-0003"], "Foreman", "again")
    assert proposals(filled, Rule(10), LATER) == ()
    # All that copies must get along with it.
    backup(filled, tmp_path / "b.sqlite")
    export(filled, tmp_path / "export")
    import_export(tmp_path / "export", other)
    assert tables(other, with_ids=False) == tables(filled, with_ids=False)
    export(other, tmp_path / "again")
    assert files_of(tmp_path / "again") == files_of(tmp_path / "export")
    assert stats(filled).given_up == len(gone)


def test_what_something_else_needs_stays(archive: Archive) -> None:
    for number in ("KD-1", "KD-2", "KD-3"):
        archive.issue(number, sheet("same"), "F")
    new_draft(archive, "job same", "Again", "F")
    archive.move("KD-1", "withdrawn", "F", "no plate")
    archive.move("KD-2", "withdrawn", "F", "no plate")
    with pytest.raises(NotPossible, match="nothing is left"):
        discard(archive, ["KD-1"], "F", "old")
    archive.move("KD-3", "withdrawn", "F", "no plate")
    with pytest.raises(NotPossible, match="nothing is left"):
        discard(archive, ["KD-1", "KD-2"], "F", "old")
    one = archive.revisions("KD-1")[0]
    scan = [page(0, ("KD-1", "A", "F")), page(1)]
    keep_pages(archive, b"%PDF-1.7 one of mine, one lost", "s.pdf", scan, "F")
    first, *others = discard(archive, ["KD-1", "KD-2", "KD-3"], "F", "old")
    assert set(first.contents) == {one.plan, one.pdf}  # the draft needs the job, the tray the scan
    assert first.kept == 2
    assert [other.contents for other in others] == [(), ()]
    assert archive.content(one.job) == b"job same"
    assert verify(archive) == ()


def test_what_was_given_up_may_come_again(archive: Archive) -> None:
    archive.issue("KD-1", sheet("same"), "F")
    archive.move("KD-1", "withdrawn", "F", "no plate")
    discard(archive, ["KD-1"], "F", "old")
    archive.issue("KD-2", sheet("same"), "F")
    assert archive.content(archive.revisions("KD-2")[0].pdf) == b"pdf same"
    assert verify(archive) == ()
    with archive.engine.begin() as connection:
        connection.execute(CONTENT.update().values(bytes=b""))
    assert len(verify(archive)) == 3


@pytest.mark.parametrize(
    ("numbers", "reason", "said"),
    [
        (["KD-0003"], " ", "for a reason"),
        (["KD-9"], "old", "never issued"),
        (["KD-0003", "KD-0002"], "old", "KD-0002 A is issued: only what is closed"),
    ],
)
def test_what_may_not_be_given_up(
    filled: Archive, numbers: list[str], reason: str, said: str
) -> None:
    before = tables(filled)
    with pytest.raises(NotPossible, match=said):
        discard(filled, numbers, "F", reason)
    assert tables(filled) == before


def test_a_job_file_that_proves_its_code_stays(archive: Archive) -> None:
    """Events of the first form did not say the check value; it follows from the job file."""
    from kerfdocket.archive.derived import renew

    archive.issue("KD-1", sheet(), "F")
    archive.move("KD-1", "withdrawn", "F", "no plate")
    with writing(archive.engine) as connection:
        previous = "0" * 64
        for row in list(rows_of(connection, EVENT)):
            details = json.loads(row["details"])
            details.pop("check", None)
            old = Event(**{**row, "details": canonical(details), "previous": previous})
            previous = hash_of(old)
            connection.execute(
                EVENT.update()
                .where(EVENT.c.place == old.place)
                .values(**{**old.__dict__, "hash": previous})
            )
    with writing(archive.engine) as connection:
        renew(connection)
    assert verify(archive) == ()
    (given_up,) = discard(archive, ["KD-1"], "F", "old")
    assert archive.revisions("KD-1")[0].job not in given_up.contents
    assert verify(archive) == ()


# Counts


def test_counts(filled: Archive) -> None:
    found = stats(filled)
    assert found.travellers == len(filled.travellers()) == 14
    assert found.events == filled.head()[0]
    assert found.by_state == {
        "closed": 1, "issued": 10, "returned": 1, "superseded": 1, "withdrawn": 1,
    }  # fmt: skip
    assert found.by_gas == {"": 13, "propane": 1}
    assert found.by_grade == {"S355J2": 14}
    months = Counter(event.at[:7] for event in filled.events() if event.what == "issued")
    assert found.by_month == months
    assert months.total() == 14
    assert found.by_thickness == {-1: 14}
    assert found.pages_in_tray == 1
    assert (found.returned, found.complete, found.in_part, found.without_pages) == (2, 1, 1, 0)
    assert found.issued_to_returned_s.median is None
    assert "fewer than 5" in found.issued_to_returned_s.withheld
    assert found.given_up == 0
    whole = sum(len(row["bytes"]) for row in tables(filled)["content"])
    assert sum(found.bytes_by_kind.values()) == whole
    assert found.bytes_by_kind["returned page"] == len(b"%PDF-1.7 both sides\x89PNG\r\n\x1a\n lost")
    assert found.bytes_by_kind["draft"] == len("[about]\ntitle = 'x'\n") + len("[about]\n")


def test_an_empty_archive_has_counts_too(archive: Archive) -> None:
    found = stats(archive)
    assert (found.travellers, found.events, found.by_month) == (0, 0, {})


def test_bands_of_thickness_and_days_away(archive: Archive) -> None:
    from dataclasses import replace

    for at, thickness_m in enumerate((0.006, 0.0061, 0.012, 0.2, 0.2001)):
        archive.issue(f"KD-{at}", replace(sheet(str(at)), thickness_m=thickness_m), "F")
        archive.move(f"KD-{at}", "returned", "F")
    with archive.engine.begin() as connection:
        for at, days in enumerate((1, 2, 3, 4, 10)):
            then = datetime(2026, 1, 1, tzinfo=UTC)
            for what, day in (("issued", 0), ("returned", days)):
                connection.execute(
                    EVENT.update()
                    .where(EVENT.c.number == f"KD-{at}", EVENT.c.what == what)
                    .values(at=(then + timedelta(days=day)).isoformat())
                )
    found = stats(archive)
    assert found.by_thickness == {0: 1, 1: 2, 5: 1, 6: 1}
    away = found.issued_to_returned_s
    # Quartiles of 1, 2, 3, 4, 10 are 2, 3, 4 where they fall on values.
    assert (away.n, away.low, away.median, away.high) == (5, 172_800.0, 259_200.0, 345_600.0)
    assert found.without_pages == 5


def test_what_was_planned_and_what_was_written(archive: Archive) -> None:
    for at in range(6):
        archive.issue(f"KD-{at}", sheet(str(at)), "F")
        record_actuals(archive, f"KD-{at}", "A", {"clock_time": str(10 + at)}, "F")
    archive.issue("KD-x", sheet("x"), "F")

    def compare(traveller: Any, job: str, plan: str, actuals: Any) -> dict[str, float]:
        assert (job, plan) == (f"job {traveller.number[3:]}", f"plan {traveller.number[3:]}")
        if traveller.number == "KD-5":
            raise InputError("15 is not readable")
        ratios = {"cut.clock_time": float(actuals["clock_time"]) / 10.0}
        return ratios if traveller.number != "KD-4" else {**ratios, "use.oxygen": float("nan")}

    found = stats(archive, compare)
    assert (found.not_compared, found.which_not_compared) == (1, ("KD-5 A",))
    assert set(found.ratios) == {"cut.clock_time"}
    clock = found.ratios["cut.clock_time"]
    assert (clock.n, clock.low, clock.median, clock.high) == (5, 1.1, 1.2, 1.3)
    assert stats(archive).ratios == {}
    discarded = [f"KD-{at}" for at in range(6)]
    for number in discarded:
        archive.move(number, "withdrawn", "F", "old")
    discard(archive, discarded, "F", "old")
    found = stats(archive, compare)
    assert found.which_not_compared == tuple(f"KD-{at} A" for at in range(6))
    assert "6 travellers could not be compared" in not_compared_text(found)
    assert "plans: KD-0 A, KD-1 A, KD-2 A, KD-3 A, KD-4 A and 1 more. " in not_compared_text(found)


def test_the_reasons_of_a_closed_door_are_told(filled: Archive, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(EnvironmentProblem, match="cannot make"):
        backup(filled, tmp_path / "file" / "b.sqlite")
    with pytest.raises(EnvironmentProblem, match="cannot make"):
        export(filled, tmp_path / "file" / "export")


def test_travellers_are_in_the_order_of_their_events(filled: Archive) -> None:
    """As an export leaves ids out, their order must say as much."""
    issued = [(one.number, one.revision) for one in filled.events() if one.what == "issued"]
    assert [(row["number"], row["revision"]) for row in tables(filled)[TRAVELLER.name]] == issued


@pytest.mark.parametrize("place", ["postgresql"], indirect=True)
def test_sizes_of_many_on_a_server_with_little_memory(archive: Archive, place: str) -> None:
    """Asked of each whether it is one of the others, it went through all of them for each."""
    kinds = ("job", "plan", "pdf")
    digests = [f"md5('{kind}' || i) || md5(i::text)" for kind in kinds]
    names = [one.name for one in METADATA.tables["traveller"].columns if one.name != "id"]
    given = {
        **dict.fromkeys(names, "''"),
        **dict(zip(kinds, digests, strict=True)),
        "number": "'KD-' || i",
        "thickness_m": "NULL::float",
    }
    with archive.engine.begin() as connection:
        for digest in digests:
            connection.exec_driver_sql(
                f"INSERT INTO content SELECT {digest}, 'bytes' FROM generate_series(1, 10000) i"
            )
        connection.exec_driver_sql(
            f"INSERT INTO traveller ({', '.join(given)}) "
            f"SELECT {', '.join(given.values())} FROM generate_series(1, 10000) i"
        )
    archive.close()
    again = open_archive(f"{place}&options=-c%20work_mem=64kB%20-c%20statement_timeout=3000")
    found = stats(again).bytes_by_kind
    assert found == {
        **dict.fromkeys(("job file", "plan", "sheet"), 50_000),
        **dict.fromkeys(("returned page", "draft", "earlier draft"), 0),
    }
    again.close()
