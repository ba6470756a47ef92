"""Stand-ins for planning and sheet, importable in another process; every value is invented."""

import contextlib
import dataclasses
import os
import time
from pathlib import Path

from kerfdocket.errors import InputError
from kerfdocket.job import Job, job_text
from kerfdocket.language import current_language
from kerfdocket.planning.model import Basis, Estimate, Finding, Plan, StageResult
from kerfdocket.quantity import GAUGE_PRESSURE, LENGTH, SPEED
from kerfdocket.window.services import IssueAnswer, IssueOrder

_PATIENCE_S = 120.0  # a test that failed gives no word any more


def pdf_of(*pages: str) -> bytes:
    """Write a PDF with one line of text a page."""
    kids = " ".join(f"{4 + 2 * n} 0 R" for n in range(len(pages)))
    objects = [
        "<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>",
        "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
    ]
    for number, text in enumerate(pages):
        shown = text.replace("\\", "").replace("(", "").replace(")", "")
        stream = f"BT /F1 24 Tf 60 700 Td ({shown}) Tj ET"
        objects.append(
            "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] "
            f"/Resources << /Font << /F1 3 0 R >> >> /Contents {5 + 2 * number} 0 R >>"
        )
        objects.append(f"<< /Length {len(stream)} >>\nstream\n{stream}\nendstream")
    out = b"%PDF-1.4\n"
    places = []
    for number, text in enumerate(objects, start=1):
        places.append(len(out))
        out += f"{number} 0 obj\n{text}\nendobj\n".encode()
    table = "".join(f"{place:010d} 00000 n \n" for place in places)
    size = len(objects) + 1
    trailer = f"trailer\n<< /Size {size} /Root 1 0 R >>\nstartxref\n{len(out)}\n%%EOF\n"
    return out + f"xref\n0 {size}\n0000000000 65535 f \n{table}{trailer}".encode()


def make_plan(job: Job) -> Plan:
    """Make a plan with invented values and a finding of each kind where the job asks for it."""
    basis = Basis(
        "invented for a <test>",
        "no source",
        "derived",
        equation="p = p",
        inputs=(("thickness", str(job.plate.thickness)),),
    )
    guess = Basis("invented", "no source", "common practice, no source")
    estimates = (
        Estimate(
            "setting.cutting_oxygen_pressure",
            "Cutting oxygen pressure",
            GAUGE_PRESSURE,
            "bar",
            3e5,
            2.5e5,
            3.5e5,
            basis,
        ),
        Estimate("setting.fuel_pressure", "Fuel", GAUGE_PRESSURE, "bar", 3e4, 2e4, 5e4, guess),
        Estimate("nozzle.bore", "Nozzle bore", LENGTH, "mm", 1e-3, 1e-3, 1e-3, basis),
        Estimate("cut.speed", "Cutting speed", SPEED, "mm/min", 8e-3, 7e-3, 9e-3, basis),
        Estimate(
            "line.fuel_regulator_pressure",
            "Fuel regulator",
            GAUGE_PRESSURE,
            "bar",
            None,
            None,
            None,
            Basis("withheld: invented reason", "no source", "derived"),
        ),
    )
    findings = [
        Finding("caution", "plate.readings", "no reading stated", "measure it", "no source"),
        Finding("note", "supply", "an invented note", "nothing to do", "no source"),
        Finding("note", "oxygen.hose", "an invented note on the hose", "nothing", "no source"),
        Finding("caution", "parts.0.cut_length", "an invented word", "look", "no source"),
    ]
    if "stainless" in job.plate.grade:
        findings.append(
            Finding("stop", "plate.grade", "cannot be cut", "take another way", "no source")
        )
    return Plan(job=job, stages=(StageResult("all", estimates, tuple(findings)),))


def make_plan_as_spoken(job: Job) -> Plan:
    """Make a plan that knows its language, as the program's own does."""
    return dataclasses.replace(make_plan(job), language=current_language().code)


