"""Whatever people do to an archive, in whatever order: it verifies, and its copies are equal.

`KERFDOCKET_ORDERS=500 pytest tests/archive/test_any_order.py` tries as many orders as wanted.
"""

import os
import shutil
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import NamedTuple

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from archive.conftest import sheet
from archive.test_keeping import tables
from archive.test_pages import Read
from kerfdocket.archive import (
    IssuedSheet,
    actuals_of,
    drafts,
    keep_pages,
    match_page,
    new_draft,
    open_archive,
    pages_of,
    put_page_back,
    record_actuals,
    save_draft,
    set_aside,
    set_page_aside,
    tray,
    verify,
)
from kerfdocket.archive.drafts import end_draft, issue_draft, reissue_draft
from kerfdocket.archive.keeping import backup, discard, export, import_export, restore
from kerfdocket.errors import InputError
from kerfdocket.planning.page_code import PageCode
from servers import drop_database, empty_database

ORDERS = int(os.environ.get("KERFDOCKET_ORDERS", "40"))

NUMBERS = st.sampled_from(("KD-1", "KD-2", "kd 1", "Türblech/3"))
WHO = st.sampled_from(("Ann", "B. Ösen", "Cal"))
TEXTS = st.sampled_from(("one", "two", "two one", "", " ", "Türblech", "a\nb", "№ ½ S355J2"))
REASONS = st.sampled_from(("", "plate is thicker", "two one"))
NAMES = st.sampled_from(("cutter_name", "remarks", "oxygen_after", "supervisor_name", "heat"))
VALUES = st.dictionaries(NAMES, TEXTS)
CHECKS = {"A": "AAAAAAAAAA", "B": "BBBBBBBBBB", "C": "CCCCCCCCCC"}
PICK = st.integers(0, 7)


class Places(NamedTuple):
    """Where archives are made."""

    make: Callable[[Path], str]
    drop: Callable[[str], object]


