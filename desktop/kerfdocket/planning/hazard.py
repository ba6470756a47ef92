"""Stage 10: what can hurt someone at this job, from its own facts."""

from collections.abc import Iterable
from dataclasses import dataclass

from kerfdocket.job import Job
from kerfdocket.language import _, marked
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.model import Caution, Finding, Protection, Sign, StageResult
from kerfdocket.planning.plate import PlateResult
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.sources import NO_SOURCE
from kerfdocket.planning.steel import SteelResult
from kerfdocket.reference import Reference
from kerfdocket.reference.protection import FilterShade
from kerfdocket.reference.table import join_sources

__all__ = ["HazardResult", "plan_hazard"]

_HEAVY_KG = 25.0  # more than one person lifts: common practice, no source
_LONG_S = 1800.0  # half an hour on the flame: common practice, no source
_SURFACE = {
    "primer": "coated: primer",
    "paint": "coated: paint",
    "zinc": "coated: zinc",
    "oil": "coated: oil",
}


@dataclass(frozen=True)
class HazardResult(StageResult):
    """Attributes:
    cautions: what can hurt, the job's own facts before what holds for every job.
    protections: what to wear.
    signs: safety signs for both.
    """

    cautions: tuple[Caution, ...] = ()
    protections: tuple[Protection, ...] = ()
    signs: tuple[Sign, ...] = ()


def plan_hazard(
    job: Job,
    reference: Reference,
    plate: PlateResult,
    steel: SteelResult,
    setting: SettingResult,
    cut: CutResult,
) -> HazardResult:
    """Choose cautions and protective equipment by the job's facts.

    Args:
        job: the job.
        reference: the tables.
        plate: the plate stage.
        steel: the steel stage.
        setting: the setting stage.
        cut: the cut stage.

    Returns:
        Cautions, protective equipment and the safety signs for both.
    """
    facts = _facts(job, reference, plate, steel, cut)
    rows = list(reference.hazards_for(facts))
    # What is special here comes before what is always true and so is read past.
    rows.sort(key=lambda row: (row.severity != "caution", "always" in row.when))
    cautions = tuple(
        Caution(
            row.key,
            row.severity,
            _(row.title),
            _(row.text),
            _(row.action),
            row.source,
            row.trust,
            row.covered,
        )
        for row in rows
    )
    to_wear = reference.protective_for(facts)
    protections = (
        *_shades(reference, plate, setting),
        *(Protection(_(row.item), _(row.text), row.source, row.trust) for row in to_wear),
    )
    findings: list[Finding] = []
    if job.site.closed_container:
        findings.append(
            Finding(
                "stop",
                "site.closed_container",
                _("Work on a container that held something: cutting it can kill."),
                _(
                    "Only after a qualified person has cleaned, tested and released it in "
                    "writing; then plan it as an open part."
                ),
                NO_SOURCE,
            )
        )
    if job.site.place == "confined space":
        findings.append(
            Finding(
                "caution",
                "site.place",
                _("Confined space: this sheet does not replace the entry permit."),
                _(
                    "Permit, watcher outside, forced ventilation and gas tests before and during "
                    "work; cylinders stay outside."
                ),
                join_sources("29 CFR 1910.252(c)", marked("local rules come first")),
            )
        )
    signs = _signs(job, reference, [row.key for row in rows], [row.item for row in to_wear])
    return HazardResult("hazard", (), tuple(findings), cautions, protections, signs)


def _facts(
    job: Job, reference: Reference, plate: PlateResult, steel: SteelResult, cut: CutResult
) -> frozenset[str]:
    facts = {"always", job.fuel.gas, job.torch.kind}
    heavier = reference.gas(job.fuel.gas).heavier_than_air
    if heavier is not None:
        facts.add("fuel heavier than air" if heavier else "fuel lighter than air")
    facts.add({"confined space": "confined"}.get(job.site.place, job.site.place))
    if job.site.closed_container:
        facts.add("closed container")
    if job.plate.surface in _SURFACE:
        facts.add(_SURFACE[job.plate.surface])
    if (plate["plate.mass"].value_si or 0.0) > _HEAVY_KG:
        facts.add("heavy part")
    if steel.preheat_k is not None:
        facts.add("preheat")
    if cut.pierces:
        facts.add("pierce")
    if (cut["cut.flame_time"].value_si or 0.0) > _LONG_S:
        facts.add("long job")
    return frozenset(facts)


def _signs(
    job: Job, reference: Reference, cautions: Iterable[str], items: Iterable[str]
) -> tuple[Sign, ...]:
    """Return the signs that keys of hazards and protective equipment call for."""
    if job.oxygen.comes_from_main and job.fuel.comes_from_main:
        # A sign for what is not there teaches to look past.
        cautions = set(cautions) - {"cylinder-upright"}
    return tuple(
        Sign(row.sign, _(row.referent), _(row.condition), row.source, row.trust)
        for row in reference.signs_for(cautions, items)
    )


def _shades(reference: Reference, plate: PlateResult, setting: SettingResult) -> list[Protection]:
    shades = reference.filter_shades(
        plate.thickness_m, setting["setting.cutting_oxygen_flow"].value_si
    )
    return [
        Protection(_("Filter shade"), _shade_text(one), one.source, one.trust) for one in shades
    ]


def _shade_text(shade: FilterShade) -> str:
    low, high, rule = shade.shade_low, shade.shade_high, shade.rule
    if low == high:
        return f"{low} ({rule})"
    return _("{low} to {high} ({rule})", low=low, high=high, rule=rule)
