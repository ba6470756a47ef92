"""What follows from a job: estimates with their basis, findings, cautions and steps."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal, Self

from kerfdocket.job import Job
from kerfdocket.language import ENGLISH, _, decimal_text, marked
from kerfdocket.quantity import (
    COUNT,
    METRIC,
    MONEY,
    US_CUSTOMARY,
    Kind,
    UnitSystem,
    number_text,
    printed_unit,
)
from kerfdocket.reference.table import TRUST_ORDER, said_source

__all__ = [
    "SHOWN_KEYS",
    "Assumed",
    "Basis",
    "Caution",
    "ChangeCause",
    "ChangeOver",
    "Estimate",
    "Finding",
    "Plan",
    "Protection",
    "Severity",
    "Sign",
    "Spell",
    "StageResult",
    "Step",
    "SupplyLine",
    "Trust",
    "least",
    "said_source",
]

Trust = Literal[
    "stated",
    "published",
    "derived",
    "published, second-hand",
    "from memory",
    "common practice, no source",
]
Severity = Literal["stop", "caution", "note"]
ChangeCause = Literal["at the reserve", "nearly empty", "empty", "too cold"]
_WHOLE_MONEY = 20.0  # above it whole units are written: common practice, no source
_TRUST_ORDER: tuple[Trust, ...] = ("stated", *TRUST_ORDER)
# Trust, severity and the stages' names are keys, said with `_` where they are shown.
SHOWN_KEYS = frozenset(
    {
        marked("stated"),
        marked("published"),
        marked("derived"),
        marked("published, second-hand"),
        marked("from memory"),
        marked("common practice, no source"),
        marked("stop"),
        marked("caution"),
        marked("note"),
        marked("plate"),
        marked("steel"),
        marked("nozzle"),
        marked("setting"),
        marked("line"),
        marked("cut"),
        marked("use"),
        marked("supply"),
        marked("quality"),
        marked("hazard"),
        marked("steps"),
        marked("cost"),
    }
)


def least(*trusts: Trust) -> Trust:
    """Return the weakest of several trusts: a result stands no firmer than its weakest input."""
    return max(trusts, key=_TRUST_ORDER.index)


@dataclass(frozen=True)
class Basis:
    """How a value was got.

    Attributes:
        text: in a sentence, for a person.
        source: publication, or `derived`, or what stands for a source.
        trust: how firm it stands, weakest input included.
        equation: in plain symbols, where one was used.
        inputs: (name, value with unit) of what went in.
    """

    text: str
    source: str
    trust: Trust
    equation: str = ""
    inputs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Estimate:
    """A value with its range and basis, or the reason why it is withheld.

    Attributes:
        key: `stage.name`, such as `cut.speed`; stable, for programs.
        label: what a sheet or screen calls it.
        kind: what is measured.
        unit: the unit it is written in, one of `kind.units`; for money the currency.
        value_si: best value in `kind.si_unit`, for gas kinds as mass [kg] or [kg/s]; None if
            withheld.
        low_si, high_si: the range that it may lie in, same unit.
        basis: how it was got; for a withheld value why it is.
        gas_density_kg_m3: for gas kinds, at 15 °C and 1 bar absolute. [kg/m3]
        is_none_needed: True for what has no value because none is called for, which is no gap.
    """

    key: str
    label: str
    kind: Kind
    unit: str
    value_si: float | None
    low_si: float | None
    high_si: float | None
    basis: Basis
    gas_density_kg_m3: float | None = None
    is_none_needed: bool = False

    def __post_init__(self) -> None:
        if self.is_none_needed and self.value_si is not None:
            raise ValueError(f"{self.key}: what is not needed has no value")
        if self.value_si is None or self.low_si is None or self.high_si is None:
            if (self.value_si, self.low_si, self.high_si) != (None, None, None):
                raise ValueError(f"{self.key}: a withheld value has no range")
        elif not self.low_si <= self.value_si <= self.high_si:
            raise ValueError(
                f"{self.key}: {self.low_si} <= {self.value_si} <= {self.high_si} does not hold"
            )

    def shown_in(self, units: UnitSystem) -> "Estimate":
        """Return the same value written in a system's unit; money and plain numbers stay."""
        return replace(self, unit=units.unit(self.unit, self.kind))

    @property
    def is_withheld(self) -> bool:
        """True where there is no value: none that could be trusted, or none that is needed.

        `basis.text` is the reason.
        """
        return self.value_si is None

    @property
    def is_unverified(self) -> bool:
        """True for what no source was opened for: not to be used as an instruction as it is."""
        return self.basis.trust in {"from memory", "common practice, no source"}

    def _in_unit(self, value: float | None) -> float | None:
        if value is None:
            return None
        if self.gas_density_kg_m3 is not None:
            value = value / self.gas_density_kg_m3
        # A currency is no unit that anything here converts.
        return value if self.kind is MONEY else self.kind.from_si(value, self.unit)

    def number_text(self, number: float) -> str:
        """Write a number in `unit` with the digits that it can bear, without the unit."""
        if self.kind is COUNT:
            return decimal_text(number)
        if self.kind is MONEY:
            return decimal_text(number, 2 if abs(number) < _WHOLE_MONEY else 0)
        return number_text(number, self.unit)

    @property
    def unit_text(self) -> str:
        """The unit as it is printed; empty for plain numbers."""
        return printed_unit(self.unit)

    @property
    def gas_reference(self) -> str:
        """The state that a gas volume or flow is meant at; empty for all else."""
        if self.gas_density_kg_m3 is None:
            return ""
        return (US_CUSTOMARY if self.unit in METRIC.foreign else METRIC).gas_reference

    @property
    def stated_text(self) -> str:
        """The same as `value_text`; a gas volume or flow with its state, for where it is alone."""
        if self.value is None or not self.gas_reference:
            return self.value_text
        return _("{amount} at {state}", amount=self.value_text, state=self.gas_reference)

    @property
    def value_text(self) -> str:
        """Best value with its unit; a dash where it is withheld."""
        if self.value is None:
            return "—"
        return f"{self.number_text(self.value)} {self.unit_text}".strip()

    @property
    def range_text(self) -> str:
        """The range without its unit, empty where there is none worth showing."""
        if self.low is None or self.high is None:
            return ""
        low, high = self.number_text(self.low), self.number_text(self.high)
        if low == high:
            return ""
        # A dash beside a minus would read as another minus.
        if "−" in low + high:
            return _("{low} to {high}", low=low, high=high)
        return f"{low}–{high}"

    @cached_property
    def value(self) -> float | None:
        """Best value in `unit`; gas volumes at 15 °C and 1 bar absolute."""
        return self._in_unit(self.value_si)

    @cached_property
    def low(self) -> float | None:
        """Lower end of the range in `unit`."""
        return self._in_unit(self.low_si)

    @cached_property
    def high(self) -> float | None:
        """Upper end of the range in `unit`."""
        return self._in_unit(self.high_si)


