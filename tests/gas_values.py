"""The gases of the checks, as the formulas want them; every number with its origin.

Molar mass, heat capacity ratio (ideal gas at 15 °C), density at 15 °C and 1 bar absolute, and
the slope of Z at 15 °C and 1 bar: CoolProp 8.0.0 HEOS. Acetylene is not in CoolProp: molar
mass and density (Tsonopoulos virial) from chemicals 1.5.2, slope from the same, heat capacity
ratio from thermo 0.6.1 (JANAF). Lower heating values: cantera 3.2.0, nasa_gas.yaml.
Viscosities near 15 °C, rounded: oxygen, propane, hydrogen, nitrogen from CoolProp 8.0.0;
acetylene, methane and propylene from memory (CoolProp 8.0.0 has 1.09e-5 for methane and
8.3e-6 Pa s for propylene).
"""

from kerfdocket.physics.gas import Gas

__all__ = [
    "ACETYLENE",
    "GASES",
    "HYDROGEN",
    "METHANE",
    "NITROGEN",
    "OXYGEN",
    "PROPANE",
    "PROPYLENE",
]

OXYGEN = Gas("oxygen", 0.0319988, 1.39564, 7.5e-9, 1.336640, 2.00e-5)
ACETYLENE = Gas("acetylene", 0.0260373, 1.23794, 7.1e-8, 1.09458, 1.00e-5, 2, 2, 48.277e6)
PROPANE = Gas("propane", 0.0440956, 1.13181, 1.8e-7, 1.873937, 7.9e-6, 3, 8, 46.333e6)
METHANE = Gas("methane", 0.0160428, 1.30752, 1.96e-8, 0.670927, 1.1e-5, 1, 4, 50.025e6)
PROPYLENE = Gas("propylene", 0.0420797, 1.15245, 1.6e-7, 1.784643, 8.4e-6, 3, 6, 45.762e6)
HYDROGEN = Gas("hydrogen", 0.0020159, 1.40675, -6.0e-9, 0.084091, 8.7e-6, 0, 2, 119.953e6)
NITROGEN = Gas("nitrogen", 0.0280135, 1.39961, 2.8e-9, 1.169597, 1.73e-5)

GASES = {
    gas.name: gas for gas in (OXYGEN, ACETYLENE, PROPANE, METHANE, PROPYLENE, HYDROGEN, NITROGEN)
}
