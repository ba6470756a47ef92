"""Keeping the archive, without a window: backup, export, what may be given up, what it tells."""

import argparse
import csv
import io
import json
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from kerfdocket.command.archive_given import who_does
from kerfdocket.command.codes import BAD_INPUT, GOOD, STOPPED
from kerfdocket.language import _, counted, date_text, decimal_text
from kerfdocket.planning.keys import KEYS
from kerfdocket.storage import BOM, harmless_cell, write_atomically

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, Fault
    from kerfdocket.archive.keeping import Proposal, Spread, Stats

__all__ = ["KEEPING", "add_keep", "run_keep"]

# The commands of this file; those that fill an archive may make one.
_FILLING = ("restore", "import")
KEEPING = (*_FILLING, "backup", "export", "retention", "discard", "stats")
_CSV_COLUMNS = ("number", "state", "since", "revisions", "pages", "bytes")
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
    from kerfdocket.archive import open_archive

    try:
        with closing(open_archive(place, may_be_made=given.deed in _FILLING)) as archive:
            return _DEEDS[given.deed](archive, given, output, errors)
    except KeyboardInterrupt:
        # It may take minutes: whoever ends it wants no traceback.
        print("\n" + _("Ended before it was done; nothing was changed."), file=errors)
        return BAD_INPUT


