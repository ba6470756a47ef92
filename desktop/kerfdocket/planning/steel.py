"""Stage 2: can oxygen cut this steel, and how warm should it be."""

from dataclasses import dataclass

from kerfdocket.job import Composition as Certificate
from kerfdocket.job import Job
from kerfdocket.language import _, decimal_text, marked
from kerfdocket.physics.steel import (
    Composition,
    carbon_equivalent_iiw,
    cutting_preheat_k,
)
from kerfdocket.planning.keys import Span, estimate, from_stated, none_needed, withheld
from kerfdocket.planning.model import Basis, Estimate, Finding, StageResult, least
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.sources import NO_SOURCE
from kerfdocket.reference import Reference
from kerfdocket.reference.steels import Grade
from kerfdocket.reference.table import general_text, join_sources

__all__ = ["SteelResult", "plan_steel"]

_ELEMENTS = tuple(Certificate.model_fields)
_ROOM_TEMPERATURE_K = 293.15  # a preheat below it asks for nothing
_PREHEAT_SOURCE = "Polish welding textbook, 11.2, p. 221"
_EASY_CARBON_PERCENT = 0.4  # the same textbook: no difficulty up to 0.4 % C, above it preheat
_MOST_CARBON_PERCENT = 2.0  # of steel: EN 10020:2000, from memory
_HEAT_SENSITIVE = {"quenched and tempered", "wear-resistant"}


@dataclass(frozen=True)
class SteelResult(StageResult):
    """Attributes:
    is_cuttable: False if oxygen cannot cut it, or nobody can tell; no setting is given then.
    preheat_k: temperature that the plate should have, None if none is asked for. [K]
    """

    is_cuttable: bool = False
    preheat_k: float | None = None


def plan_steel(job: Job, reference: Reference, plate: PlateResult) -> SteelResult:
    """Judge the grade.

    Args:
        job: the job.
        reference: the tables.
        plate: the plate stage.

    Returns:
        Whether it can be cut, carbon equivalent, preheat, and what speaks against it.
    """
    findings: list[Finding] = []
    grade = reference.grade(job.plate.grade, plate.chart_thickness_m)
    certificate = job.plate.certificate
    if grade is not None and not grade.cuttable:
        findings.append(
            Finding(
                "stop",
                "plate.grade",
                _(
                    "{grade} cannot be cut with a flame and oxygen. {reason}",
                    grade=job.plate.grade,
                    reason=_(grade.reason),
                ),
                _("Use another process, or correct the grade."),
                grade.source,
            )
        )
        return _not_cuttable(
            findings, _("{grade} cannot be cut with oxygen", grade=job.plate.grade)
        )
    if grade is None and certificate is None:
        findings.append(
            Finding(
                "stop",
                "plate.grade",
                _(
                    "The grade {grade} is not in the tables, so nothing says that oxygen can cut "
                    "it.",
                    grade=repr(job.plate.grade),
                ),
                _(
                    "Correct the designation, or enter the analysis of the mill certificate under "
                    "plate.certificate. Known: {names} ...",
                    names=", ".join(reference.grade_names()[:12]),
                ),
                marked("tables of this program"),
            )
        )
        return _not_cuttable(findings, _("the grade is not known"))
    if grade is None:
        findings.append(
            Finding(
                "caution",
                "plate.grade",
                _(
                    "The grade {grade} is not in the tables; it is judged by the mill certificate "
                    "alone.",
                    grade=repr(job.plate.grade),
                ),
                _("Have a qualified person confirm that it may be flame-cut."),
                marked("the planner's certificate"),
            )
        )
    if certificate is not None:
        contents = {name: getattr(certificate, name) for name in _ELEMENTS}
        contents = {name: share for name, share in contents.items() if share > 0}
    else:
        contents = dict(grade.maximum_percent) if grade else {}
    stopped = _judge_elements(reference, contents, certificate, findings)
    equivalent = _carbon_equivalent(certificate, grade)
    if stopped:
        return _not_cuttable(findings, _("the steel is not to be cut with oxygen"))
    preheat, preheat_k = _preheat(
        job, equivalent, contents.get("carbon", 0.0), grade.family if grade else "", findings
    )
    if preheat_k is not None:
        findings.append(
            Finding(
                "caution",
                "plate.preheat",
                _(
                    "Preheat the plate to {temperature} before cutting, and keep it there.",
                    temperature=job.unit_system.temperature(preheat_k),
                ),
                _(
                    "Check with a contact thermometer or a temperature crayon beside the cut; "
                    "have the procedure confirmed by a qualified person."
                ),
                preheat.basis.source,
            )
        )
    return SteelResult(
        name="steel",
        estimates=(equivalent, preheat, _edge_hardness()),
        findings=tuple(findings),
        is_cuttable=True,
        preheat_k=preheat_k,
    )