@dataclass(frozen=True)
class Finding:
    """Something the planner must know.

    Attributes:
        severity: `stop` (not for cutting), `caution` (look at it) or `note`.
        where: path of a job field such as `plate.readings`, or the name of a stage.
        text: what is the matter.
        remedy: what would put it right.
        source: publication or what stands for it.
    """

    severity: Severity
    where: str
    text: str
    remedy: str
    source: str


@dataclass(frozen=True)
class Caution:
    """What can hurt someone at this job, and what to do about it.

    Attributes:
        key: of its row in `tables/hazards`.
        title: a few words that say what to do by themselves.
        text: what can hurt.
        what_to_do: the whole of it.
        covered: `steps` or `equipment` where those already say it, else empty.
    """

    key: str
    severity: Severity
    title: str
    text: str
    what_to_do: str
    source: str
    trust: Trust
    covered: str = ""


@dataclass(frozen=True)
class Protection:
    """Something to wear or to have at hand."""

    item: str
    text: str
    source: str
    trust: Trust


@dataclass(frozen=True)
class Sign:
    """A registered safety sign that a caution or something to wear calls for.

    Attributes:
        number: in ISO 7010, such as `W021`.
        meaning: what it says.
        condition: when it holds; empty if it always does.
    """

    number: str
    meaning: str
    condition: str
    source: str
    trust: Trust


@dataclass(frozen=True)
class Step:
    """One step of the work, with this job's values in it.

    Attributes:
        group: heading that it stands under, such as `Light`.
        text: what to do.
        why: the reason, for who asks.
    """

    group: str
    text: str
    why: str


@dataclass(frozen=True)
class SupplyLine:
    """One kind of cylinder on hand, as the sheet lists it."""

    gas: str
    count: int
    text: str
    content: Estimate
    is_assumed: bool


