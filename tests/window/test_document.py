"""The document and the reading of fields, without a window."""

import datetime
import threading
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytestqt.qtbot import QtBot

from kerfdocket.archive.model import VOID
from kerfdocket.job import in_order, read_job, read_raw, save_raw
from kerfdocket.window import autosave, document
from kerfdocket.window.archive.sayings import BANNER_WORDS
from kerfdocket.window.autosave import DraftFolder, write_draft
from kerfdocket.window.document import Document
from kerfdocket.window.layout import PANELS, STAGE_PLACES, Fold, Repeat, Section, headings
from kerfdocket.window.services import load_file
from kerfdocket.window.specs import place_of, spec_at, text_of, value_of
from window.conftest import WAIT_MS

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))


def _paths() -> list[str]:
    paths: list[str] = []
    for panel in PANELS:
        for item in panel.content:
            if isinstance(item, Section | Fold):
                for section in (item,) if isinstance(item, Section) else item.sections:
                    paths += section.fields
            else:
                paths += [f"{item.where}.0.{name}" for name in item.names]
    return paths


def _model_paths(schema: dict[str, Any]) -> list[str]:
    """Every leaf that a job has, read off its JSON Schema."""
    found: list[str] = []

    def walk(node: dict[str, Any], path: str) -> None:
        for option in (node, *node.get("anyOf", ())):
            if "$ref" in option:
                target = schema["$defs"][option["$ref"].split("/")[-1]]
                for name, inner in target["properties"].items():
                    walk(inner, f"{path}.{name}")
                return
            items = option.get("items", {})
            if "$ref" in items:
                walk(items, f"{path}.0")
                return
        found.append(path)

    for name, node in schema["properties"].items():
        walk(node, name)
    return found


def test_the_form_has_a_place_for_everything_that_a_job_can_state() -> None:
    from kerfdocket.job import Job

    stated = {p for p in _model_paths(Job.model_json_schema()) if p != "kerfdocket-job"}
    assert stated == set(_paths())
    assert len(_paths()) == len(set(_paths()))


@pytest.mark.parametrize("where", _paths())
def test_every_field_has_title_and_look(where: str) -> None:
    spec = spec_at(where)
    assert spec.title
    assert spec.look in {"line", "paragraph", "choice", "list"}
    assert bool(spec.choices) == (spec.look == "choice")


def test_only_the_promised_fields_are_needed() -> None:
    top = {w for w in _paths() if spec_at(w).is_needed and ".0." not in w}
    assert top == {"about.number", "about.title", "plate.grade", "plate.thickness", "fuel.gas"}


def test_stage_places_are_in_the_form() -> None:
    groups = {panel.where for panel in PANELS} | {
        item.where for panel in PANELS for item in panel.content if isinstance(item, Repeat)
    }
    assert set(STAGE_PLACES.values()) <= groups | set(_paths())


@pytest.mark.parametrize(
    ("where", "text", "value"),
    [
        ("plate.thickness", "12 mm", "12 mm"),
        ("plate.thickness", "  ", None),
        ("plate.thickness", "12", "12"),
        ("plate.readings", "12.1 mm; 12,0 mm", ["12.1 mm", "12,0 mm"]),
        ("plate.readings", "12.1 mm, 12.0 mm,", ["12.1 mm", "12.0 mm"]),
        ("plate.readings", "12,1 mm", ["12,1 mm"]),
        ("parts.0.count", "6", 6),
        ("parts.0.count", "6.0", "6.0"),
        ("parts.0.count", "six", "six"),
        ("prices.hour", "62", 62),
        ("prices.hour", "62.5", 62.5),
        ("prices.hour", "62,5", 62.5),
        ("prices.hour", "1,234", "1,234"),
        ("prices.hour", "nan", "nan"),
        ("about.date", "2026-11-25", datetime.date(2026, 11, 25)),
        ("about.date", "2026-13-25", "2026-13-25"),
        ("about.date", "20261125", "20261125"),
        ("about.number", "0141", "0141"),
    ],
)
def test_typed_text_is_read_or_kept(where: str, text: str, value: object) -> None:
    read = value_of(text, spec_at(where))
    assert read == value
    assert type(read) is type(value)


@given(st.text(max_size=30))
def test_nothing_typed_is_lost(text: str) -> None:
    spec = spec_at("plate.thickness")
    value = value_of(text, spec)
    assert (value is None and not text.strip()) or text_of(value, spec) == text


def test_taking_back_a_value_takes_back_its_group() -> None:
    document = Document()
    document.set_value("plate.certificate.carbon", 0.2)
    document.set_value("plate.certificate.carbon", None)
    assert document.raw == {"kerfdocket-job": 1}
    assert not document.is_changed


def test_rows_stay_until_they_are_taken_out() -> None:
    document = Document()
    document.add_item("oxygen.cylinders")
    document.add_item("oxygen.cylinders")
    document.set_value("oxygen.cylinders.0.gauge", "150 bar")
    document.set_value("oxygen.cylinders.0.gauge", None)
    assert document.raw["oxygen"] == {"cylinders": [{}, {}]}
    document.remove_item("oxygen.cylinders", 1)
    document.remove_item("oxygen.cylinders", 0)
    assert document.raw == {"kerfdocket-job": 1}


