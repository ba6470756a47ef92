"""What the planner states: the job and its parts, frozen once read."""

import datetime
import re
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationInfo,
    field_validator,
)

from kerfdocket.language import _, in_language
from kerfdocket.physics.air import standard_air_pressure_abs_pa
from kerfdocket.quantity import (
    ABSOLUTE_PRESSURE,
    CAPACITY,
    GAS_FLOW,
    GAS_VOLUME,
    GAUGE_PRESSURE,
    LENGTH,
    MASS,
    PERCENT,
    SPEED,
    TEMPERATURE,
    TIME,
    UNIT_SYSTEMS,
    Measure,
    UnitSystem,
    Within,
    parse_measure,
)
from kerfdocket.quantity.kinds import Kind

__all__ = [
    "FORMAT_VERSION",
    "About",
    "Arrestor",
    "Chart",
    "Composition",
    "Fuel",
    "FuelCylinder",
    "HeatingLine",
    "Hose",
    "Job",
    "Outlet",
    "Oxygen",
    "OxygenCylinder",
    "Part",
    "Plate",
    "Prices",
    "Quality",
    "Regulator",
    "Site",
    "StandingTest",
    "Torch",
]

FORMAT_VERSION = 1

Line = Annotated[str, StringConstraints(strip_whitespace=True, max_length=120)]
FilledLine = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=120)]
Paragraph = Annotated[str, StringConstraints(strip_whitespace=True, max_length=1000)]
Share = Annotated[float, Field(ge=0, le=100)]


class _Stated(BaseModel):
    """Frozen; a key that it does not know is an error, not a default."""

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


def _m(text: str, kind: Kind) -> Measure:
    return parse_measure(text, kind)


