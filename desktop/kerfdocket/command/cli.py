"""The commands: what the window does, without a window.

Exit codes: 0 good, 1 the plan has a stop finding, 2 bad input or something in the way.
"""

import argparse
import logging
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NoReturn, Protocol, TextIO

from kerfdocket import __version__
from kerfdocket.command.archive import add_archive_arguments, run_archive
from kerfdocket.command.codes import BAD_INPUT, GOOD, STOPPED
from kerfdocket.command.files import refuse_itself
from kerfdocket.command.pack import add_pack_arguments, run_pack
from kerfdocket.command.report import explain_text, plan_text
from kerfdocket.command.shop import add_shop, shop_text, stated_shop
from kerfdocket.errors import KerfdocketError
from kerfdocket.job import Job, job_schema, load_job, read_text
from kerfdocket.language import (
    LANGUAGES,
    PSEUDO,
    Language,
    _,
    current_language,
    language_named,
    speaking,
)
from kerfdocket.planning import Plan, make_plan, plan_json
from kerfdocket.reference import load_reference
from kerfdocket.storage import write_atomically

__all__ = ["BAD_INPUT", "GOOD", "STOPPED", "run"]

_UNITS = {"metric": "metric", "us": "US customary"}


class OpenWindow(Protocol):
    """Opens the window with a job file or empty, returns its exit code.

    It is given a language's code where the person asked for one, and else only the file.
    """

    def __call__(self, job: Path | None, language: str = ..., /) -> int: ...


class _Formatter(argparse.HelpFormatter):
    def add_usage(
        self,
        usage: str | None,
        actions: Iterable[argparse.Action],
        groups: Iterable[Any],
        prefix: str | None = None,
    ) -> None:
        super().add_usage(usage, actions, groups, _("usage: ") if prefix is None else prefix)


class _Parser(argparse.ArgumentParser):
    """Says argparse's own words through the catalog, but for what it finds wrong."""

    def __init__(self, **keywords: Any) -> None:
        super().__init__(formatter_class=_Formatter, add_help=False, **keywords)
        self._positionals.title = _("positional arguments")
        self._optionals.title = _("options")
        self.add_argument("-h", "--help", action="help", help=_("show this help message and exit"))

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        self.exit(BAD_INPUT, _("{program}: error: {text}", program=self.prog, text=message) + "\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="kerfdocket",
        description=_("Prepares oxy-fuel cutting jobs and prints their travellers."),
        epilog=_("Exit codes: 0 good, 1 the plan has a stop finding, 2 bad input."),
    )
    parser.add_argument(
        "--version",
        action="version",
        version=f"kerfdocket {__version__}",
        help=_("show program's version number and exit"),
    )
    _add_language(parser, _("speak this language, whatever the surroundings ask for"), default=None)
    commands = parser.add_subparsers(dest="command", metavar=_("COMMAND"))
    window = commands.add_parser("window", help=_("open the window (also without any command)"))
    window.add_argument("job", nargs="?", type=Path, metavar=_("JOB"), help=_("job file to open"))
    _add_language(window, _("speak this language, whatever was chosen in the window"))
    plan = commands.add_parser("plan", help=_("work out a job and print the plan"))
    plan.add_argument("job", type=Path, metavar=_("JOB"), help=_("job file, or a sheet's PDF"))
    _add_units(plan)
    _add_language(plan, _("write in this language"))
    form = plan.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help=_("as JSON, for programs"))
    form.add_argument(
        "--explain",
        metavar=_("KEY"),
        help=_("how one value was got, such as cut.speed (keys: --json)"),
    )
    sheet = commands.add_parser("sheet", help=_("make the printed sheet of a job"))
    sheet.add_argument("job", type=Path, metavar=_("JOB"), help=_("job file, or a sheet's PDF"))
    _add_units(sheet)
    _add_sheet_language(sheet)
    sheet.add_argument(
        "--fillable", action="store_true", help=_("with fields to fill in on a screen")
    )
    add_shop(sheet)
    _add_output(sheet)
    pack = commands.add_parser("pack", help=_("make one PDF of several jobs, with a cover"))
    _add_output(pack)
    add_pack_arguments(pack)
    _add_units(pack)
    _add_sheet_language(pack)
    add_shop(pack)
    take = commands.add_parser("open", help=_("take the job file out of a printed sheet's PDF"))
    take.add_argument(
        "sheet", type=Path, metavar=_("FILE.pdf"), help=_("PDF that the program made")
    )
    take.add_argument(
        "--job", metavar=_("NAME"), help=_("which job, where a pack's PDF has several in it")
    )
    take.add_argument(
        "-o",
        "--output",
        type=Path,
        metavar=_("FILE"),
        help=_("job file to write; else it is printed"),
    )
    shop = commands.add_parser("shop", help=_("check what a shop adds to its sheets"))
    for command in (take, shop):
        _add_language(command, _("speak this language, whatever the surroundings ask for"))
    shop.add_argument("folder", type=Path, metavar=_("FOLDER"), help=_("folder with a shop.toml"))
    add_archive_arguments(
        commands.add_parser("archive", help=_("keep sheets, follow them, and find them again"))
    )
    commands.add_parser("schema", help=_("print the JSON Schema of a job file"))
    return parser