def _not_cuttable(findings: list[Finding], reason: str) -> SteelResult:
    keys = ("steel.carbon_equivalent", "steel.preheat", "steel.edge_hardness")
    return SteelResult("steel", tuple(withheld(key, reason) for key in keys), tuple(findings))


def _judge_elements(
    reference: Reference,
    contents: dict[str, float],
    certificate: Certificate | None,
    findings: list[Finding],
) -> bool:
    """Add a finding for each limit that is passed; return whether one forbids cutting."""
    known = _("by the certificate") if certificate else _("at the grade's upper limit")
    where = "plate.certificate" if certificate else "plate.grade"
    stopped = contents.get("carbon", 0.0) > _MOST_CARBON_PERCENT
    if stopped:
        findings.append(
            Finding(
                "stop",
                where,
                _(
                    "{share} % carbon {known}: above {limit} % it is cast iron, which does not "
                    "burn in oxygen before it melts.",
                    share=general_text(contents["carbon"]),
                    known=known,
                    limit=general_text(_MOST_CARBON_PERCENT),
                ),
                _("Check the certificate for a slip; use another process for cast iron."),
                marked("EN 10020:2000 (from memory)"),
            )
        )
    for limit in reference.steels.limits:
        share = contents.get(limit.element, 0.0)
        if share <= limit.limit_percent or not limit.kind.endswith("above"):
            continue
        forbids = limit.kind in {"very hard above", "impossible above"}
        stopped = stopped or forbids
        findings.append(
            Finding(
                "stop" if forbids else "caution",
                where,
                _(
                    "{share} % {element} {known}: {meaning} ({limit} %).",
                    share=general_text(share),
                    element=_(limit.element),
                    known=known,
                    meaning=_(limit.meaning),
                    limit=general_text(limit.limit_percent),
                ),
                _("Use another process.")
                if forbids
                else _("Preheat, cut slowly and let the edge cool slowly; try on a scrap piece."),
                limit.source,
            )
        )
    return stopped


def _carbon_equivalent(certificate: Certificate | None, grade: Grade | None) -> Estimate:
    key = "steel.carbon_equivalent"
    equation = "CE = C + Mn/6 + (Cr + Mo + V)/5 + (Ni + Cu)/15"
    if certificate is not None and certificate.carbon > 0:
        composition = Composition(**{name: getattr(certificate, name) for name in _ELEMENTS})
        value = carbon_equivalent_iiw(composition) / 100.0
        inputs = tuple(
            (_(name), f"{general_text(getattr(certificate, name))} %")
            for name in _ELEMENTS
            if getattr(certificate, name) > 0
        )
        basis = Basis(
            _("From the mill certificate; elements that it does not list count as none."),
            "International Institute of Welding; EN 10025-1",
            "from memory",
            equation,
            inputs,
        )
        return estimate(key, Span.exact(value), basis)
    if grade is not None and grade.cev_max_percent is not None:
        basis = Basis(
            _("Upper limit of the grade at this thickness; the certificate's value is lower."),
            grade.cev_source,
            grade.cev_trust or "from memory",
        )
        return estimate(key, Span.exact(grade.cev_max_percent / 100.0), basis)
    if grade is None or "carbon" not in grade.maximum_percent:
        return withheld(key, _("no analysis is known for this grade; enter the mill certificate"))
    maxima = {name: grade.maximum_percent.get(name, 0.0) for name in _ELEMENTS}
    basis = Basis(
        _(
            "From the upper limits of all elements at once, which overstates it; the certificate's "
            "value is lower."
        ),
        grade.composition_source,
        grade.composition_trust or "from memory",
        equation,
        tuple((_(name), f"{general_text(share)} %") for name, share in maxima.items() if share > 0),
    )
    value = carbon_equivalent_iiw(Composition(**maxima)) / 100.0
    return estimate(key, Span.exact(value), basis)


