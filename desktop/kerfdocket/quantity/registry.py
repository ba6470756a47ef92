"""The one Pint registry of the program, made when it is first needed."""

from functools import cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

__all__ = ["factor_and_offset", "registry"]


@cache
def registry() -> "pint.UnitRegistry[float]":
    """Return the program's unit registry (Pint's own definitions).

    Two registries in one program refuse each other's quantities, so this is the only place that
    makes one. Building it takes a few tenths of a second, hence not at import.
    """
    import pint

    made: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    # Volumes of gas at other reference states, as the volume at 15 °C and 1 bar absolute.
    for name, pressure, kelvin, volume in (
        ("gas_normal_m3", "1.01325", "273.15", "m**3"),  # DIN 1343
        ("gas_standard_ft3", "1.01325", "(529.67 / 1.8)", "foot**3"),  # 70 °F, 14.696 psi
    ):
        made.define(f"{name} = {pressure} * 288.15 / {kelvin} * {volume}")
    pint.set_application_registry(made)  # type: ignore[no-untyped-call]
    return made


@cache
def factor_and_offset(unit: str, si_unit: str) -> tuple[float, float]:
    """Return (factor, offset) so that value_si = value * factor + offset.

    Args:
        unit: a Pint unit expression such as `psi` or `degF`. [text]
        si_unit: the unit to reach, of the same dimension. [text]

    Returns:
        The two numbers; the offset is 0 for all but temperatures. [-]

    Raises:
        pint.DimensionalityError: the units measure different things.
    """
    ureg = registry()
    at_zero = ureg.Quantity(0.0, unit).to(si_unit).magnitude
    at_one = ureg.Quantity(1.0, unit).to(si_unit).magnitude
    if at_zero == 0.0:
        return at_one, 0.0
    # A difference of two large offsets loses digits; Pint's delta units keep them.
    delta = ureg.Quantity(1.0, f"delta_{unit}").to(si_unit).magnitude
    return delta, at_zero
