"""The commands: what the window does, without a window.

Exit codes: 0 good, 1 the plan has a stop finding, 2 bad input or something in the way.
"""

import argparse
import logging
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TextIO

from kerfdocket import __version__
from kerfdocket.command.codes import BAD_INPUT, GOOD, STOPPED
from kerfdocket.command.pack import add_pack_command, run_pack
from kerfdocket.command.report import explain_text, plan_text
from kerfdocket.errors import KerfdocketError
from kerfdocket.job import job_schema, load_job, read_text
from kerfdocket.planning import Plan, make_plan, plan_json
from kerfdocket.reference import load_reference
from kerfdocket.storage import write_atomically

__all__ = ["BAD_INPUT", "GOOD", "STOPPED", "run"]

_UNITS = {"metric": "metric", "us": "US customary"}

OpenWindow = Callable[[Path | None], int]


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="kerfdocket",
        description="Prepares oxy-fuel cutting jobs and prints their travellers.",
        epilog="Exit codes: 0 good, 1 the plan has a stop finding, 2 bad input.",
    )
    parser.add_argument("--version", action="version", version=f"kerfdocket {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")
    window = commands.add_parser("window", help="open the window (also without any command)")
    window.add_argument("job", nargs="?", type=Path, help="job file to open")
    plan = commands.add_parser("plan", help="work out a job and print the plan")
    plan.add_argument("job", type=Path, help="job file, or a sheet's PDF")
    _add_units(plan)
    form = plan.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="as JSON, for programs")
    form.add_argument(
        "--explain", metavar="KEY", help="how one value was got, such as cut.speed (keys: --json)"
    )
    sheet = commands.add_parser("sheet", help="make the printed sheet of a job")
    sheet.add_argument("job", type=Path, help="job file")
    _add_units(sheet)
    sheet.add_argument("--fillable", action="store_true", help="with fields to fill in on a screen")
    sheet.add_argument("-o", "--output", type=Path, required=True, help="PDF file to write")
    _add_units(add_pack_command(commands))
    take = commands.add_parser("open", help="take the job file out of a printed sheet's PDF")
    take.add_argument("sheet", type=Path, help="PDF that the program made")
    take.add_argument("-o", "--output", type=Path, help="job file to write; else it is printed")
    commands.add_parser("schema", help="print the JSON Schema of a job file")
    return parser


def _add_units(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--units", choices=sorted(_UNITS), help="write in these units, whatever the job file says"
    )


def _plan(path: Path, units: str | None) -> Plan:
    job = load_job(path)
    if units is not None:
        job = job.model_copy(update={"units": _UNITS[units]})
    return make_plan(job, load_reference())


def _shown(plan: Plan, as_json: bool, explain: str | None) -> str:
    if explain is not None:
        return explain_text(plan, explain)
    return plan_json(plan) if as_json else plan_text(plan)


def _tell_stops(plan: Plan, errors: TextIO) -> int:
    """Say what stops the plan; return the exit code."""
    for finding in plan.findings:
        if finding.severity == "stop":
            print(f"stop: {finding.where}: {finding.text} {finding.remedy}", file=errors)
    return STOPPED if plan.is_stopped else GOOD


def _sheet(job: Path, units: str | None, output: Path, is_fillable: bool, errors: TextIO) -> int:
    # The renderer takes a second to load; only this command waits for it.
    from kerfdocket.sheet import write_sheet

    plan = _plan(job, units)
    write_sheet(plan, output, is_fillable)
    if plan.is_stopped:
        print(f"{output}: a draft, not for cutting", file=errors)
    return _tell_stops(plan, errors)


def run(
    arguments: Sequence[str],
    open_window: OpenWindow,
    output: TextIO | None = None,
    errors: TextIO | None = None,
) -> int:
    """Run one command.

    Args:
        arguments: what stands behind the program's name.
        open_window: opens the window with a job file or empty, returns its exit code.
        output: where results go; standard output by default.
        errors: where messages go; standard error by default.

    Returns:
        The exit code.
    """
    output, errors = output or sys.stdout, errors or sys.stderr
    # A library's warnings reach a person as words on standard error, not as a traceback.
    logging.basicConfig(stream=errors, level=logging.WARNING, format="%(name)s: %(message)s")
    given = _parser().parse_args(arguments)
    try:
        match given.command:
            case "plan":
                plan = _plan(given.job, given.units)
                output.write(_shown(plan, given.json, given.explain))
                return _tell_stops(plan, errors)
            case "sheet":
                return _sheet(given.job, given.units, given.output, given.fillable, errors)
            case "pack":
                return run_pack(given, _UNITS.get(given.units), errors)
            case "open":
                text = read_text(given.sheet)
                if given.output is None:
                    output.write(text)
                else:
                    write_atomically(given.output, text.encode())
                return GOOD
            case "schema":
                output.write(job_schema())
                return GOOD
            case _:
                return open_window(getattr(given, "job", None))
    except KerfdocketError as error:
        print(error, file=errors)
        return BAD_INPUT