def _preheat(
    job: Job, equivalent: Estimate, carbon: float, family: str, findings: list[Finding]
) -> tuple[Estimate, float | None]:
    """Preheat by what the procedure says, else by rule where the rule is any good."""
    key = "steel.preheat"
    if job.plate.preheat is not None:
        stated_k = job.plate.preheat.si
        return from_stated(key, stated_k, _("preheat of a procedure")), stated_k
    if family in _HEAT_SENSITIVE:
        findings.append(
            Finding(
                "caution",
                "plate.preheat",
                _(
                    "A {family} steel can need preheat, and too much heat softens it; no rule at "
                    "hand gives the temperature.",
                    family=_(family),
                ),
                _("Take it from the plate maker's instructions and enter it as preheat."),
                NO_SOURCE,
            )
        )
        reason = _("{family}: the plate maker's instructions say it", family=_(family))
        return withheld(key, reason), None
    if equivalent.value_si is None:
        findings.append(
            Finding(
                "note",
                "plate.certificate",
                _("Without an analysis nothing can be said about preheat."),
                _("Enter the mill certificate, or the preheat that a procedure asks for."),
                "tables of this program",
            )
        )
        return withheld(key, _("no carbon equivalent is known")), None
    percent = equivalent.value_si * 100.0
    try:
        temperature_k = cutting_preheat_k(percent)
    except ValueError:
        temperature_k = None
    if carbon > _EASY_CARBON_PERCENT and temperature_k is None:
        findings.append(
            Finding(
                "caution",
                "plate.preheat",
                _(
                    "A carbon equivalent of {equivalent} % is outside what the rule for preheat "
                    "is good for.",
                    equivalent=decimal_text(percent, 2),
                ),
                _("Have a qualified person give the preheat, and enter it."),
                _PREHEAT_SOURCE,
            )
        )
        return withheld(key, _("the carbon equivalent is outside the rule")), None
    if (
        temperature_k is None
        or carbon <= _EASY_CARBON_PERCENT
        or temperature_k <= _ROOM_TEMPERATURE_K
    ):
        reason = _(
            "none: {share} % carbon at the most cuts without difficulty (limit {limit} %; "
            "{source})",
            share=general_text(carbon),
            limit=general_text(_EASY_CARBON_PERCENT),
            source=_PREHEAT_SOURCE,
        )
        return none_needed(key, reason), None
    basis = Basis(
        _("Preheat before thermal cutting, an orientation: have it confirmed."),
        join_sources(_PREHEAT_SOURCE, marked("which carbon equivalent it means is unclear")),
        least("published", equivalent.basis.trust),
        "T = 900 °C/% · CE − 350 °C",
        (("CE", f"{decimal_text(percent, 2)} %"),),
    )
    return estimate(key, Span.exact(temperature_k), basis), temperature_k


def _edge_hardness() -> Estimate:
    return withheld(
        "steel.edge_hardness",
        _(
            "not estimated in this version: the formulas at hand are for welds; where hardness is "
            "limited, test a cut piece"
        ),
    )
