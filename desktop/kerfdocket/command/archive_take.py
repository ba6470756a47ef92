"""The way back on the command line: scans, filled forms, the tray, what was written on a sheet."""

import argparse
import json
import time
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from kerfdocket.command.archive_given import side_word, traveller_named, who_does
from kerfdocket.command.codes import BAD_INPUT, GOOD
from kerfdocket.errors import EnvironmentProblem, InputError
from kerfdocket.language import _, counted
from kerfdocket.storage import make_folder, reason_of, write_atomically

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, PageOfTraveller, Taken, TakenPage
    from kerfdocket.office import Watch
    from kerfdocket.planning.actuals import Comparison

__all__ = ["TAKE_DEEDS", "add_take", "page_name", "run_take"]

TAKE_DEEDS = (
    "take",
    "watch",
    "tray",
    "match",
    "set-aside",
    "put-back",
    "record",
    "compare",
    "scans",
)
_OWN = "own_"  # begins the names of places that a shop added
_LETTERS = 12  # of a file's digest that name it here
_SUFFIXES = {b"%PDF": ".pdf", b"\x89PNG": ".png", b"\xff\xd8\xff": ".jpg"}


def add_take(commands: "argparse._SubParsersAction[Any]") -> None:
    """Let the archive take the commands of the way back."""
    take = commands.add_parser(
        "take", help=_("take scans and filled forms back: PDF, PNG, JPEG or TIFF")
    )
    take.add_argument("files", type=Path, nargs="+", metavar=_("FILE"), help=_("to be taken"))
    watch = commands.add_parser(
        "watch", help=_("take what a scanner writes to a folder, until it is interrupted")
    )
    watch.add_argument("folder", type=Path, help=_("folder that the scanner writes to"))
    watch.add_argument(
        "--every", type=float, default=5.0, metavar=_("SECONDS"), help=_("how often to look")
    )
    watch.add_argument("--once", action="store_true", help=_("take what is there now, and end"))
    tray = commands.add_parser("tray", help=_("list the pages that could not be matched"))
    tray.add_argument(
        "--set-aside", action="store_true", help=_("those that were set aside, instead")
    )
    match = commands.add_parser("match", help=_("put a page of the tray to its traveller"))
    match.add_argument("page", metavar=_("PAGE"), help=_("as tray lists it"))
    match.add_argument("number", help=_("number of the traveller"))
    match.add_argument("--revision", help=_("which one; else the last"))
    match.add_argument(
        "--side", choices=["front", "back", "both"], help=_("which side of the sheet it is")
    )
    aside = commands.add_parser(
        "set-aside", help=_("say that a page of the tray belongs to no traveller; it is kept")
    )
    aside.add_argument("page", metavar=_("PAGE"), help=_("as tray lists it"))
    aside.add_argument("--reason", required=True, help=_("why"))
    back = commands.add_parser(
        "put-back", help=_("put a page that is with the wrong traveller into the tray again")
    )
    back.add_argument("page", metavar=_("PAGE"), help=_("as show or tray --set-aside lists it"))
    back.add_argument(
        "--number", help=_("number of the traveller that it is with, where it is with several")
    )
    back.add_argument("--reason", required=True, help=_("why"))
    record = commands.add_parser("record", help=_("enter what was written on a sheet"))
    record.add_argument("number", help=_("number of the traveller"))
    record.add_argument("--revision", help=_("which one; else the last"))
    record.add_argument(
        "values",
        nargs="+",
        metavar=_("NAME=VALUE"),
        help=_("such as oxygen_after='95 bar'; an empty value takes one back"),
    )
    record.add_argument(
        "--reason", default="", help=_("why they change; must be given for a closed traveller")
    )
    compare = commands.add_parser("compare", help=_("put plan and work side by side"))
    compare.add_argument("number", help=_("number of the traveller"))
    compare.add_argument("--revision", help=_("which one; else the last"))
    compare.add_argument("--json", action="store_true", help=_("as JSON, for programs"))
    scans = commands.add_parser("scans", help=_("write what came back of a traveller"))
    scans.add_argument("number", help=_("number of the traveller"))
    scans.add_argument(
        "-o",
        "--output",
        type=Path,
        required=True,
        metavar=_("FOLDER"),
        help=_("folder to write to"),
    )


