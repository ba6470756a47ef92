"""What the window calls on, passed in as callables; imports nothing heavy."""

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kerfdocket.language import current_language, language_named, speaking

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Draft, Traveller
    from kerfdocket.job import Job
    from kerfdocket.planning import Plan
    from kerfdocket.reference import Reference

__all__ = [
    "ARCHIVE_VARIABLE",
    "IssueAnswer",
    "IssueOrder",
    "LoadedFile",
    "Services",
    "default_services",
    "issue_sheet",
    "load_file",
    "plan_twice",
]

ARCHIVE_VARIABLE = "KERFDOCKET_ARCHIVE"


@dataclass(frozen=True)
class LoadedFile:
    """A job file as it was read.

    Attributes:
        raw: its keys and values, not judged.
        content: its bytes, so that saving can keep comments and order.
        is_carried: True if a sheet's PDF carried it; there is no job file to save to.
    """

    raw: dict[str, Any]
    content: bytes
    is_carried: bool = False


def load_file(path: Path) -> LoadedFile:
    """Read a job file, or the one that a sheet's PDF carries.

    Raises:
        EnvironmentProblem: it cannot be read.
        JobError: it is empty, binary, or not TOML.
    """
    from kerfdocket.job import read_raw

    raw = read_raw(path)
    content = path.read_bytes()
    if content.startswith(b"%PDF-"):
        return LoadedFile(raw, b"", is_carried=True)
    return LoadedFile(raw, content)


def _save(raw: Mapping[str, Any], path: Path, onto: bytes) -> bytes:
    # The job's models load after the window is painted.
    from kerfdocket.job import save_raw

    return save_raw(raw, path, onto)


def _nothing() -> None:
    pass


def _draft_folder() -> Path:
    from platformdirs import user_state_path

    return user_state_path("kerfdocket", appauthor=False) / "drafts"


def _preferences() -> Path:
    from platformdirs import user_config_path

    return user_config_path("kerfdocket", appauthor=False) / "window.json"


def _shop_folder() -> Path | None:
    from kerfdocket.sheet import own_shop_folder

    return own_shop_folder()


def _set_shop_folder(folder: Path | None) -> str:
    from kerfdocket.sheet import load_shop, set_own_shop_folder

    name = load_shop(folder).name if folder is not None else ""
    set_own_shop_folder(folder)
    return name


@dataclass(frozen=True)
class IssueOrder:
    """What is to be issued.

    Attributes:
        place: of the archive.
        job: to be cut; the number may be a series, `KD-????`.
        who: issues it.
        language: code of the language in which to say what is wrong.
        reason: why it is issued anew; empty issues a number for the first time.
        is_fillable: True puts fields on the sheet, to be filled in on a screen.
        draft: that it comes from, as it was read.
        revision: that it becomes where it is issued anew, as the person was told; empty: the next.
        may_be_made: the archive is made if there is none.
    """

    place: str
    job: "Job"
    who: str
    language: str
    reason: str = ""
    is_fillable: bool = False
    draft: "Draft | None" = None
    revision: str = ""
    may_be_made: bool = False


@dataclass(frozen=True)
class IssueAnswer:
    """What was issued.

    Attributes:
        traveller: as the archive keeps it.
        pdf: its sheet.
    """

    traveller: "Traveller"
    pdf: bytes


def issue_sheet(order: IssueOrder) -> IssueAnswer:
    """Draw a sheet and keep it in the archive.

    Raises:
        InputError, EnvironmentProblem: it cannot be issued; nothing was kept.
    """
    from kerfdocket.office import issue_job, reissue_job
    from kerfdocket.reference import load_reference
    from kerfdocket.sheet import load_shop, own_shop_folder

    # The process begins in English, whatever its window speaks.
    with speaking(language_named(order.language)), _opened(order) as archive:
        folder = own_shop_folder()
        shop = load_shop(folder) if folder is not None else None
        if order.reason:
            made = reissue_job(
                archive,
                order.job,
                load_reference(),
                order.who,
                order.reason,
                shop,
                order.is_fillable,
                order.draft,
                order.revision,
            )
        else:
            made = issue_job(
                archive,
                order.job,
                load_reference(),
                order.who,
                shop,
                order.is_fillable,
                order.draft,
            )
    return IssueAnswer(*made)