def _as_text(value: Any) -> Any:
    """Take a number for what is marked with one: `rated_class = 3`."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _as_number(value: Any) -> Any:
    """Take a number in quotes: `oxygen_hoses = "2"`."""
    return int(value) if isinstance(value, str) and value.strip() in set("0123456789") else value


def _no_number(value: Any) -> Any:
    if isinstance(value, int | float):
        raise ValueError(_("write a date as 2026-11-25"))  # noqa: TRY004 - pydantic wants it
    return value


class About(_Stated):
    """What the job is and for whom."""

    number: FilledLine = Field(title="Job number", description="As the shop counts its jobs.")
    title: FilledLine = Field(title="What is cut", description="In the shop's own words.")
    customer: Line = Field("", title="For", description="Customer or department.")
    drawing: Line = Field("", title="Drawing", description="Number and revision.")
    revision: Annotated[str, StringConstraints(strip_whitespace=True, max_length=8)] = Field(
        "A", title="Revision", description="Of this sheet; it stands in the code on each page."
    )
    prepared_by: Line = Field("", title="Prepared by", description="Who answers for this plan.")
    date: Annotated[datetime.date | None, BeforeValidator(_no_number)] = Field(
        None, title="Date", description="Date of the plan, YYYY-MM-DD; it is printed."
    )
    note: Paragraph = Field("", title="Note to the cutter", description="Printed as written.")


class Composition(_Stated):
    """Ladle analysis of the mill certificate, percent by mass; what it lists, as it lists it."""

    carbon: Share = Field(0.0, title="C")
    silicon: Share = Field(0.0, title="Si")
    manganese: Share = Field(0.0, title="Mn")
    chromium: Share = Field(0.0, title="Cr")
    molybdenum: Share = Field(0.0, title="Mo")
    nickel: Share = Field(0.0, title="Ni")
    copper: Share = Field(0.0, title="Cu")
    vanadium: Share = Field(0.0, title="V")
    niobium: Share = Field(0.0, title="Nb")
    boron: Share = Field(0.0, title="B")


class Plate(_Stated):
    """The plate as ordered and as measured."""

    grade: FilledLine = Field(title="Grade", description="Steel designation, such as S355J2.")
    thickness: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="1000 mm")] = Field(
        title="Nominal thickness", description="As ordered."
    )
    readings: Annotated[
        tuple[Annotated[Measure, Within(LENGTH, above="0 mm", at_most="1000 mm")], ...],
        Field(max_length=24),
    ] = Field((), title="Measured thickness", description="Readings from the plate itself.")
    length: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="30 m")] = Field(
        _m("2000 mm", LENGTH), title="Plate length", description="For its mass."
    )
    width: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="6 m")] = Field(
        _m("1000 mm", LENGTH), title="Plate width", description="For its mass."
    )
    surface: Literal["clean", "mill scale", "rust", "primer", "paint", "zinc", "oil"] = Field(
        "mill scale", title="Surface", description="Coatings make fumes and disturb the cut."
    )
    tolerance_class: Literal["A", "B", "C", "D"] = Field(
        "A", title="Thickness class", description="EN 10029 class that the plate was ordered to."
    )
    certificate: Composition | None = Field(
        None,
        title="Mill certificate",
        description="Ladle analysis; without it the grade's upper limits are used.",
    )
    preheat: Annotated[Measure, Within(TEMPERATURE, at_least="-40 °C", at_most="600 °C")] | None = (
        Field(None, title="Preheat", description="Plate temperature that a procedure asks for.")
    )


class Part(_Stated):
    """Pieces of one shape."""

    name: FilledLine = Field(title="Part", description="As marked on the drawing.")
    count: Annotated[int, Field(ge=1, le=10_000, strict=True)] = Field(1, title="Pieces")
    cut_length: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="10000 m")] = Field(
        title="Cut length", description="Of one piece, inner contours included."
    )
    starts: Annotated[int, Field(ge=1, le=10_000, strict=True)] = Field(
        1, title="Starts", description="Of one piece: once for each contour."
    )
    start: Literal["edge", "pierce"] = Field("edge", title="Start", description="Where it starts.")


class Torch(_Stated):
    """Torch and nozzle."""

    kind: Literal["hand", "tractor", "machine"] = Field(
        "hand", title="Torch", description="Led by hand, by a tractor, or by a profiling machine."
    )
    mixing: Literal["nozzle", "torch", "injector"] = Field(
        "nozzle", title="Gases mix in", description="Nozzle, torch, or injector: see the torch."
    )
    oxygen_hoses: Annotated[Literal[1, 2], BeforeValidator(_as_number)] = Field(
        1,
        title="Oxygen hoses",
        description="2 where heating oxygen has a hose and regulator of its own.",
    )
    nozzle: Line = Field(
        "", title="Nozzle at hand", description="Key of the set, such as A-N-1.2; empty: choose."
    )
    lighting: Literal["fuel first", "oxygen first"] | None = Field(
        None,
        title="Lit with",
        description="By the torch's instructions: fuel gas alone, or a little oxygen before it; "
        "empty: looked up at the torch.",
    )
    flame: Literal["reducing", "neutral", "oxidising"] = Field(
        "neutral",
        title="Heating flame",
        description="Reducing: too much fuel gas; oxidising: too much oxygen; neutral: neither.",
    )
    idle_share: Annotated[Measure, Within(PERCENT, at_least="0 %", at_most="100 %")] = Field(
        _m("25 %", PERCENT),
        title="Flame left burning",
        description="Share of the time between cuts in which the flame is not put out.",
    )


GasLetters = Annotated[
    str, StringConstraints(strip_whitespace=True, to_upper=True, pattern=r"^[A-Za-z ]{0,8}$")
]


class Regulator(_Stated):
    """Limits that its plate or instructions state."""

    rated_class: Annotated[
        Literal["0", "1", "2", "3", "4", "5"] | None, BeforeValidator(_as_text)
    ] = Field(
        None,
        title="Regulator: class",
        description="As marked on it (ISO 2503); stands in for limits that are not stated.",
    )
    outlet_limit: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="100 bar")] | None
    ) = Field(None, title="Regulator: highest outlet pressure")
    flow_limit: Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="1000 m3/h")] | None = (
        Field(None, title="Regulator: greatest flow", description="Of its own gas.")
    )
    gauge_step: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="5 bar")] | None
    ) = Field(
        None,
        title="Outlet gauge: smallest change seen",
        description="Half a division; decides which leak a standing test can show.",
    )
    gas_letters: GasLetters = Field(
        "",
        title="Regulator: gas letter",
        description="As marked on it (ISO 10225): O, A, P, M, F ...",
    )


def _known_functions(text: str) -> str:
    letters = re.sub(r"[,;+/]", " ", text).upper().split()
    unknown = [one for one in letters if one not in _FUNCTIONS]
    if unknown:
        raise ValueError(
            _(
                "{letters} is no function of ISO 5175-1; accepted: {known}",
                letters=repr(unknown[0]),
                known=", ".join(_FUNCTIONS),
            )
        )
    return " ".join(one for one in _FUNCTIONS if one in letters)


def _joined(value: Any) -> Any:
    is_list = isinstance(value, list | tuple) and all(isinstance(one, str) for one in value)
    return " ".join(value) if is_list else value


_FUNCTIONS = ("NV", "FA", "TV", "PV")
Functions = Annotated[
    str,
    BeforeValidator(_joined),
    StringConstraints(strip_whitespace=True, max_length=40),
    AfterValidator(_known_functions),
]


class Arrestor(_Stated):
    """Flashback arrestor."""

    fitted: bool = Field(True, title="Flashback arrestor fitted", strict=True)
    pressure_loss: (
        Annotated[Measure, Within(GAUGE_PRESSURE, at_least="0 bar", at_most="20 bar")] | None
    ) = Field(
        None,
        title="Arrestor: pressure loss",
        description="From the diagram in its instructions, at the flow stated beside it.",
    )
    loss_flow: Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="1000 m3/h")] | None = (
        Field(
            None,
            title="Arrestor: flow at that loss",
            description="Where the diagram was read; empty: read at this job's own flow.",
        )
    )
    loss_inlet: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="40 bar")] | None
    ) = Field(
        None,
        title="Arrestor: inlet pressure at that loss",
        description="Of the line of the diagram that was read; empty: this job's own.",
    )

    loss_gas: Literal["its gas", "air"] = Field(
        "its gas",
        title="Arrestor: diagram drawn for",
        description="Many diagrams are drawn for air, whatever gas the arrestor is for.",
    )
    flow_limit: Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="1000 m3/h")] | None = (
        Field(None, title="Arrestor: greatest flow", description="Of its own gas.")
    )
    functions: Functions = Field(
        "",
        title="Arrestor: functions",
        description="Letters on it (ISO 5175-1): NV, FA, TV, PV.",
    )
    gas_letters: GasLetters = Field(
        "",
        title="Arrestor: gas letter",
        description="As marked on it (ISO 10225): O, A, P, M, F ...",
    )

    @field_validator("loss_inlet")
    @classmethod
    def _above_its_loss(cls, value: Any, info: ValidationInfo) -> Any:
        loss = info.data.get("pressure_loss")
        if value is not None and loss is not None and value.si <= loss.si:
            raise ValueError(
                _(
                    "must be above the loss of {loss}: that is what is left of it",
                    loss=in_language(str(loss)),
                )
            )
        return value


class StandingTest(_Stated):
    """The line shut off at both ends under pressure, read twice."""

    begin_gauge: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="40 bar")] | None
    ) = Field(None, title="Gauge at the begin", description="Outlet gauge, supply valve shut.")
    end_gauge: (
        Annotated[Measure, Within(GAUGE_PRESSURE, at_least="0 bar", at_most="40 bar")] | None
    ) = Field(None, title="Gauge at the end", description="The same gauge after the test.")
    begin_temperature: (
        Annotated[Measure, Within(TEMPERATURE, at_least="-40 °C", at_most="60 °C")] | None
    ) = Field(None, title="Hose at the begin", description="Temperature; empty: not measured.")
    end_temperature: (
        Annotated[Measure, Within(TEMPERATURE, at_least="-40 °C", at_most="60 °C")] | None
    ) = Field(None, title="Hose at the end", description="Temperature; empty: not measured.")
    time: Annotated[Measure, Within(TIME, at_least="1 min", at_most="24 h")] = Field(
        _m("5 min", TIME), title="Between the readings"
    )


class Hose(_Stated):
    """One hose from arrestor to torch."""

    bore: Annotated[Measure, Within(LENGTH, at_least="2 mm", at_most="50 mm")] = Field(
        _m("6.3 mm", LENGTH), title="Hose bore", description="Inside diameter, printed on it."
    )
    length: Annotated[Measure, Within(LENGTH, above="0 m", at_most="200 m")] = Field(
        _m("10 m", LENGTH), title="Hose length"
    )
    joints: Annotated[int, Field(ge=0, le=40, strict=True)] = Field(
        2,
        title="Hose tails",
        description="Narrow places where a hose is clamped on: one at each end, two at a joint.",
    )
    gas_letters: GasLetters = Field(
        "", title="Hose: gas letter", description="As marked on it (ISO 10225): O, A, P, M, F ..."
    )


class Outlet(_Stated):
    """Where gas comes out of a main or a tank."""

    pressure: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="300 bar")] | None
    ) = Field(
        None,
        title="Pressure at the outlet",
        description="Gauge pressure that the main or tank keeps up under flow.",
    )
    flow_limit: Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="5000 m3/h")] | None = (
        Field(
            None,
            title="Greatest flow at the outlet",
            description="Of the main, or of the tank's vaporiser.",
        )
    )
    content: Annotated[Measure, Within(GAS_VOLUME, above="0 m3", at_most="1000000 m3")] | None = (
        Field(None, title="In the tank, as gas", description="Usable content.")
    )
    content_weight: Annotated[Measure, Within(MASS, above="0 kg", at_most="1000000 kg")] | None = (
        Field(None, title="In the tank, by weight", description="Instead of the content as gas.")
    )

    @field_validator("content_weight")
    @classmethod
    def _one_content(cls, value: Any, info: ValidationInfo) -> Any:
        if value is not None and info.data.get("content") is not None:
            raise ValueError(_("the content is stated as gas already; state it once"))
        return value


Coupled = Annotated[int, Field(ge=1, le=100, strict=True)]
_COUPLED = "In a bundle, with one outlet; 1 for a single cylinder."


class OxygenCylinder(_Stated):
    """Oxygen cylinders or bundles on hand, alike."""

    count: Annotated[int, Field(ge=1, le=200, strict=True)] = Field(
        1, title="Number", description="Of cylinders, or of bundles."
    )
    coupled: Coupled = Field(1, title="Cylinders in each", description=_COUPLED)
    capacity: Annotated[Measure, Within(CAPACITY, above="0 L", at_most="1000 L")] = Field(
        _m("50 L", CAPACITY), title="Water capacity", description="Stamped on the shoulder."
    )
    gauge: Annotated[Measure, Within(GAUGE_PRESSURE, at_least="0 bar", at_most="300 bar")] = Field(
        title="Contents gauge", description="Cylinder pressure, read after it has rested."
    )
    temperature: (
        Annotated[Measure, Within(TEMPERATURE, at_least="-20 °C", at_most="50 °C")] | None
    ) = Field(None, title="Cylinder temperature", description="Empty: as the site.")


def _weigh_it(value: Any) -> Any:
    if isinstance(value, dict) and "gauge" in value:
        raise ValueError(
            _(
                "a gauge reading does not show the content of a dissolved or liquefied gas; weigh "
                "the cylinder: give weight_now and weight_empty"
            )
        )
    return value


class FuelCylinder(_Stated):
    """Acetylene or propane cylinders or bundles on hand, alike, weighed."""

    count: Annotated[int, Field(ge=1, le=200, strict=True)] = Field(
        1, title="Number", description="Of cylinders, or of bundles."
    )
    coupled: Coupled = Field(1, title="Cylinders in each", description=_COUPLED)
    weight_now: Annotated[Measure, Within(MASS, above="0 kg", at_most="1000 kg")] = Field(
        title="Weight now", description="Of one cylinder, or one whole bundle, on a scale."
    )
    weight_empty: Annotated[Measure, Within(MASS, above="0 kg", at_most="1000 kg")] = Field(
        title="Weight empty", description="Stamped tare; for acetylene with mass and solvent."
    )
    full_content: Annotated[Measure, Within(MASS, above="0 kg", at_most="500 kg")] | None = Field(
        None, title="Gas when full", description="Stamped; more by weight is a mistake."
    )
    temperature: (
        Annotated[Measure, Within(TEMPERATURE, at_least="-30 °C", at_most="50 °C")] | None
    ) = Field(None, title="Cylinder temperature", description="Empty: as the site.")


class HeatingLine(_Stated):
    """The line of the heating oxygen where it has one of its own."""

    regulator: Regulator = Field(Regulator(), title="Heating oxygen regulator")
    arrestor: Arrestor = Field(Arrestor(), title="Heating oxygen arrestor")
    hose: Hose = Field(Hose(), title="Heating oxygen hose")


class Oxygen(_Stated):
    """Oxygen from cylinder to torch."""

    purity: Annotated[Measure, Within(PERCENT, at_least="80 %", at_most="100 %")] = Field(
        _m("99.5 %", PERCENT), title="Oxygen purity", description="As the supplier states it."
    )
    supply: Literal["cylinders", "main", "tank"] = Field(
        "cylinders", title="Oxygen comes from", description="Cylinders or bundles, a main, a tank."
    )
    outlet: Outlet = Field(Outlet(), title="Oxygen main or tank")
    cylinders: Annotated[tuple[OxygenCylinder, ...], Field(max_length=40)] = Field(
        (), title="Oxygen cylinders"
    )
    reserve: Annotated[Measure, Within(GAUGE_PRESSURE, at_least="0 bar", at_most="100 bar")] = (
        Field(
            _m("10 bar", GAUGE_PRESSURE),
            title="Left in the cylinder",
            description="Gauge pressure at which it is changed.",
        )
    )
    regulator: Regulator = Field(Regulator(), title="Oxygen regulator")
    arrestor: Arrestor = Field(Arrestor(), title="Oxygen arrestor")
    hose: Hose = Field(Hose(), title="Oxygen hose")
    standing_test: StandingTest = Field(StandingTest(), title="Standing test of the oxygen line")
    heating: HeatingLine = Field(HeatingLine(), title="Heating oxygen, where it has its own hose")

    @property
    def comes_from_main(self) -> bool:
        """True for a main or a tank: there is no cylinder to handle."""
        return self.supply != "cylinders"


class Fuel(_Stated):
    """Fuel gas from cylinder or main to torch."""

    gas: Literal["acetylene", "propane", "natural gas"] = Field(title="Fuel gas")
    supply: Literal["cylinders", "main", "tank"] | None = Field(
        None,
        title="Fuel comes from",
        description="Empty: a main for natural gas, cylinders for the others.",
    )
    outlet: Outlet = Field(Outlet(), title="Fuel main or tank")
    draw_share: Annotated[Measure, Within(PERCENT, above="0 %", at_most="100 %")] | None = Field(
        None,
        title="Greatest draw of acetylene in an hour",
        description="Share of the content, as the supplier states it; empty: the usual rule.",
    )
    cylinders: Annotated[
        tuple[Annotated[FuelCylinder, BeforeValidator(_weigh_it)], ...], Field(max_length=40)
    ] = Field((), title="Fuel cylinders")
    regulator: Regulator = Field(Regulator(), title="Fuel regulator")
    arrestor: Arrestor = Field(Arrestor(), title="Fuel arrestor")
    hose: Hose = Field(Hose(), title="Fuel hose")
    standing_test: StandingTest = Field(StandingTest(), title="Standing test of the fuel line")

    @property
    def comes_from_main(self) -> bool:
        """True for a main or a tank: as stated, else for natural gas."""
        return (
            self.supply or ("main" if self.gas == "natural gas" else "cylinders")
        ) != "cylinders"


class Chart(_Stated):
    """What the nozzle maker's own chart or the shop's says; it comes before the generic set."""

    nozzle: Line = Field("", title="Nozzle", description="Its marking, as the chart calls it.")
    bore: Annotated[Measure, Within(LENGTH, at_least="0.3 mm", at_most="10 mm")] | None = Field(
        None,
        title="Cutting bore",
        description="Narrowest diameter; with it no nozzle of the generic set is used.",
    )
    bore_length: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="200 mm")] | None = Field(
        None,
        title="Length of the bore",
        description="Of its narrow, straight part; narrows down how much it lets through.",
    )
    cutting_oxygen_pressure: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="20 bar")] | None
    ) = Field(None, title="Cutting oxygen", description="Gauge pressure at the torch.")
    heating_oxygen_pressure: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="20 bar")] | None
    ) = Field(None, title="Heating oxygen", description="Gauge pressure at the torch.")
    fuel_pressure: (
        Annotated[Measure, Within(GAUGE_PRESSURE, above="0 bar", at_most="10 bar")] | None
    ) = Field(None, title="Fuel gas", description="Gauge pressure at the torch.")
    cutting_oxygen_flow: (
        Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="300 m3/h")] | None
    ) = Field(None, title="Cutting oxygen flow", description="By that chart.")
    heating_oxygen_flow: (
        Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="300 m3/h")] | None
    ) = Field(None, title="Heating oxygen flow", description="By that chart.")
    fuel_flow: Annotated[Measure, Within(GAS_FLOW, above="0 m3/h", at_most="100 m3/h")] | None = (
        Field(None, title="Fuel flow", description="Of the heating flame, by that chart.")
    )
    speed: Annotated[Measure, Within(SPEED, above="0 mm/min", at_most="3000 mm/min")] | None = (
        Field(None, title="Cutting speed")
    )
    kerf: Annotated[Measure, Within(LENGTH, above="0 mm", at_most="20 mm")] | None = Field(
        None, title="Kerf width"
    )
    start_time: Annotated[Measure, Within(TIME, at_least="0 s", at_most="30 min")] | None = Field(
        None, title="Heating at an edge start"
    )
    pierce_time: Annotated[Measure, Within(TIME, at_least="0 s", at_most="30 min")] | None = Field(
        None, title="Heating and piercing"
    )


class Site(_Stated):
    """Where the cut is made."""

    place: Literal["workshop", "outdoors", "confined space"] = Field("workshop", title="Place")
    region: Literal["Europe", "USA"] | None = Field(
        None,
        title="Region",
        description="Whose hose colours and acetylene limit hold; empty: USA with US units, else "
        "Europe. Local rules come first.",
    )
    temperature: Annotated[Measure, Within(TEMPERATURE, at_least="-40 °C", at_most="50 °C")] = (
        Field(_m("15 °C", TEMPERATURE), title="Air temperature")
    )
    pressure: Annotated[
        Measure, Within(ABSOLUTE_PRESSURE, at_least="450 hPa", at_most="1100 hPa")
    ] = Field(
        _m("1013.25 hPa", ABSOLUTE_PRESSURE),
        title="Air pressure",
        description="Absolute, as a barometer at the site shows it; goes before the altitude.",
    )
    altitude: Annotated[Measure, Within(LENGTH, at_least="-500 m", at_most="6000 m")] | None = (
        Field(
            None,
            title="Altitude",
            description="Above sea level; gives the air pressure where none is stated.",
        )
    )
    closed_container: bool = Field(
        False,
        title="Work on a container",
        description="A tank, drum or pipe that held something.",
        strict=True,
    )

    @property
    def air_abs_pa(self) -> float:
        """Pressure of the air here: as stated, else by the altitude, else at sea level. [Pa]"""
        if self.altitude is None or "pressure" in self.model_fields_set:
            return self.pressure.si
        return standard_air_pressure_abs_pa(self.altitude.si)


class Quality(_Stated):
    """Wanted quality of the cut to ISO 9013."""

    perpendicularity_range: Annotated[Literal[1, 2, 3, 4, 5], BeforeValidator(_as_number)] = Field(
        4, title="Perpendicularity range", description="ISO 9013 range for u."
    )
    roughness_range: Annotated[Literal[1, 2, 3, 4], BeforeValidator(_as_number)] = Field(
        4, title="Roughness range", description="ISO 9013 range for Rz5."
    )
    tolerance_class: Annotated[Literal[1, 2], BeforeValidator(_as_number)] = Field(
        2, title="Size class", description="ISO 9013 class of limit deviations."
    )


class Prices(_Stated):
    """What the shop pays; without them no cost is given."""

    currency: Annotated[
        str, StringConstraints(strip_whitespace=True, to_upper=True, pattern=r"^[A-Za-z]{3}$")
    ] = Field("EUR", title="Currency", description="Three letters of ISO 4217, such as EUR.")
    oxygen_m3: Annotated[float, Field(ge=0, le=1e6)] | None = Field(
        None, title="Oxygen, per m³", description="At 15 °C, 1 bar."
    )
    oxygen_100ft3: Annotated[float, Field(ge=0, le=1e6)] | None = Field(
        None, title="Oxygen, per 100 ft³", description="At 70 °F, 14.7 psi; instead of per m³."
    )
    fuel_kg: Annotated[float, Field(ge=0, le=1e6)] | None = Field(None, title="Fuel gas, per kg")
    fuel_lb: Annotated[float, Field(ge=0, le=1e6)] | None = Field(
        None, title="Fuel gas, per lb", description="Instead of per kg."
    )
    hour: Annotated[float, Field(ge=0, le=1e6)] | None = Field(
        None, title="Hour of work", description="Cutter and place."
    )

    @field_validator("oxygen_100ft3", "fuel_lb")
    @classmethod
    def _one_price(cls, value: Any, info: ValidationInfo) -> Any:
        metric = {"oxygen_100ft3": "oxygen_m3", "fuel_lb": "fuel_kg"}[str(info.field_name)]
        if value is not None and info.data.get(metric) is not None:
            title = str(cls.model_fields[metric].title)
            raise ValueError(
                _("the price is stated already at '{field}'; state it once", field=_(title))
            )
        return value


class Job(_Stated):
    """A cutting job as the planner states it.

    Only `about`, `plate` (grade and thickness) and `fuel.gas` must be given; every other value has
    a default, which the plan lists as assumed.
    """

    format: Literal[1] = Field(alias="kerfdocket-job", title="Format of the file")
    units: Literal["metric", "US customary"] = Field(
        "metric",
        title="Units",
        description="What form, sheet and commands speak in; every field takes the others, too.",
    )
    paper: Literal["A4", "Letter"] = Field(
        "A4", title="Paper", description="That the sheet is printed on."
    )
    language: Literal["en", "de"] = Field(
        "en", title="Language", description="That the sheet is written in."
    )
    about: About
    plate: Plate
    parts: Annotated[tuple[Part, ...], Field(max_length=200)] = Field((), title="Parts")
    torch: Torch = Torch()
    oxygen: Oxygen = Oxygen()
    fuel: Fuel
    chart: Chart = Chart()
    site: Site = Site()
    quality: Quality = Quality()
    prices: Prices = Prices()

    @property
    def region(self) -> Literal["Europe", "USA"]:
        """Whose rules hold: as stated, else by the units."""
        return self.site.region or ("USA" if self.units == "US customary" else "Europe")

    @property
    def unit_system(self) -> UnitSystem:
        """The units that everything made of this job is written in."""
        return UNIT_SYSTEMS[self.units]