def test_a_single_value_where_a_group_belongs_is_replaced_only_by_typing() -> None:
    document = Document({"kerfdocket-job": 1, "oxygen": 5})
    assert document.value("oxygen.hose.bore") is None
    document.set_value("oxygen.hose.bore", None)
    assert document.raw["oxygen"] == 5
    document.set_value("oxygen.hose.bore", "6 mm")
    assert document.raw["oxygen"] == {"hose": {"bore": "6 mm"}}


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_saving_an_unchanged_file_keeps_every_byte(sample: Path, tmp_path: Path) -> None:
    loaded = load_file(sample)
    path = tmp_path / "copy.toml"
    written = save_raw(loaded.raw, path, loaded.content)
    assert path.read_bytes() == sample.read_bytes() == written


def test_line_ends_and_mark_of_a_file_are_kept(tmp_path: Path) -> None:
    text = "# a word\nkerfdocket-job = 1\n\n[about]\nnumber = 'A'  # here, too\n"
    content = b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    loaded = load_file(path)
    loaded.raw["about"]["title"] = "B"
    save_raw(loaded.raw, path, loaded.content)
    after = path.read_bytes()
    assert after.startswith(b"\xef\xbb\xbf# a word\r\n")
    assert b"# here, too\r\n" in after
    assert after.count(b"\n") == after.count(b"\r\n")
    assert read_raw(path) == loaded.raw


def _any_raw() -> st.SearchStrategy[dict[str, Any]]:
    leaf = st.one_of(
        st.text(st.characters(codec="utf-8"), max_size=12),
        st.integers(-9, 9),
        st.booleans(),
        st.dates(),
        st.floats(allow_nan=False, allow_infinity=False),
    )
    keys = st.text(st.characters(codec="utf-8"), min_size=1, max_size=6)
    return st.dictionaries(
        keys,
        st.recursive(
            leaf,
            lambda inner: st.one_of(
                st.lists(leaf, max_size=3),
                st.dictionaries(keys, inner, max_size=3),
                st.lists(st.dictionaries(keys, leaf, max_size=2), min_size=1, max_size=3),
            ),
            max_leaves=12,
        ),
        max_size=5,
    )


@given(raw=_any_raw(), before=_any_raw())
def test_whatever_is_held_is_what_is_saved(
    raw: dict[str, Any], before: dict[str, Any], tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("save") / "job.toml"
    first = save_raw(before, path, b"")
    assert tomllib.loads(first.decode()) == before
    save_raw(raw, path, first)
    assert tomllib.loads(path.read_text(encoding="utf-8")) == raw


def test_a_new_file_is_in_the_order_of_the_form_and_readable() -> None:
    raw = {
        "fuel": {"hose": {"bore": "6 mm"}, "gas": "propane"},
        "plate": {"thickness": "12 mm", "grade": "S235"},
        "about": {"title": "t", "number": "n"},
        "kerfdocket-job": 1,
    }
    ordered = in_order(raw)
    assert list(ordered) == ["kerfdocket-job", "about", "plate", "fuel"]
    assert list(ordered["fuel"]) == ["gas", "hose"]
    assert read_job(ordered) == read_job(raw)


@pytest.mark.parametrize(
    ("where", "words"),
    [
        ("plate.thickness", "Plate: Nominal thickness"),
        ("parts.1.cut_length", "Parts, row 2: Cut length"),
        ("oxygen.cylinders.0.gauge", "Oxygen, cylinders on hand, row 1: Contents gauge"),
        ("oxygen.hose", "Oxygen, hose"),
        ("plate.colour", "Plate: colour"),
        ("colour", "colour"),
    ],
)
def test_places_are_said_in_words(where: str, words: str) -> None:
    assert place_of(where, headings()) == words


def test_a_copy_of_unsaved_work_holds_what_no_file_can(tmp_path: Path) -> None:
    raw = {"kerfdocket-job": 1, "about": {"title": "half \ud800 of a pair, ½ of a plate"}}
    folder = DraftFolder(tmp_path)
    write_draft(tmp_path / "other.draft", raw, None, "2026-11-25 08:00:00")
    [draft] = folder.left_behind()
    assert draft.raw == raw
    folder.close()


def test_a_copy_that_was_being_written_does_not_settle_what_is_restored_meanwhile(
    qtbot: QtBot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    left = DraftFolder(tmp_path)
    write_draft(left.own_file, {"about": {"title": "left"}}, None, "2026-11-25 08:00:00")
    go_on = threading.Event()

    def write_when_told(*of: Any) -> None:
        assert go_on.wait(WAIT_MS / 1000)
        write_draft(*of)

    monkeypatch.setattr(autosave, "write_draft", write_when_told)
    folder = DraftFolder(tmp_path)
    (draft,) = folder.left_behind()
    document = Document()
    document.set_value("about.title", "own")
    copies = autosave.Autosave(folder, lambda: document, 0)
    copies.touch()
    qtbot.waitUntil(lambda: copies._runner.is_busy, timeout=WAIT_MS)
    copies.take_over(draft)
    copies._timer.stop()
    with qtbot.waitSignal(copies.kept, timeout=WAIT_MS):
        go_on.set()
    assert draft.file.exists()
    with qtbot.waitSignal(copies.kept, timeout=WAIT_MS):
        copies.touch()
    assert not draft.file.exists()
    copies.close(keep=False)


def test_the_states_of_void_sheets_are_those_of_the_archive() -> None:
    assert document._VOID == VOID == tuple(BANNER_WORDS)