def _opened(order: IssueOrder) -> "AbstractContextManager[Archive]":
    from contextlib import closing

    from kerfdocket.archive import open_archive, opened_to_fill

    if order.may_be_made:
        # Should an empty one stay where issuing failed, the next attempt uses it.
        return opened_to_fill(order.place, lambda _said: None)
    return closing(open_archive(order.place, may_be_made=False))


def _archive_place() -> str:
    import os

    from kerfdocket.archive import default_archive
    from kerfdocket.window.preferences import remembered

    chosen = os.environ.get(ARCHIVE_VARIABLE) or remembered(_preferences(), "archive")
    return chosen or str(default_archive())


@dataclass(frozen=True)
class Services:
    """What the window calls on.

    Attributes:
        plan: makes a plan of a job in the language that is spoken; called in a thread.
        sheet: makes a PDF of a plan in the plan's language; called in another process, so it must
            be picklable.
        warm_up: called once in a thread, after the window is painted.
        warm_sheet: called once in the other process, so that the first sheet comes sooner.
        load: reads a file.
        save: writes a file; see `kerfdocket.job.save_raw`.
        draft_folder: says where copies of unsaved work are kept.
        preferences: says in which file the window remembers the language that was chosen.
        shop_folder: says which folder adds to this user's sheets, if any.
        set_shop_folder: checks a folder and makes it the one; returns the shop's name. None: no
            folder from now on.
        archive_place: says which archive is this user's: a file, or `postgresql://…`.
        issue: issues a sheet; called in another process, as it draws one.
    """

    plan: "Callable[[Job], Plan]"
    sheet: "Callable[[Plan], bytes]"
    warm_up: Callable[[], object] = _nothing
    warm_sheet: Callable[[], object] | None = None
    load: Callable[[Path], LoadedFile] = load_file
    save: Callable[[Mapping[str, Any], Path, bytes], bytes] = _save
    draft_folder: Callable[[], Path] = _draft_folder
    preferences: Callable[[], Path] = _preferences
    shop_folder: Callable[[], Path | None] = _shop_folder
    set_shop_folder: Callable[[Path | None], str] = _set_shop_folder
    archive_place: Callable[[], str] = _archive_place
    issue: "Callable[[IssueOrder], IssueAnswer]" = issue_sheet


def plan_twice(plan: "Callable[[Job], Plan]", job: "Job") -> "tuple[Plan, Plan]":
    """Make the plan that the window shows and the one that its sheet is made of.

    The window speaks its person's language and the sheet the job's, for who cuts by it. Where the
    two agree both plans are the same object: making one takes up to 25 ms.

    Args:
        plan: makes a plan in the language that is spoken.
        job: what it is made of.

    Returns:
        The plan in the language that is spoken here, and the one in the job's.
    """
    shown = plan(job)
    language = language_named(job.language)
    if language == current_language():
        return shown, shown
    with speaking(language):
        return shown, plan(job)


class _Planner:
    """Makes plans with the shipped reference, which it loads when it is first needed."""

    def __init__(self) -> None:
        self._reference: Reference | None = None

    def warm_up(self) -> None:
        from kerfdocket.quantity import registry
        from kerfdocket.reference import load_reference

        registry.registry()
        self._reference = load_reference()

    def plan(self, job: "Job") -> "Plan":
        from kerfdocket.planning import make_plan

        if self._reference is None:
            self.warm_up()
        assert self._reference is not None
        return make_plan(job, self._reference)


def _sheet(plan: "Plan") -> bytes:
    from kerfdocket.sheet import load_shop, own_shop_folder, sheet_pdf

    # The process begins in English, whatever its window speaks.
    with speaking(language_named(plan.language)):
        folder = own_shop_folder()
        return sheet_pdf(plan, shop=load_shop(folder) if folder is not None else None)


def _warm_sheet() -> None:
    import kerfdocket.planning
    import kerfdocket.sheet  # noqa: F401


def default_services() -> Services:
    """Return the program's own planning and sheet."""
    planner = _Planner()
    return Services(
        plan=planner.plan,
        sheet=_sheet,
        warm_up=planner.warm_up,
        warm_sheet=_warm_sheet,
    )
