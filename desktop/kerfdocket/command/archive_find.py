"""Finding travellers in the archive, on the command line."""

import argparse
import json
from datetime import date
from typing import TYPE_CHECKING, Any, TextIO

from kerfdocket.command.archive_given import STATE_WIDTH
from kerfdocket.errors import InputError
from kerfdocket.language import _
from kerfdocket.quantity import LENGTH, parse_measure

if TYPE_CHECKING:
    from kerfdocket.archive import Archive, State
    from kerfdocket.archive.find import FoundTraveller, Wanted

__all__ = ["add_find", "run_find"]

_AT_ONCE = 500  # travellers
_BETWEEN = ".."


def add_find(commands: "argparse._SubParsersAction[Any]") -> None:
    """Let the archive take `find`."""
    find = commands.add_parser(
        "find", help=_("list the travellers that are looked for, the newest first")
    )
    find.add_argument(
        "text",
        nargs="*",
        metavar=_("WORD"),
        help=_("begins of words that are anywhere in it: fields, parts, notes, what was written"),
    )
    for name, said in (
        ("number", _("begins of words of its number")),
        ("title", _("begins of words of its title")),
        ("customer", _("begins of words of its customer")),
        ("drawing", _("begins of words of its drawing")),
        ("grade", _("begins of words of its grade")),
        ("nozzle", _("begins of words of its nozzle")),
        ("gas", _("begins of words of its fuel gas")),
        ("cutter", _("begins of words of who cut it")),
    ):
        find.add_argument(f"--{name}", default="", metavar=_("WORDS"), help=said)
    find.add_argument(
        "--thickness",
        metavar=_("RANGE"),
        help=_("of its plate: '12 mm', '10 mm..25 mm', '1 in..' or '..25 mm'"),
    )
    find.add_argument("--from", dest="first", metavar=_("DATE"), help=_("of its job: not before"))
    find.add_argument("--to", dest="last", metavar=_("DATE"), help=_("of its job: not after"))
    find.add_argument(
        "--state",
        action="append",
        default=[],
        metavar=_("STATE"),
        help=_("it is in this state; may be given several times"),
    )
    find.add_argument("--limit", type=int, metavar=_("COUNT"), help=_("how many at most"))
    find.add_argument("--json", action="store_true", help=_("a JSON object a line, for programs"))


def run_find(archive: "Archive", given: argparse.Namespace, output: TextIO, errors: TextIO) -> None:
    """Write what is found, and a word beside it where nothing is.

    Raises:
        InputError: what is looked for cannot be read.
        EnvironmentProblem: the archive cannot be read.
    """
    from kerfdocket.archive.find import find, rows

    if given.limit is not None and given.limit < 1:
        raise InputError(_("--limit {given}: give 1 or more", given=given.limit))
    write = _json_line if given.json else _line
    ids = find(archive, _wanted(given), given.limit)
    for begin in range(0, len(ids), _AT_ONCE):
        for one in rows(archive, ids[begin : begin + _AT_ONCE]):
            output.write(write(one))
    if not ids:
        print(_("Nothing was found; each word is looked for as the begin of one."), file=errors)


def _wanted(given: argparse.Namespace) -> "Wanted":
    from kerfdocket.archive.find import Wanted
    from kerfdocket.office import gas_as_kept

    thickness_from_m, thickness_to_m = _thickness_m(given.thickness)
    first, last = _date(given.first, "--from"), _date(given.last, "--to")
    if first is not None and last is not None and first > last:
        raise InputError(
            _("--from {first} is after --to {last}: nothing is between", first=first, last=last)
        )
    return Wanted(
        text=" ".join(given.text),
        number=given.number,
        title=given.title,
        customer=given.customer,
        drawing=given.drawing,
        grade=given.grade,
        nozzle=given.nozzle,
        gas=gas_as_kept(given.gas),
        cutter=given.cutter,
        thickness_from_m=thickness_from_m,
        thickness_to_m=thickness_to_m,
        date_from=first,
        date_to=last,
        states=tuple(dict.fromkeys(map(_state, given.state))),
    )


def _thickness_m(text: str | None) -> tuple[float | None, float | None]:
    """Least and largest thickness. [m]"""
    if text is None:
        return None, None
    least, is_range, most = (part.strip() for part in text.partition(_BETWEEN))
    if not is_range:
        most = least
    elif not (least or most):
        raise InputError(
            _(
                "--thickness {given} has neither end; give '10 mm..25 mm', '10 mm..' or '..25 mm'",
                given=text,
            )
        )
    least_m = parse_measure(least, LENGTH).si if least or not is_range else None
    most_m = parse_measure(most, LENGTH).si if most or not is_range else None
    if least_m is not None and most_m is not None and least_m > most_m:
        raise InputError(
            _(
                "--thickness {given}: {least} is more than {most}; give the smaller one first",
                given=text,
                least=least,
                most=most,
            )
        )
    return least_m, most_m


def _date(text: str | None, option: str) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(
            _(
                "{option} {given} is not a date; give year, month and day, such as 2026-11-25",
                option=option,
                given=repr(text),
            )
        ) from None


def _state(text: str) -> "State":
    """A state by its name as a program writes it, or as it is said here."""
    from kerfdocket.archive import STATES

    for state in STATES:
        if text.strip().casefold() in {state, _(state).casefold()}:
            return state
    raise InputError(
        _(
            "--state {given} is not known; known: {states}",
            given=repr(text),
            states=", ".join(repr(_(state)) for state in STATES),
        )
    )


def _line(one: "FoundTraveller") -> str:
    return (
        f"{one.number:14} {one.revision:3} {_(one.state):{STATE_WIDTH}} {one.grade:10} "
        f"{one.thickness:>9} {one.customer:24} {one.title}".rstrip()
        + "\n"
    )


def _json_line(one: "FoundTraveller") -> str:
    said = one._asdict()
    del said["id"]  # of its row; means nothing outside
    return json.dumps(said, ensure_ascii=False) + "\n"
