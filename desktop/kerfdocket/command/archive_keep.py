"""Keeping the archive, without a window: backup, export, what may be given up, what it tells."""

import argparse
import json
from collections.abc import Callable
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from kerfdocket.command.archive_given import who_does
from kerfdocket.command.codes import BAD_INPUT, GOOD, STOPPED
from kerfdocket.language import _, counted
from kerfdocket.storage import write_atomically

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Fault
    from kerfdocket.archive.keeping import Copied, Exported, Imported, Stats

__all__ = ["KEEPING", "add_keep", "run_keep"]

# The commands of this file; those that fill an archive may make one.
_FILLING = ("restore", "import")
KEEPING = (*_FILLING, "backup", "export", "retention", "discard", "stats")
_YEARS = 10  # `kerfdocket.archive.keeping.YEARS`, whose database loads only for who needs it


def add_keep(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Let the command `archive` take the commands of this file."""
    backup = commands.add_parser(
        "backup", help=_("copy the archive into one file, while others go on working")
    )
    backup.add_argument("file", type=Path, metavar=_("FILE"), help=_("file to make"))
    backup.add_argument("--overwrite", action="store_true", help=_("replace a file of that name"))
    restore = commands.add_parser(
        "restore", help=_("fill an empty archive from a backup; --archive says which")
    )
    restore.add_argument("file", type=Path, metavar=_("FILE"), help=_("file of a backup"))
    export = commands.add_parser(
        "export", help=_("write all of it into a folder, in formats that need no program of ours")
    )
    export.add_argument("folder", type=Path, metavar=_("FOLDER"), help=_("folder to make"))
    again = commands.add_parser(
        "import", help=_("fill an empty archive from an export; --archive says which")
    )
    again.add_argument("folder", type=Path, metavar=_("FOLDER"), help=_("folder of an export"))
    for one in (backup, restore, export, again):
        one.add_argument(
            "--despite-faults",
            action="store_true",
            help=_("even if verify finds faults in it; they are told"),
        )
    retention = commands.add_parser(
        "retention", help=_("list what need not be kept any longer; nothing is given up by it")
    )
    retention.add_argument(
        "--years",
        type=int,
        default=_YEARS,
        help=_(
            "since anything happened; {years} if not given (common practice, no source)",
            years=_YEARS,
        ),
    )
    retention.add_argument(
        "--csv", type=Path, metavar=_("FILE.csv"), help=_("write the list as CSV, too")
    )
    discard = commands.add_parser(
        "discard", help=_("give up job files, plans, sheets and scans of what has ended")
    )
    discard.add_argument("numbers", nargs="+", metavar=_("NUMBER"), help=_("numbers of travellers"))
    discard.add_argument("--reason", required=True, help=_("why"))
    discard.add_argument(
        "--yes", action="store_true", help=_("do it; else only what would be done is told")
    )
    stats = commands.add_parser("stats", help=_("count what is in the archive"))
    stats.add_argument("--json", action="store_true", help=_("as JSON"))


def run_keep(
    place: str | Path,
    given: argparse.Namespace,
    output: TextIO,
    errors: TextIO,
) -> int:
    """Do what is asked of an archive.

    Args:
        place: where it is.
        given: what `add_keep` takes.
        output: where results go.
        errors: where messages go.

    Returns:
        The exit code; stopped if something is left to be confirmed.

    Raises:
        InputError, EnvironmentProblem: it cannot be done; nothing was changed.
    """
    from kerfdocket.archive import open_archive, opened_to_fill

    def tell(text: str) -> None:
        print(text, file=errors)

    try:
        with (
            opened_to_fill(place, tell)
            if given.deed in _FILLING
            else closing(open_archive(place, may_be_made=False)) as archive
        ):
            return _DEEDS[given.deed](archive, given, output, errors)
    except KeyboardInterrupt:
        # It may take minutes: whoever ends it wants no traceback.
        print("\n" + _("Ended before it was done; nothing was changed."), file=errors)
        return BAD_INPUT


def _backup(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import backup
    from kerfdocket.office.keeping import made_text

    done = backup(archive, given.file, given.overwrite, given.despite_faults)
    return _tell_done(done, made_text(given.file, done), output, errors)


def _restore(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import restore

    done = restore(given.file, archive, given.despite_faults)
    said = _("All of {place} is in the archive and verified.", place=given.file)
    return _tell_done(done, said, output, errors)


def _export(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import export
    from kerfdocket.office.keeping import made_text

    done = export(archive, given.folder, given.despite_faults)
    return _tell_done(done, made_text(given.folder, done), output, errors)


def _import(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import import_export

    done = import_export(given.folder, archive, given.despite_faults)
    said = _("All of {place} is in the archive and verified.", place=given.folder)
    return _tell_done(done, said, output, errors)


def _tell_done(
    done: "Copied | Exported | Imported", said: str, output: TextIO, errors: TextIO
) -> int:
    from kerfdocket.office.keeping import end_text

    _tell_faults(done.faults, errors)
    output.write(f"{said}\n{end_text(done.events, done.head)}\n")
    return GOOD


def _tell_faults(faults: "tuple[Fault, ...]", errors: TextIO) -> None:
    for fault in faults:
        print(fault, file=errors)


def _retention(
    archive: "Archive", given: argparse.Namespace, output: TextIO, _errors: TextIO
) -> int:
    from kerfdocket.archive.keeping import Rule, proposals
    from kerfdocket.office.keeping import (
        how_long_text,
        proposal_cells,
        proposals_csv,
        proposals_text,
    )

    found = proposals(archive, Rule(given.years))
    for one in found:
        number, state, since, pages, size = proposal_cells(one)
        output.write(f"{number:14} {state:14} {since:12} {pages:10} {size}\n")
    if given.csv is not None:
        write_atomically(given.csv, proposals_csv(found))
    output.write(f"{proposals_text(len(found), given.years)}\n")
    output.write(_("Nothing was given up.") + f" {how_long_text()}\n")
    return GOOD


def _discard(archive: "Archive", given: argparse.Namespace, output: TextIO, _errors: TextIO) -> int:
    from kerfdocket.archive.keeping import discard, would_discard
    from kerfdocket.office.keeping import size_text

    if given.yes:
        done = discard(archive, given.numbers, who_does(given), given.reason)
    else:
        done = would_discard(archive, given.numbers)
    for one in done:
        said = counted("{count} content", "{count} contents", len(one.contents))
        line = f"{one.number:14} {said:14} {size_text(one.bytes)}"
        if one.kept:
            line += "  " + counted(
                "({count} stays, as something else needs it)",
                "({count} stay, as something else needs them)",
                one.kept,
            )
        output.write(line + "\n")
    if given.yes:
        output.write(
            _("These were given up. What happened to them, and that it was kept, stays.") + "\n"
        )
        return GOOD
    output.write(
        _("Nothing was given up yet: they can never be printed again. Confirm with --yes.") + "\n"
    )
    return STOPPED


def _stats(archive: "Archive", given: argparse.Namespace, output: TextIO, _errors: TextIO) -> int:
    from kerfdocket.archive.keeping import stats
    from kerfdocket.office import ratios_with
    from kerfdocket.reference import load_reference

    found = stats(archive, ratios_with(load_reference()))
    if given.json:
        output.write(json.dumps(_as_json(found), ensure_ascii=False, indent=2) + "\n")
    else:
        _tell_stats(found, output)
    return GOOD


def _as_json(found: "Stats") -> dict[str, object]:
    from kerfdocket.archive.keeping import BANDS_M

    return {**asdict(found), "by_thickness": found.by_thickness, "bands_m": list(BANDS_M)}


def _tell_stats(found: "Stats", output: TextIO) -> None:
    from kerfdocket.office.keeping import not_compared_text, stats_told, total_text

    output.write(total_text(found) + "\n")
    for one in stats_told(found):
        output.write(f"\n{one.head}\n")
        for name, text in one.rows:
            output.write(f"  {name:28} {text}\n")
    if said := not_compared_text(found):
        output.write(f"\n{said}\n")


_DEEDS: dict[str, Callable[["Archive", argparse.Namespace, TextIO, TextIO], int]] = {
    "backup": _backup,
    "restore": _restore,
    "export": _export,
    "import": _import,
    "retention": _retention,
    "discard": _discard,
    "stats": _stats,
}