@dataclass(frozen=True)
class Spell:
    """The time in which one cylinder, bundle or group side by side gives the gas.

    Attributes:
        gas: the gas's name.
        names: of the cylinders that are open together, such as `1` or `2 and 3`.
        text: what each of them is.
        begins_s: time on the clock at which they are opened. [s]
        ends_s: time at which they are changed over, or the job's end, with its range. [s]
        holds_kg: usable gas in all of them at the begin. [kg]
        gives_kg: what is taken from them. [kg]
        left_text: what gauge or scale shows at the end.
        is_changed: True if another has to take over; False where they last to the end.
        reason: why they are changed, in words.
        cause: the same as a key; None where they last to the end.
    """

    gas: str
    names: tuple[str, ...]
    text: str
    begins_s: float
    ends_s: tuple[float, float, float]
    holds_kg: float
    gives_kg: float
    left_text: str
    is_changed: bool
    reason: str
    cause: ChangeCause | None = None


@dataclass(frozen=True)
class ChangeOver:
    """The order in which the cylinders of one gas are emptied, and when they are changed.

    Attributes:
        gas: the gas's name.
        spells: one after the other.
        unused: names of those that need not be opened.
        ends_s: when the job ends on the clock. [s]
        missing_kg: what they lack for the job, 0 where they last. [kg]
        gas_density_kg_m3: at 15 °C and 1 bar absolute. [kg/m3]
    """

    gas: str
    spells: tuple[Spell, ...]
    unused: tuple[str, ...]
    ends_s: float
    missing_kg: float
    gas_density_kg_m3: float

    @property
    def is_side_by_side(self) -> bool:
        """True where several are open together at some time, and so change together."""
        return any(len(spell.names) > 1 for spell in self.spells)


@dataclass(frozen=True)
class Assumed:
    """A default that stands in for something the planner did not state."""

    where: str
    label: str
    value: str


@dataclass(frozen=True)
class StageResult:
    """What one stage found.

    Attributes:
        name: of the stage.
        estimates: its values, in the order in which they are shown.
        findings: what it has to say.
    """

    name: str
    estimates: tuple[Estimate, ...] = ()
    findings: tuple[Finding, ...] = ()

    def shown_in(self, units: UnitSystem) -> Self:
        """Return the same with its values written in a system's units."""
        return replace(
            self, estimates=tuple(estimate.shown_in(units) for estimate in self.estimates)
        )

    def __getitem__(self, key: str) -> Estimate:
        """Return the estimate of a full key such as `plate.mass`; KeyError if there is none."""
        for estimate in self.estimates:
            if estimate.key == key:
                return estimate
        raise KeyError(key)


@dataclass(frozen=True)
class Plan:
    """All that follows from a job.

    Attributes:
        job: what it follows from.
        stages: the twelve stages' results in order.
        nozzle_name: key and set of the chosen nozzle, or empty.
        nozzle_text: what the cutter reads off it, or why there is none.
        supplies: the cylinders on hand.
        change_overs: in which order they are emptied; only of gases from cylinders.
        cautions: worst first.
        protections: what to wear.
        signs: safety signs for both, warnings first.
        steps: the work in order.
        assumed: every default that was used.
        program_version: of the program that made it.
        language: code of the language that its texts are in.
    """

    job: Job
    stages: tuple[StageResult, ...]
    nozzle_name: str = ""
    nozzle_text: str = ""
    supplies: tuple[SupplyLine, ...] = ()
    change_overs: tuple[ChangeOver, ...] = ()
    cautions: tuple[Caution, ...] = ()
    protections: tuple[Protection, ...] = ()
    signs: tuple[Sign, ...] = ()
    steps: tuple[Step, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    program_version: str = field(default="")
    language: str = ENGLISH.code

    @cached_property
    def estimates(self) -> dict[str, Estimate]:
        """All estimates by key, in the order of the stages."""
        return {e.key: e for stage in self.stages for e in stage.estimates}

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, stops first, otherwise in the order of the stages."""
        order = ("stop", "caution", "note")
        found: Iterable[Finding] = (f for stage in self.stages for f in stage.findings)
        return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))

    @property
    def is_stopped(self) -> bool:
        """True if anything says stop: it may be printed only as a draft not for cutting."""
        return any(finding.severity == "stop" for finding in self.findings)