def make_sheet_that_names_its_language(plan: Plan) -> bytes:
    """Make a sheet that says which language its plan is in."""
    return pdf_of(f"in {plan.language}")


def text_of_plan(plan: Plan) -> str:
    """What the invented sheet says."""
    draft = " NOT FOR CUTTING" if plan.is_stopped else ""
    return f"{plan.job.about.number} {plan.job.plate.thickness} {plan.job.fuel.gas}{draft}"


def make_sheet(plan: Plan) -> bytes:
    """Make a sheet of two pages."""
    return pdf_of(f"front {text_of_plan(plan)}", f"back {text_of_plan(plan)}")


def _wait_for_the_word(gate: Path) -> None:
    end = time.monotonic() + _PATIENCE_S
    while not (gate / "go").exists():
        if time.monotonic() > end:
            raise TimeoutError("nobody gave the word to go on")
        time.sleep(0.005)


def make_sheet_when_told(gate: Path, plan: Plan) -> bytes:
    """Say in which process and which job this is for, then wait for the word to go on."""
    (gate / "process").write_text(str(os.getpid()))
    with (gate / "begun").open("a") as file:
        file.write(f"{plan.job.about.number}\n")
    _wait_for_the_word(gate)
    return make_sheet(plan)


def crash_once(mark: Path, plan: Plan) -> bytes:
    """Die without a word the first time."""
    if not mark.exists():
        mark.touch()
        os._exit(7)
    return make_sheet(plan)


def crash_while_forbidden(mark: Path, plan: Plan) -> bytes:
    """Die as long as the mark is there."""
    if mark.exists():
        os._exit(7)
    return make_sheet(plan)


def refuse(_plan: Plan) -> bytes:
    """Fail in words."""
    raise InputError("an invented reason why there is no sheet")


def refuse_while(mark: Path, plan: Plan) -> bytes:
    """Fail in words as long as the mark is there."""
    return refuse(plan) if mark.exists() else make_sheet(plan)


def stumble(_plan: Plan) -> bytes:
    """Fail as a fault of the program does."""
    with contextlib.suppress(ValueError):
        int("")
    raise LookupError("an invented fault")


def issue_in_archive(order: IssueOrder) -> IssueAnswer:
    """Keep an invented sheet in the archive that is meant, as issuing does."""
    # Here, as the database's library takes long to load and most tests need none.
    from kerfdocket.archive import IssuedSheet, issue_draft, open_archive, reissue_draft

    with contextlib.closing(open_archive(order.place)) as archive:
        number, revision = order.job.about.number, order.revision or "A"
        if "?" in number:
            number = archive.reserve(number, order.who)
        elif order.reason and not order.revision:
            revision = archive.next_revision(number)
        about = order.job.about.model_copy(update={"number": number, "revision": revision})
        job = order.job.model_copy(update={"about": about})
        # Unlike what is drawn to be looked at, so that a test can tell them apart.
        pdf = pdf_of(f"issued {number} {revision} {job.plate.thickness}", order.reason)
        facts = {"title": about.title}
        sheet = IssuedSheet(job_text=job_text(job), plan_text="{}", pdf=pdf, facts=facts)
        if order.reason and order.draft is not None:
            kept = reissue_draft(
                archive, order.draft, number, revision, sheet, order.who, order.reason
            )
        elif order.reason:
            kept = archive.reissue(number, revision, sheet, order.who, order.reason)
        elif order.draft is not None:
            kept = issue_draft(archive, order.draft, number, sheet, order.who)
        else:
            kept = archive.issue(number, sheet, order.who)
    return IssueAnswer(kept, pdf)


def issue_when_told(gate: Path, order: IssueOrder) -> IssueAnswer:
    """Say that it begins, then wait for the word to go on."""
    (gate / "issuing").touch()
    _wait_for_the_word(gate)
    return issue_in_archive(order)


def issue_and_die(order: IssueOrder) -> IssueAnswer:
    """Keep the sheet and die before anyone hears of it."""
    issue_in_archive(order)
    os._exit(7)
