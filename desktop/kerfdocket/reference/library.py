"""Everything the tables know, in one frozen object."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

from kerfdocket.reference.cutting import Cutting, PurityRow, Topic, read_cutting
from kerfdocket.reference.equipment import (
    ArrestorRow,
    Equipment,
    HoseDutyRow,
    ProtectiveRow,
    RegulatorClass,
    read_equipment,
)
from kerfdocket.reference.gases import Flame, Gases, GasRow, HoseColour, Region, read_gases
from kerfdocket.reference.hazards import HAZARD_WORDS, HazardRow, read_hazards
from kerfdocket.reference.nozzles import Nozzle, Nozzles, NozzleSystem, read_nozzles
from kerfdocket.reference.plates import Plates, ThicknessTolerance, read_plates
from kerfdocket.reference.protection import FilterShade, Protection, read_protection
from kerfdocket.reference.quality import Quality, read_quality
from kerfdocket.reference.signs import SignRow, read_signs, signs_called
from kerfdocket.reference.steels import Grade, Steels, read_steels
from kerfdocket.reference.supply import PropaneCylinder, Supply, read_supply
from kerfdocket.reference.table import Figure, Range, Source, Table, TableError, Tables
from kerfdocket.resources import data_dir

__all__ = ["Reference", "load_reference"]


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """All tables; what a method returns carries `source` and `trust`.

    Thickness, bore and dimension are metres, results SI. A method gives None where no source
    was found; `why_none` says why for what depends on thickness. A word that no table knows
    (a gas, a mode, a class) is a ValueError that names the known ones.
    """

    gases: Gases
    nozzle_tables: Nozzles
    cutting: Cutting
    steels: Steels
    plates: Plates
    quality: Quality
    equipment: Equipment
    supply: Supply
    protection: Protection
    hazards: tuple[HazardRow, ...]
    signs: tuple[SignRow, ...]
    sources: Mapping[str, Source]
    tables: tuple[Table, ...]

    # --- gases

    def gas(self, name: str) -> GasRow:
        """Return a gas by the name the job file uses."""
        if name not in self.gases.gases:
            raise ValueError(f"gas={name!r} must be one of {sorted(self.gases.gases)}")
        return self.gases.gases[name]

    def flame(self, fuel: str) -> Flame:
        """Return the heating flame of a fuel."""
        if fuel not in self.gases.flames:
            raise ValueError(f"fuel={fuel!r} must be one of {sorted(self.gases.flames)}")
        return self.gases.flames[fuel]

    def flame_temperature(self, fuel: str, ratio: float) -> Figure | None:
        """Return the adiabatic equilibrium temperature with oxygen [K], by moles to one of fuel.

        None outside the ratios of the table; the figure's note says what it leaves out.
        """
        return self.gases.flame_temperature(fuel, ratio)

    def hose_colour(self, gas: str, region: Region) -> HoseColour:
        """Return the colour of a gas's hose: ISO 3821 for Europe, the US rule for the USA."""
        return self.gas(gas).colour_in(region)

    # --- nozzles

    def nozzle_system(self, mixing: str, fuel: str) -> NozzleSystem | None:
        """Return the generic system of a mixing and a fuel; None where no source was found."""
        return self.nozzle_tables.system(mixing, fuel)

    def nozzles(self, system: NozzleSystem) -> tuple[Nozzle, ...]:
        """Return the nozzles of a system, smaller first."""
        return self.nozzle_tables.by_system[system.key]

    def nozzle(self, key: str) -> Nozzle | None:
        """Return the nozzle of a key such as `A-N-1.2`; None where there is none."""
        return self.nozzle_tables.by_key.get(key)

    def nozzle_for(self, system: NozzleSystem, thickness_m: float) -> Nozzle | None:
        """Return the nozzle of a system for a thickness [m]; None outside its table."""
        return self.nozzle_tables.nozzle_for(system.key, thickness_m)

    def fuel_pressure(self, fuel: str, mixing: str = "nozzle") -> Range | None:
        """Return the fuel pressure at the torch [Pa gauge]; None where no source was found."""
        return self.nozzle_tables.fuel_pressure(fuel, mixing)

    # --- cutting

    def speed(self, thickness_m: float, mode: str) -> Range | None:
        """Return the cutting speed for `hand`, `tractor` or `machine` [m/s]."""
        return self.cutting.speed(thickness_m, mode)

    def oxygen_flow_range(self, thickness_m: float) -> Range | None:
        """Return the cutting oxygen flow [kg/s], without the oxygen of the heating flame."""
        if self.cutting.why_none("oxygen_flow", thickness_m):
            return None
        return self.cutting.flow(self.gas("oxygen").properties, "oxygen", thickness_m)

    def fuel_flow(self, fuel: str, thickness_m: float) -> Range | None:
        """Return the fuel gas flow of the heating flame [kg/s]."""
        gas = self.gas(self.flame(fuel).fuel).properties
        if self.cutting.why_none("fuel_flow", thickness_m):
            return None
        return self.cutting.flow(gas, fuel.replace(" ", "_"), thickness_m)

    def kerf(self, thickness_m: float, bore_m: float) -> Range | None:
        """Return the kerf width [m]."""
        return self.cutting.kerf(thickness_m, bore_m)

    def start_time(self, thickness_m: float) -> Range | None:
        """Return the heating time before an edge start [s]."""
        return self.cutting.start_time(thickness_m)

    @property
    def pierce_factor(self) -> Range:
        """What the heating time of an edge start is multiplied by for a pierce. [-]"""
        return self.cutting.factors["pierce"]

    @property
    def propane_time_factor(self) -> Range:
        """Floor time with propane by that with acetylene. [-]"""
        return self.cutting.factors["propane time"]

    def purity_rule(self, rule: str) -> PurityRow:
        """Return one rule on oxygen purity, its numbers in percent."""
        if rule not in self.cutting.purity:
            raise ValueError(f"rule={rule!r} must be one of {sorted(self.cutting.purity)}")
        return self.cutting.purity[rule]

    def why_none(self, topic: Topic, thickness_m: float) -> str | None:
        """Return why a cutting method gives None at a thickness [m]; None where it does not."""
        return self.cutting.why_none(topic, thickness_m)

    # --- steel and plate

    def grade(self, text: str, thickness_m: float) -> Grade | None:
        """Return a grade at a thickness [m]; capitals, spaces and hyphens do not matter."""
        return self.steels.grade(text, thickness_m)

    def grade_names(self) -> tuple[str, ...]:
        """Return the designations of all grades, cuttable ones first."""
        return self.steels.grade_names()

    def thickness_tolerance(
        self, nominal_m: float, tolerance_class: str
    ) -> ThicknessTolerance | None:
        """Return the tolerance on plate thickness for class A, B, C or D."""
        return self.plates.thickness_tolerance(nominal_m, tolerance_class)

    # --- quality

    def perpendicularity_limit_m(self, quality_range: int, thickness_m: float) -> Figure | None:
        """Return u of ISO 9013 for range 1 to 5 [m]; None outside 3 to 300 mm."""
        return self.quality.perpendicularity_limit_m(quality_range, thickness_m)

    def roughness_limit_m(self, quality_range: int, thickness_m: float) -> Figure | None:
        """Return Rz5 of ISO 9013 for range 1 to 4 [m]; None outside 3 to 300 mm."""
        return self.quality.roughness_limit_m(quality_range, thickness_m)

    def size_deviation_m(
        self, tolerance_class: int, thickness_m: float, dimension_m: float
    ) -> Figure | None:
        """Return the limit deviation, plus or minus, of class 1 or 2 [m]."""
        return self.quality.size_deviation_m(tolerance_class, thickness_m, dimension_m)

    def measuring_inset_m(self, thickness_m: float) -> Figure | None:
        """Return how far from the edges u and Rz5 are measured [m]."""
        return self.quality.measuring_inset_m(thickness_m)

    # --- hoses and supply

    def hose_bores_m(self) -> tuple[float, ...]:
        """Return the standard hose bores, rising [m]."""
        return self.equipment.hose_bores_m()

    def hose_limit_gauge_pa(self, duty: str) -> Figure:
        """Return the highest working pressure of `normal`, `light` or `acetylene` hose [Pa]."""
        return self.equipment.hose_limit_gauge_pa(duty)

    def hose_duty(self, duty: str) -> HoseDutyRow:
        """Return pressure and temperatures that `normal` or `light` hose is made for."""
        return self.equipment.duty(duty)

    def regulator_class(self, gas: str, rated_class: str) -> RegulatorClass | None:
        """Return what a regulator's class is rated for; None where no source has that class."""
        return self.equipment.regulators.get((self.gas(gas).name, rated_class))

    def arrestor_function(self, letters: str) -> ArrestorRow:
        """Return the function that letters on a safety device, such as `FA`, stand for."""
        return self.equipment.arrestor_function(letters)

    def acetylene_limit_gauge_pa(self, where: Literal["europe", "usa"] = "europe") -> Figure:
        """Return the highest acetylene working pressure [Pa gauge]."""
        return self.supply.acetylene_limit_gauge_pa(where)

    def acetylene_withdrawal_per_s(
        self, use: Literal["continuous", "intermittent"] = "continuous"
    ) -> Figure:
        """Return the share of a cylinder's full contents that may be drawn in a second [1/s]."""
        return self.supply.acetylene_withdrawal_per_s(use)

    def acetylene_cylinder_gauge_pa(self, temperature_k: float) -> Figure | None:
        """Return the pressure of a full acetylene cylinder [Pa gauge]; None outside -10..50 °C."""
        return self.supply.acetylene_cylinder_gauge_pa(temperature_k)

    def propane_cylinder(self, contents_kg: float) -> PropaneCylinder | None:
        """Return the assumed build of a cylinder of these contents; None where none is known."""
        return self.supply.propane_cylinder(contents_kg)

    # --- people

    @property
    def protective(self) -> tuple[ProtectiveRow, ...]:
        """All protective equipment."""
        return self.equipment.protective

    def hazards_for(self, facts: Iterable[str]) -> tuple[HazardRow, ...]:
        """Return the hazards that apply to a job's facts, words of `HAZARD_WORDS`."""
        known = _facts(facts)
        return tuple(row for row in self.hazards if row.applies(known))

    def protective_for(self, facts: Iterable[str]) -> tuple[ProtectiveRow, ...]:
        """Return the protective equipment for a job's facts, words of `HAZARD_WORDS`."""
        known = _facts(facts)
        return tuple(row for row in self.protective if row.applies(known))

    def signs_for(self, cautions: Iterable[str], items: Iterable[str]) -> tuple[SignRow, ...]:
        """Return the safety signs for keys of hazards and items of protective equipment."""
        return signs_called(self.signs, cautions, items)

    def filter_shades(
        self, thickness_m: float, oxygen_flow_kg_s: float | None = None
    ) -> tuple[FilterShade, ...]:
        """Return each rule's filter shade by thickness [m] and cutting oxygen flow [kg/s]."""
        flow = None
        if oxygen_flow_kg_s is not None:
            flow = self.gas("oxygen").properties.volume_m3(oxygen_flow_kg_s)
        return self.protection.filter_shades(thickness_m, flow)

    def hot_work_distance_m(self) -> Figure:
        """Return how far combustibles must be away [m]."""
        return self.protection.distance_m("combustibles")

    def fire_watch_s(self) -> Range:
        """Return how long to watch after work [s]: the shorter and the longer published rule."""
        return self.protection.fire_watch_s()


def _facts(facts: Iterable[str]) -> frozenset[str]:
    known = frozenset(facts) | {"always"}
    unknown = known - HAZARD_WORDS.keys()
    if unknown:
        raise ValueError(f"facts {sorted(unknown)} must be among {sorted(HAZARD_WORDS)}")
    return known


@cache
def load_reference(root: Path | None = None) -> Reference:
    """Read and check all tables.

    Args:
        root: folder of the tables; the shipped ones where none is given.

    Raises:
        ResourceMissing: the shipped tables are not there.
        TableError: a table is damaged.
    """
    tables = Tables(root or data_dir("tables"))
    try:
        return Reference(
            gases=read_gases(tables),
            nozzle_tables=read_nozzles(tables),
            cutting=read_cutting(tables),
            steels=read_steels(tables),
            plates=read_plates(tables),
            quality=read_quality(tables),
            equipment=read_equipment(tables),
            supply=read_supply(tables),
            protection=read_protection(tables),
            hazards=read_hazards(tables),
            signs=read_signs(tables),
            sources=tables.sources.by_key,
            tables=tuple(tables.read),
        )
    except KeyError as error:
        raise TableError(f"{tables.root}: a row for {error} is missing in one table") from error