def _add_units(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--units",
        choices=sorted(_UNITS),
        help=_("write in these units, whatever the job file says"),
    )


def _add_language(
    command: argparse.ArgumentParser,
    text: str,
    dest: str = "language",
    default: str | None = argparse.SUPPRESS,  # so that a command's leaves the program's alone
) -> None:
    command.add_argument(
        "--language",
        type=_language,
        metavar="{" + ",".join(one.code for one in LANGUAGES) + "}",
        dest=dest,
        default=default,
        help=text,
    )


def _add_output(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "-o",
        "--output",
        type=Path,
        metavar=_("FILE"),
        required=True,
        help=_("PDF file to write"),
    )


def _add_sheet_language(command: argparse.ArgumentParser) -> None:
    _add_language(
        command,
        _("write the sheet in this language, whatever the job file says"),
        dest="sheet_language",
        default=None,
    )


def _language(code: str) -> Language:
    for language in (*LANGUAGES, PSEUDO):
        if language.code == code:
            return language
    raise argparse.ArgumentTypeError(
        _(
            "{code} is no language of the program; accepted: {codes}",
            code=repr(code),
            codes=", ".join(one.code for one in LANGUAGES),
        )
    )


def _asked_first(arguments: Sequence[str]) -> Language | None:
    """Return the language that is asked for anywhere: help and errors come while reading it all."""
    scout = argparse.ArgumentParser(add_help=False, exit_on_error=False)
    scout.add_argument("--language", type=_language)
    try:
        language: Language | None = scout.parse_known_args(arguments)[0].language
    except argparse.ArgumentError:
        return None  # said where everything is read
    return language


def _job(path: Path, units: str | None) -> Job:
    job = load_job(path)
    return job if units is None else job.model_copy(update={"units": _UNITS[units]})


def _shown(plan: Plan, as_json: bool, explain: str | None) -> str:
    if explain is not None:
        return explain_text(plan, explain)
    return plan_json(plan) if as_json else plan_text(plan)


def _tell_stops(plan: Plan, errors: TextIO) -> int:
    """Say what stops the plan; return the exit code."""
    for finding in plan.findings:
        if finding.severity == "stop":
            said = _(
                "stop: {where}: {text} {remedy}",
                where=finding.where,
                text=finding.text,
                remedy=finding.remedy,
            )
            print(said, file=errors)
    return STOPPED if plan.is_stopped else GOOD


def _plan(given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    plan = make_plan(_job(given.job, given.units), load_reference())
    output.write(_shown(plan, given.json, given.explain))
    return _tell_stops(plan, errors)


def _sheet(given: argparse.Namespace, errors: TextIO) -> int:
    # The renderer takes a second to load; only this command waits for it.
    from kerfdocket.sheet import write_sheet

    refuse_itself(given.job, given.output)
    job, reference = _job(given.job, given.units), load_reference()
    language: Language = given.sheet_language or language_named(job.language)
    if given.sheet_language in LANGUAGES:
        # The job that the sheet carries says it, too.
        job = job.model_copy(update={"language": language.code})
    with speaking(language):
        plan = make_plan(job, reference)
    write_sheet(plan, given.output, given.fillable, stated_shop(given.shop))
    if not plan.is_stopped:
        return GOOD
    print(_("{file}: a draft, not for cutting", file=given.output), file=errors)
    # Whoever gives the command may speak another language than the sheet.
    return _tell_stops(make_plan(job, reference), errors)


def _do(given: argparse.Namespace, output: TextIO, errors: TextIO) -> int:
    match given.command:
        case "plan":
            return _plan(given, output, errors)
        case "sheet":
            return _sheet(given, errors)
        case "pack":
            units = _UNITS.get(given.units)
            return run_pack(given, units, errors, given.sheet_language, stated_shop(given.shop))
        case "open":
            text = read_text(given.sheet, given.job)
            if given.output is None:
                output.write(text)
            else:
                refuse_itself(given.sheet, given.output)
                write_atomically(given.output, text.encode())
        case "archive":
            return run_archive(given, output, errors)
        case "shop":
            output.write(shop_text(given.folder))
        case "schema":
            output.write(job_schema())
    return GOOD


def run(
    arguments: Sequence[str],
    open_window: OpenWindow,
    output: TextIO | None = None,
    errors: TextIO | None = None,
) -> int:
    """Run one command, in the language that it asks for or else in the current one.

    Args:
        arguments: what stands behind the program's name.
        open_window: opens the window.
        output: where results go; standard output by default.
        errors: where messages go; standard error by default.

    Returns:
        The exit code.
    """
    output, errors = output or sys.stdout, errors or sys.stderr
    # A library's warnings reach a person as words on standard error, not as a traceback.
    logging.basicConfig(stream=errors, level=logging.WARNING, format="%(name)s: %(message)s")
    with speaking(_asked_first(arguments) or current_language()):
        given = _parser().parse_args(arguments)
    language: Language | None = given.language
    try:
        if given.command in {None, "window"}:
            job: Path | None = getattr(given, "job", None)
            # Not while speaking: the window's own choice must be free to change the language.
            return open_window(job, language.code) if language else open_window(job)
        with speaking(language or current_language()):
            return _do(given, output, errors)
    except KerfdocketError as error:
        print(error, file=errors)
        return BAD_INPUT
