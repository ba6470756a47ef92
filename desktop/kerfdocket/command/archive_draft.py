"""Drafts in the archive, on the command line."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from kerfdocket.command.archive_given import who_does
from kerfdocket.job import Job, load_job_text, read_text
from kerfdocket.language import _, moment_text, zone_text
from kerfdocket.storage import write_atomically

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Draft

__all__ = ["add_draft", "draft_job", "run_draft"]


def add_draft(commands: "argparse._SubParsersAction[Any]") -> None:
    """Let the archive take `draft` and its own commands."""
    draft = commands.add_parser("draft", help=_("share jobs that are not issued yet"))
    deeds = draft.add_subparsers(dest="draft_deed", metavar=_("COMMAND"), required=True)
    save = deeds.add_parser("save", help=_("keep a job file as a draft, or as a changed one"))
    save.add_argument("job", type=Path, help=_("job file, or a sheet's PDF"))
    save.add_argument(
        "--draft", type=int, help=_("id of the draft that was changed; else a new one")
    )
    save.add_argument(
        "--version", type=int, help=_("which version of it was changed; else the last one")
    )
    deeds.add_parser("list", help=_("list the drafts, the last saved first"))
    get = deeds.add_parser("open", help=_("write a draft's job file"))
    get.add_argument("draft", type=int, help=_("id of the draft"))
    get.add_argument("-o", "--output", type=Path, help=_("job file to write; else it is printed"))
    drop = deeds.add_parser("drop", help=_("say that a draft is not wanted any more"))
    drop.add_argument("draft", type=int, help=_("id of the draft"))


def run_draft(archive: "Archive", given: argparse.Namespace, output: TextIO) -> None:
    """Do what is asked of drafts.

    Raises:
        InputError, EnvironmentProblem: it cannot be done; nothing was changed.
    """
    from kerfdocket.archive import draft, drafts, end_draft, new_draft, save_draft

    match given.draft_deed:
        case "save":
            text = read_text(given.job)
            title = _title(text)
            if given.draft is None:
                kept = new_draft(archive, text, title, who_does(given))
            else:
                version = given.version or draft(archive, given.draft).version
                kept = save_draft(archive, given.draft, version, text, title, who_does(given))
            output.write(_line(kept))
        case "list":
            for one in drafts(archive):
                output.write(_line(one))
        case "open":
            content = archive.content(draft(archive, given.draft).job)
            if given.output is None:
                output.write(content.decode())
            else:
                write_atomically(given.output, content)
        case "drop":
            output.write(_line(end_draft(archive, given.draft, who_does(given), "dropped")))


def draft_job(archive: "Archive", draft: "Draft") -> Job:
    """Return the job of a draft.

    Raises:
        JobError: it is not complete yet.
    """
    return load_job_text(archive.content(draft.job).decode(), _("draft {id}", id=draft.id))


def _title(text: str) -> str:
    """What a draft is called: a job that is not complete may have no title yet."""
    import tomllib

    try:
        about = tomllib.loads(text).get("about", {})
    except tomllib.TOMLDecodeError:
        about = {}
    title = about.get("title") if isinstance(about, dict) else None
    return title if isinstance(title, str) else ""


def _line(one: "Draft") -> str:
    state = _(one.ended or "drafted")
    at = f"{moment_text(one.at)} {zone_text(one.at)}"
    return f"{one.id:5} v{one.version:<3} {state:10} {at}  {one.who}  {one.title}\n"
