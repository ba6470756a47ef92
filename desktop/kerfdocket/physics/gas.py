"""What the formulas need to know of a gas."""

from dataclasses import dataclass

__all__ = [
    "GAS_CONSTANT_J_MOL_K",
    "REFERENCE_PRESSURE_ABS_PA",
    "REFERENCE_TEMPERATURE_K",
    "STANDARD_ATMOSPHERE_PA",
    "Gas",
]

GAS_CONSTANT_J_MOL_K = 8.314462618  # exact since the SI of 2019 (BIPM, SI Brochure, 9th edition)
STANDARD_ATMOSPHERE_PA = 101_325.0  # ISO 2533:1975, sea level
REFERENCE_TEMPERATURE_K = 288.15  # 15 °C: the reference state of every gas volume here
REFERENCE_PRESSURE_ABS_PA = 100_000.0  # 1 bar absolute


@dataclass(frozen=True, slots=True)
class Gas:
    """Properties of one gas; the values and their sources stand in `tables/gases`.

    Attributes:
        name: as the job file writes it.
        molar_mass_kg_mol: [kg/mol]
        heat_capacity_ratio: c_p/c_v at 15 °C and low pressure. [-]
        compressibility_slope_per_pa: k in Z = 1 - k * p_abs near 15 °C. [1/Pa]
        density_reference_kg_m3: real-gas density at 15 °C and 1 bar absolute. [kg/m3]
        viscosity_pa_s: dynamic viscosity near 15 °C. [Pa s]
        carbon: carbon atoms in the molecule, 0 for oxygen. [-]
        hydrogen: hydrogen atoms in the molecule. [-]
        lower_heating_value_j_kg: 0 for oxygen. [J/kg]
    """

    name: str
    molar_mass_kg_mol: float
    heat_capacity_ratio: float
    compressibility_slope_per_pa: float
    density_reference_kg_m3: float
    viscosity_pa_s: float
    carbon: int = 0
    hydrogen: int = 0
    lower_heating_value_j_kg: float = 0.0

    @property
    def specific_gas_constant_j_kg_k(self) -> float:
        """R divided by the molar mass. [J/(kg K)]"""
        return GAS_CONSTANT_J_MOL_K / self.molar_mass_kg_mol

    def volume_m3(self, mass_kg: float) -> float:
        """Return the volume of a mass (or, for a flow, m3/s of kg/s) at 15 °C and 1 bar abs."""
        return mass_kg / self.density_reference_kg_m3

    def mass_kg(self, volume_m3: float) -> float:
        """Return the mass of a volume (or flow) stated at 15 °C and 1 bar absolute."""
        return volume_m3 * self.density_reference_kg_m3