class AnyOrder(RuleBasedStateMachine):
    """An archive; what it refuses is refused in words and changes nothing."""

    def __init__(self, places: Places) -> None:
        super().__init__()
        self.places = places
        self.folder = Path(tempfile.mkdtemp())
        self.place = places.make(self.folder)
        self.archive = open_archive(self.place)
        self.made = 0

    @initialize(is_used=st.integers(0, 5))
    def begin(self, is_used: int) -> None:
        if is_used:
            self.archive.issue("KD-1", self.sheet_of("one two"), "Ann")
            self.archive.issue("KD-2", self.sheet_of("two one"), "Ann")

    def teardown(self) -> None:
        try:
            self.copies_are_equal()
        finally:
            self.archive.close()
            self.places.drop(self.place)
            shutil.rmtree(self.folder)

    def try_to(self, do: Callable[[], object]) -> None:
        before = self.archive.head()
        try:
            do()
        except InputError:
            assert self.archive.head() == before

    def sheet_of(self, text: str, revision: str = "A") -> IssuedSheet:
        self.made += 1
        # Now and then the same one: a content is kept once.
        return sheet(f"{text} {self.made // 3}", check=CHECKS.get(revision, ""), customer=text)

    # Travellers

    @rule(who=WHO)
    def reserve(self, who: str) -> None:
        self.try_to(lambda: self.archive.reserve("KD-?", who))

    @rule(number=NUMBERS, who=WHO, text=TEXTS)
    def issue(self, number: str, who: str, text: str) -> None:
        self.try_to(lambda: self.archive.issue(number, self.sheet_of(text), who))

    @rule(number=NUMBERS, who=WHO, text=TEXTS, why=REASONS)
    def reissue(self, number: str, who: str, text: str, why: str) -> None:
        def anew() -> None:
            revision = self.archive.next_revision(number)
            made = self.sheet_of(text, revision)
            self.archive.reissue(number, revision, made, who, why)

        self.try_to(anew)

    @rule(
        number=NUMBERS,
        state=st.sampled_from(("on the floor", "returned", "closed", "withdrawn", "superseded")),
        who=WHO,
        why=REASONS,
    )
    def move(self, number: str, state: str, who: str, why: str) -> None:
        self.try_to(lambda: self.archive.move(number, state, who, why))  # type: ignore[arg-type]

    # What came back

    @rule(
        content=st.sampled_from((b"scan", b"scan two", b"%PDF none", b"\x89PNG\r\n\x1a\n none")),
        codes=st.lists(
            st.tuples(NUMBERS, st.sampled_from("ABZ"), st.sampled_from("FB")), max_size=3
        ),
        values=VALUES,
        who=WHO,
    )
    def take(
        self, content: bytes, codes: list[tuple[str, str, str]], values: dict[str, str], who: str
    ) -> None:
        read = [
            Read(at, (PageCode(number, revision, side, CHECKS.get(revision, "Z")),), values)
            for at, (number, revision, side) in enumerate(codes)
        ]
        read.append(Read(len(codes)))
        self.try_to(lambda: keep_pages(self.archive, content, "scan.pdf", read, who))

    @rule(at=PICK, number=NUMBERS, revision=st.sampled_from("AB"), who=WHO)
    def match(self, at: int, number: str, revision: str, who: str) -> None:
        if waiting := tray(self.archive):
            page = waiting[at % len(waiting)]
            self.try_to(
                lambda: match_page(self.archive, page.file, page.page, number, revision, who, "F")
            )

    @rule(at=PICK, who=WHO, why=REASONS)
    def lay_aside(self, at: int, who: str, why: str) -> None:
        if waiting := tray(self.archive):
            page = waiting[at % len(waiting)]
            self.try_to(lambda: set_page_aside(self.archive, page.file, page.page, who, why))

    @rule(at=PICK, number=NUMBERS, who=WHO, why=REASONS)
    def put_back(self, at: int, number: str, who: str, why: str) -> None:
        if there := (*pages_of(self.archive, number), *set_aside(self.archive)):
            page = there[at % len(there)]
            key = page.file, page.page, page.number, page.revision
            self.try_to(lambda: put_page_back(self.archive, *key, who, why))

    @rule(number=NUMBERS, revision=st.sampled_from("AB"), values=VALUES, who=WHO, why=REASONS)
    def record(
        self, number: str, revision: str, values: dict[str, str], who: str, why: str
    ) -> None:
        def write() -> None:
            record_actuals(self.archive, number, revision, values, who, why)
            kept = actuals_of(self.archive, number, revision)
            for name, text in values.items():
                assert kept.get(name, "") == text.strip()

        self.try_to(write)

    @rule(
        number=st.sampled_from(("KD-1", "KD-2")),
        values=st.dictionaries(NAMES, TEXTS, min_size=1, max_size=2),
        who=WHO,
    )
    def record_again(self, number: str, values: dict[str, str], who: str) -> None:
        """Value after value on the same sheet, as they are read off it."""
        self.record(number, "A", values, who, "")

    # Drafts

    @rule(text=TEXTS, who=WHO)
    def draft(self, text: str, who: str) -> None:
        self.try_to(lambda: new_draft(self.archive, f"job {text}", text, who))

    @rule(at=PICK, text=TEXTS, who=WHO, late=st.booleans())
    def save(self, at: int, text: str, who: str, late: bool) -> None:
        if there := drafts(self.archive, with_ended=True):
            one = there[at % len(there)]
            version = one.version - late
            self.try_to(lambda: save_draft(self.archive, one.id, version, f"j {text}", text, who))

    @rule(at=PICK, who=WHO)
    def drop(self, at: int, who: str) -> None:
        if there := drafts(self.archive, with_ended=True):
            one = there[at % len(there)]
            self.try_to(lambda: end_draft(self.archive, one.id, who, "dropped"))

    @rule(at=PICK, number=NUMBERS, who=WHO, text=TEXTS)
    def issue_it(self, at: int, number: str, who: str, text: str) -> None:
        if there := drafts(self.archive, with_ended=True):
            one = there[at % len(there)]
            made = self.sheet_of(text)
            self.try_to(lambda: issue_draft(self.archive, one, number, made, who))

    @rule(at=PICK, number=NUMBERS, who=WHO, text=TEXTS, why=REASONS)
    def reissue_it(self, at: int, number: str, who: str, text: str, why: str) -> None:
        if there := drafts(self.archive, with_ended=True):
            one = there[at % len(there)]

            def anew() -> None:
                revision = self.archive.next_revision(number)
                made = self.sheet_of(text, revision)
                reissue_draft(self.archive, one, number, revision, made, who, why)

            self.try_to(anew)

    # Keeping

    @rule(number=NUMBERS, who=WHO, why=REASONS)
    def give_up(self, number: str, who: str, why: str) -> None:
        self.try_to(lambda: discard(self.archive, [number], who, why))

    @rule()
    def open_again(self) -> None:
        self.archive.close()
        self.archive = open_archive(self.place)

    @invariant()
    def it_verifies(self) -> None:
        assert verify(self.archive) == ()

    def copies_are_equal(self) -> None:
        kept = tables(self.archive)
        backup(self.archive, self.folder / "backup.sqlite")
        export(self.archive, self.folder / "export")
        for name, fill in (("restored", restore), ("imported", import_export)):
            source = self.folder / ("backup.sqlite" if fill is restore else "export")
            other = open_archive(self.folder / f"{name}.sqlite")
            try:
                fill(source, other)
                assert tables(other) == kept
                assert verify(other, self.archive.head()[1]) == ()
            finally:
                other.close()


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_whatever_is_done_in_whatever_order(request: pytest.FixtureRequest, kind: str) -> None:
    if kind == "sqlite":
        places = Places(lambda folder: str(folder / "a.sqlite"), lambda _place: None)
    else:
        server: str = request.getfixturevalue("postgresql")
        places = Places(lambda _folder: empty_database(server), partial(drop_database, server))
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        partial(AnyOrder, places),
        settings=settings(
            max_examples=ORDERS if kind == "sqlite" else max(ORDERS // 3, 1),
            stateful_step_count=30,
            deadline=None,
            # The same ones each time, unless somebody looks for more.
            derandomize="KERFDOCKET_ORDERS" not in os.environ,
            suppress_health_check=list(HealthCheck),
        ),
    )