def run_take(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    """Do what is asked; return the exit code.

    Raises:
        InputError, EnvironmentProblem: it cannot be done; nothing was changed.
    """
    from kerfdocket.archive import set_aside, set_page_aside, tray

    match given.deed:
        case "take":
            return _take(archive, given.files, who_does(given), output, errors)
        case "watch":
            return _watch(archive, given, output, errors)
        case "tray":
            waiting = set_aside(archive) if given.set_aside else tray(archive)
            for page in waiting:
                output.write(f"{page_name(page)}  {page.name}, {_page(page)}: {page.reason}\n")
            if not waiting:
                print(_("There is no such page."), file=errors)
        case "match":
            _match(archive, given, output, errors)
        case "set-aside":
            page = _page_named(archive, given.page)
            set_page_aside(archive, page.file, page.page, who_does(given), given.reason)
        case "put-back":
            _put_back(archive, given, output)
        case "record":
            _record(archive, given, output, errors)
        case "compare":
            _compare(archive, given, output)
        case _:
            _scans(archive, given, output)
    return GOOD


def _take(
    archive: "Archive", files: Sequence[Path], who: str, output: TextIO, errors: TextIO
) -> int:
    from kerfdocket.archive import take_file

    code = GOOD
    for file in files:
        try:
            content = file.read_bytes()
        except OSError as error:
            print(
                _("cannot read {path}: {reason}", path=file, reason=reason_of(error)), file=errors
            )
            code = BAD_INPUT
            continue
        try:
            taken = take_file(archive, content, file.name, who)
        except InputError as error:
            print(error, file=errors)
            code = BAD_INPUT
            continue
        _tell(taken, output, errors)
    return code


def _tell(taken: "Taken", output: TextIO, errors: TextIO) -> None:
    if taken.is_known:
        output.write(_("{name}: was taken before", name=taken.name) + "\n")
    for one in taken.pages:
        output.write(f"{taken.name}, {_page(one.page)}: {_became(one)}\n")
        if one.warning:
            print(_("Caution: {text}", text=one.warning), file=errors)


def _became(one: "TakenPage") -> str:
    if one.traveller is None:
        if one.page.is_set_aside:
            return _("set aside: {reason}", reason=one.page.reason)
        return _in_tray(one.page)
    said = f"{one.page.number} {one.page.revision}"
    if one.page.side:
        said += ", " + side_word(one.page.side)
    if one.values:
        said += ", " + counted("{count} value", "{count} values", one.values)
    return said


def _in_tray(page: "PageOfTraveller") -> str:
    return _("in the tray as {page}: {reason}", page=page_name(page), reason=page.reason)


def _page(page: "PageOfTraveller") -> str:
    return _("page {page}", page=page.page + 1)


def page_name(page: "PageOfTraveller") -> str:
    """Return what a page is called here."""
    return f"{page.file[:_LETTERS]}:{page.page + 1}"


def _page_named(archive: "Archive", name: str) -> "PageOfTraveller":
    from kerfdocket.archive import tray

    waiting = tray(archive)
    found = [page for page in waiting if page_name(page) == name]
    if len(found) == 1:
        return found[0]
    known = ", ".join(map(page_name, waiting[:9])) or _("nothing")
    raise InputError(
        _("{name} is no page of the tray; in it: {known}", name=repr(name), known=known)
    )


def _watch(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    from kerfdocket.office import Watch

    if not given.every > 0.0:
        raise InputError(_("--every must be above 0 seconds"))
    watch, who = Watch(given.folder), who_does(given)
    # A folder that is not there at the begin is a mistake, and one that goes later comes again.
    _look(watch, archive, who, output, errors)
    trouble = ""
    try:
        while True:
            time.sleep(given.every)
            try:
                _look(watch, archive, who, output, errors)
                trouble = ""
            except EnvironmentProblem as error:
                if given.once:
                    raise
                if str(error) != trouble:
                    print(error, file=errors, flush=True)
                trouble = str(error)
            if given.once:
                return GOOD
    except KeyboardInterrupt:
        return GOOD


def _look(watch: "Watch", archive: "Archive", who: str, output: TextIO, errors: TextIO) -> None:
    for looked in watch.look(archive, who):
        if looked.taken is not None:
            _tell(looked.taken, output, errors)
        else:
            print(looked.problem, file=errors)
    output.flush()


def _match(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> None:
    from kerfdocket.archive import BOTH, match_page

    page = _page_named(archive, given.page)
    traveller = traveller_named(archive, given.number, given.revision)
    side = {"front": "F", "back": "B", "both": BOTH}.get(given.side, "")
    matched = match_page(
        archive,
        page.file,
        page.page,
        traveller.number,
        traveller.revision,
        who_does(given),
        side,
    )
    output.write(f"{page.name}, {_page(page)}: {_became(matched)}\n")
    if matched.warning:
        print(_("Caution: {text}", text=matched.warning), file=errors)


def _put_back(archive: "Archive", given: argparse.Namespace, output: TextIO) -> None:
    from kerfdocket.archive import pages_called, put_page_back

    begin, _sign, place = given.page.rpartition(":")
    index = int(place) - 1 if place.isdecimal() and len(place) < 9 else -1
    found = [
        one
        for one in pages_called(archive, begin, index)
        if page_name(one) == given.page
        and (one.number or one.is_set_aside)
        and given.number in (None, one.number)
    ]
    if len(found) > 1:
        numbers = ", ".join(one.number for one in found)
        raise InputError(
            _(
                "{name} is with {numbers}: say which, with --number",
                name=given.page,
                numbers=numbers,
            )
        )
    if not found:
        raise InputError(
            _(
                "{name} is no page that is with a traveller or set aside: show and "
                "tray --set-aside list them",
                name=repr(given.page),
            )
        )
    page = found[0]
    done = put_page_back(
        archive, page.file, page.page, page.number, page.revision, who_does(given), given.reason
    )
    output.write(f"{page.name}, {_page(page)}: {_in_tray(done.page)}\n")
    for name, text in done.values.items():
        output.write(f"{name} = {text}\n")
    if done.traveller is not None:
        output.write(
            _(
                "{number} {revision} is {state}, as before",
                number=done.traveller.number,
                revision=done.traveller.revision,
                state=_(done.traveller.state),
            )
            + "\n"
        )


def _record(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> None:
    from kerfdocket.archive import record_actuals
    from kerfdocket.office import job_of_traveller
    from kerfdocket.planning.actuals import ACTUAL_FIELDS, read_actuals

    traveller = traveller_named(archive, given.number, given.revision)
    values = _values(given.values)
    for name in values:
        if name not in ACTUAL_FIELDS and not name.startswith(_OWN):
            raise InputError(
                _(
                    "{name} is no place of a sheet; accepted: {known}, and {own}NAME for a shop's "
                    "own",
                    name=repr(name),
                    known=", ".join(ACTUAL_FIELDS),
                    own=_OWN,
                )
            )
    changed = record_actuals(
        archive, traveller.number, traveller.revision, values, who_does(given), given.reason
    )
    for name, text in changed.items():
        output.write(f"{name} = {text}\n")
    try:
        read = read_actuals(job_of_traveller(archive, traveller), changed)
    except InputError as error:
        # They are kept, and only what they mean cannot be said.
        print(error, file=errors)
        return
    for name in changed:
        # Kept as it was written all the same: what cannot be read can still be looked at.
        if problem := read.problems.get(name):
            print(f"{name}: {problem}", file=errors)


def _compare(archive: "Archive", given: argparse.Namespace, output: TextIO) -> None:
    from kerfdocket.archive import actuals_of, warning_of
    from kerfdocket.office import compare_traveller
    from kerfdocket.reference import load_reference

    traveller = traveller_named(archive, given.number, given.revision)
    comparison = compare_traveller(archive, traveller, load_reference())
    texts = actuals_of(archive, traveller.number, traveller.revision)
    if given.json:
        said = {
            "number": traveller.number,
            "revision": traveller.revision,
            "rows": [asdict(row) for row in comparison.rows],
            "ratios": dict(comparison.ratios),
            "written": dict(texts),
            "doubts": dict(comparison.doubts),
            "gas_reference": comparison.gas_reference,
            "note": comparison.note,
        }
        output.write(json.dumps(said, ensure_ascii=False, indent=1) + "\n")
        return
    output.write(
        f"{traveller.number} {traveller.revision}  {_(traveller.state)}  "
        f"{traveller.facts['title']}\n\n"
    )
    warning = warning_of(traveller)
    if warning:
        output.write(_("Caution: {text}", text=warning) + "\n\n")
    for row in comparison.rows:
        if row.sense == "not stated":
            continue
        output.write(f"{row.label}\n")
        output.write("  " + _("planned: {text}", text=row.planned or "—") + "\n")
        output.write("  " + _("actual: {text}", text=row.actual or "—") + "\n")
        output.write(f"  {_(row.sense)}{'. ' if row.remark else ''}{row.remark}\n")
    _tell_written(comparison, texts, output)
    unsaid = [row.label for row in comparison.rows if row.sense == "not stated"]
    if unsaid:
        output.write(_("Not stated: {values}", values="; ".join(unsaid)) + "\n")
    output.write(f"\n{comparison.note}\n")


def _tell_written(comparison: "Comparison", texts: Mapping[str, str], output: TextIO) -> None:
    """Write what was written and has no row of its own: remarks, who signed, the shop's fields."""
    from kerfdocket.planning.actuals import ACTUAL_FIELDS

    compared = {row.name for row in comparison.rows}
    for name in (*ACTUAL_FIELDS, *sorted(set(texts) - set(ACTUAL_FIELDS))):
        if name in compared or name not in texts:
            continue
        label = _(ACTUAL_FIELDS[name].title) if name in ACTUAL_FIELDS else name
        output.write(f"{label} = {texts[name]}\n")
        if doubt := comparison.doubts.get(name):
            output.write(f"  {doubt}\n")


def _values(said: Sequence[str]) -> Mapping[str, str]:
    values = {}
    for one in said:
        name, sign, text = one.partition("=")
        if not sign:
            raise InputError(_("{said} is no value; accepted: NAME=VALUE", said=repr(one)))
        values[name.strip()] = text.strip()
    return values


def _scans(archive: "Archive", given: argparse.Namespace, output: TextIO) -> None:
    from kerfdocket.archive import pages_of

    pages = pages_of(archive, given.number)
    if not pages:
        raise InputError(_("nothing came back of {number}", number=given.number))
    make_folder(given.output)
    written: dict[str, Path] = {}
    for page in pages:
        if page.file not in written:
            content = archive.content(page.file)
            suffix = next(
                (one for begin, one in _SUFFIXES.items() if content.startswith(begin)), ".tif"
            )
            written[page.file] = given.output / f"{page.file[:_LETTERS]}{suffix}"
            write_atomically(written[page.file], content)
        output.write(f"{written[page.file]}, {_page(page)}: {page.number} {page.revision}\n")