def _backup(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import backup

    done = backup(archive, given.file, given.overwrite, given.despite_faults)
    _tell_faults(done.faults, errors)
    output.write(_("{place} was made and verified.", place=given.file) + "\n")
    _tell_end(done.events, done.head, output)
    return GOOD


def _restore(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import restore

    done = restore(given.file, archive, given.despite_faults)
    _tell_faults(done.faults, errors)
    output.write(_("All of {place} is in the archive and verified.", place=given.file) + "\n")
    _tell_end(done.events, done.head, output)
    return GOOD


def _export(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import export

    done = export(archive, given.folder, given.despite_faults)
    _tell_faults(done.faults, errors)
    output.write(
        counted(
            "{place}: {count} file, {size} of contents",
            "{place}: {count} files, {size} of contents",
            done.files,
            place=given.folder,
            size=_size_text(done.bytes),
        )
        + "\n"
    )
    _tell_end(done.events, done.head, output)
    return GOOD


def _import(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.archive.keeping import import_export

    done = import_export(given.folder, archive, given.despite_faults)
    _tell_faults(done.faults, errors)
    output.write(_("All of {place} is in the archive and verified.", place=given.folder) + "\n")
    _tell_end(done.events, done.head, output)
    return GOOD


def _tell_end(events: int, head: str, output: TextIO) -> None:
    output.write(
        counted(
            "{count} event, the last is {hash}",
            "{count} events, the last is {hash}",
            events,
            hash=head,
        )
        + "\n"
    )


def _tell_faults(faults: "tuple[Fault, ...]", errors: TextIO) -> None:
    for fault in faults:
        print(fault, file=errors)


def _retention(
    archive: "Archive", given: argparse.Namespace, output: TextIO, _errors: TextIO
) -> int:
    from kerfdocket.archive.keeping import Rule, proposals

    found = proposals(archive, Rule(given.years))
    for one in found:
        pages = counted("{count} page", "{count} pages", one.pages)
        output.write(
            f"{one.number:14} {_(one.state):14} {date_text(one.since):12} {pages:10} "
            f"{_size_text(one.bytes)}\n"
        )
    if given.csv is not None:
        write_atomically(given.csv, (BOM + _proposals_csv(found)).encode())
    output.write(
        counted(
            "{count} number: nothing has happened to it for {years} years.",
            "{count} numbers: nothing has happened to them for {years} years.",
            len(found),
            years=given.years,
        )
        + "\n"
        + _(
            "Nothing was given up. How long to keep travellers is said by contracts, insurers and "
            "local law first; {years} years are only common practice, without a source.",
            years=_YEARS,
        )
        + "\n"
    )
    return GOOD


def _proposals_csv(found: "tuple[Proposal, ...]") -> str:
    written = io.StringIO()
    writer = csv.writer(written)
    writer.writerow(_CSV_COLUMNS)
    for one in found:
        values = asdict(one)
        writer.writerow(harmless_cell(str(values[name])) for name in _CSV_COLUMNS)
    return written.getvalue()


def _discard(archive: "Archive", given: argparse.Namespace, output: TextIO, _errors: TextIO) -> int:
    from kerfdocket.archive.keeping import discard, would_discard

    if given.yes:
        done = discard(archive, given.numbers, who_does(given), given.reason)
    else:
        done = would_discard(archive, given.numbers)
    for one in done:
        said = counted("{count} content", "{count} contents", len(one.contents))
        line = f"{one.number:14} {said:14} {_size_text(one.bytes)}"
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
    counts = counted(
        "{count} traveller, {events} events",
        "{count} travellers, {events} events",
        found.travellers,
        events=found.events,
    )
    output.write(counts + "\n")
    bands = {_band_text(band): count for band, count in found.by_thickness.items()}
    states = {_(state): count for state, count in found.by_state.items()}
    gases = {gas and _(gas): count for gas, count in found.by_gas.items()}
    for head, table in (
        (_("By state"), states),
        (_("By month of issue, UTC"), found.by_month),
        (_("By grade"), found.by_grade),
        (_("By gas"), gases),
        (_("By thickness"), bands),
    ):
        _tell_table(head, {name: str(count) for name, count in table.items()}, output)
    _tell_table(
        _("Came back"),
        {
            _("all"): str(found.returned),
            _("with front and back"): str(found.complete),
            _("with a part"): str(found.in_part),
            _("without pages"): str(found.without_pages),
            _("pages in the tray"): str(found.pages_in_tray),
            _("days away, quartiles"): _spread_text(found.issued_to_returned_s, 86_400.0),
        },
        output,
    )
    sizes = {_(kind): _size_text(size) for kind, size in found.bytes_by_kind.items()}
    given_up = counted("{count} content", "{count} contents", found.given_up)
    _tell_table(_("Size"), {**sizes, _("given up"): given_up}, output)
    if found.ratios:
        spreads = {
            _(KEYS[key][0]) if key in KEYS else key: _spread_text(one, 1.0)
            for key, one in found.ratios.items()
        }
        _tell_table(_("Actual over planned, quartiles"), spreads, output)
    if found.not_compared:
        said = counted(
            "{count} traveller could not be compared with its plan: archive compare says why.",
            "{count} travellers could not be compared with their plans: archive compare says why.",
            found.not_compared,
        )
        output.write(f"\n{said}\n")


def _tell_table(head: str, rows: Mapping[str, str], output: TextIO) -> None:
    if rows:
        output.write(f"\n{head}\n")
    for name, text in rows.items():
        output.write(f"  {name or '—':28} {text}\n")


def _spread_text(spread: "Spread", unit: float) -> str:
    if spread.low is None or spread.median is None or spread.high is None:
        return f"—  {spread.withheld}"
    values = (spread.low, spread.median, spread.high)
    low, middle, high = (decimal_text(value / unit, 2) for value in values)
    return f"{low} · {middle} · {high}  (n = {spread.n})"


def _band_text(band: int) -> str:
    from kerfdocket.archive.keeping import BANDS_M

    if band < 0:
        return _("not known")
    if band == len(BANDS_M):
        return _("above {most} mm", most=f"{BANDS_M[-1] * 1e3:g}")
    most = f"{BANDS_M[band] * 1e3:g}"
    if band == 0:
        return _("up to {most} mm", most=most)
    return _("above {least} to {most} mm", least=f"{BANDS_M[band - 1] * 1e3:g}", most=most)


def _size_text(size: int) -> str:
    """A size in powers of ten, as disks are sold. [B]"""
    if size < 1000:
        return f"{size} B"
    for unit in ("kB", "MB"):
        if size < 1e6:
            return f"{decimal_text(size / 1e3, 1)} {unit}"
        size //= 1000
    return f"{decimal_text(size / 1e3, 1)} GB"


_DEEDS: dict[str, Callable[["Archive", argparse.Namespace, TextIO, TextIO], int]] = {
    "backup": _backup,
    "restore": _restore,
    "export": _export,
    "import": _import,
    "retention": _retention,
    "discard": _discard,
    "stats": _stats,
}
