"""Carbon equivalents, preheating and the hardness of a flame-cut edge.

The preheat rule of EN 1011-2 and the hardness formulas come from arc welding. They serve as an
indication for a cut edge, never as a cutting rule. Carbon picked up by the edge is in none.
"""

import math
from dataclasses import dataclass, fields

from kerfdocket.physics import _checks

__all__ = [
    "Composition",
    "carbon_equivalent_cet",
    "carbon_equivalent_iiw",
    "carbon_equivalent_pcm",
    "cut_edge_cooling_time_s",
    "cutting_preheat_k",
    "duren_hardness_hv",
    "edge_heat_j_m2",
    "hardness_band_hv",
    "maynier_hardness_hv",
    "preheat_en1011_k",
    "yurioka_hardness_hv",
]


@dataclass(frozen=True, slots=True)
class Composition:
    """Chemical composition of a steel; an element not given counts as none.

    Attributes:
        carbon: [mass %]
        silicon: [mass %]
        manganese: [mass %]
        chromium: [mass %]
        molybdenum: [mass %]
        vanadium: [mass %]
        nickel: [mass %]
        copper: [mass %]
        boron: [mass %]
        niobium: [mass %]
    """

    carbon: float = 0.0
    silicon: float = 0.0
    manganese: float = 0.0
    chromium: float = 0.0
    molybdenum: float = 0.0
    vanadium: float = 0.0
    nickel: float = 0.0
    copper: float = 0.0
    boron: float = 0.0
    niobium: float = 0.0

    def __post_init__(self) -> None:
        total = 0.0
        for field in fields(self):
            share = getattr(self, field.name)
            _checks.within(field.name, share, 0.0, 100.0, "mass %")
            total += share
        if total > 100.0:
            raise ValueError(f"the elements sum to {total:g} mass %: accepted is up to 100")


def carbon_equivalent_iiw(composition: Composition) -> float:
    """Return the carbon equivalent of the International Institute of Welding, CE = CEV.

    C + Mn/6 + (Cr+Mo+V)/5 + (Ni+Cu)/15.

    Args:
        composition: chemical composition. [mass %]

    Returns:
        Carbon equivalent. [mass %]

    Raises:
        ValueError: never for a valid composition.

    References:
        [1] EN 1011-2, method A; EN 10025 (formula from memory).

    >>> round(carbon_equivalent_iiw(Composition(carbon=0.18, manganese=1.5)), 2)
    0.43
    """
    c = composition
    return (
        c.carbon
        + c.manganese / 6.0
        + (c.chromium + c.molybdenum + c.vanadium) / 5.0
        + (c.nickel + c.copper) / 15.0
    )


def carbon_equivalent_cet(composition: Composition) -> float:
    """Return the carbon equivalent CET, C + (Mn+Mo)/10 + (Cr+Cu)/20 + Ni/40.

    Args:
        composition: chemical composition. [mass %]

    Returns:
        Carbon equivalent. [mass %]

    Raises:
        ValueError: never for a valid composition.

    References:
        [1] EN 1011-2, method B (formula read in copies).

    >>> round(carbon_equivalent_cet(Composition(carbon=0.18, manganese=1.5)), 2)
    0.33
    """
    c = composition
    return (
        c.carbon
        + (c.manganese + c.molybdenum) / 10.0
        + (c.chromium + c.copper) / 20.0
        + c.nickel / 40.0
    )


def carbon_equivalent_pcm(composition: Composition) -> float:
    """Return the crack-sensitivity index Pcm.

    C + Si/30 + (Mn+Cu+Cr)/20 + Ni/60 + Mo/15 + V/10 + 5B.

    Args:
        composition: chemical composition. [mass %]

    Returns:
        Carbon equivalent. [mass %]

    Raises:
        ValueError: never for a valid composition.

    References:
        [1] Ito and Bessyo, crack-sensitivity index (formula read in copies).

    >>> round(carbon_equivalent_pcm(Composition(carbon=0.18, manganese=1.5)), 3)
    0.255
    """
    c = composition
    return (
        c.carbon
        + c.silicon / 30.0
        + (c.manganese + c.copper + c.chromium) / 20.0
        + c.nickel / 60.0
        + c.molybdenum / 15.0
        + c.vanadium / 10.0
        + 5.0 * c.boron
    )


def cutting_preheat_k(carbon_equivalent_percent: float) -> float:
    """Return the preheat temperature before thermal cutting, 900 CE - 350 °C.

    Which carbon equivalent the source means is unclear in the extract that was read; CE (IIW)
    is the larger of the usual ones and so the cautious choice. A result at or below the
    temperature of the plate (CE under about 0.41 %) means that the rule asks for no preheat.
    The source wants the full thickness heated over at least twice its width.

    Args:
        carbon_equivalent_percent: carbon equivalent, 0.1 to 1.5. [mass %]

    Returns:
        Temperature of the rule, not limited to a plate's own temperature. [K]

    Raises:
        ValueError: the carbon equivalent is outside 0.1 to 1.5 %; below, the rule gives no
            temperature and asks for no preheat.

    References:
        [1] Polish welding textbook, section 11.2, p. 221 (published, seen in an extract).

    >>> round(cutting_preheat_k(0.50) - 273.15)
    100
    """
    _checks.within("carbon_equivalent_percent", carbon_equivalent_percent, 0.1, 1.5, "mass %")
    return 900.0 * carbon_equivalent_percent - 350.0 + _checks.ZERO_CELSIUS_K


def preheat_en1011_k(
    carbon_equivalent_percent: float,
    thickness_m: float,
    hydrogen_ml_100g: float,
    heat_input_j_m: float,
) -> float:
    """Return the preheat temperature of EN 1011-2, method B. An arc-welding rule, see below.

    Tp = 697 CET + 160 tanh(d/35) + 62 HD^0.35 + (53 CET - 32) Q - 328 °C, d in mm, Q in kJ/mm.
    It guards against hydrogen cracking of a weld: hydrogen and heat input are those of arc
    welding. A flame-cut edge has neither, so the result is an upper indication there and never
    a cutting rule. A result below the temperature of the plate means no preheat by this rule;
    0.01 % CET is worth 7.5 K.

    Args:
        carbon_equivalent_percent: CET, 0.2 to 0.5. [mass %]
        thickness_m: plate thickness, 10 to 90 mm. [m]
        hydrogen_ml_100g: diffusible hydrogen of the weld metal, 1 to 20. [ml/100 g]
        heat_input_j_m: heat input of the weld, 0.5 to 4 kJ/mm. [J/m]

    Returns:
        Temperature of the rule. [K]

    Raises:
        ValueError: an argument is outside the range of the rule.

    References:
        [1] EN 1011-2, method B (constants read in copies, ranges from memory).

    >>> round(preheat_en1011_k(0.33, 0.040, 5.0, 1.0e6) - 273.15)
    127
    """
    cet = carbon_equivalent_percent
    _checks.within("carbon_equivalent_percent", cet, 0.2, 0.5, "mass %")
    _checks.within("thickness_m", thickness_m, 0.010, 0.090, "m")
    _checks.within("hydrogen_ml_100g", hydrogen_ml_100g, 1.0, 20.0, "ml/100 g")
    _checks.within("heat_input_j_m", heat_input_j_m, 0.5e6, 4.0e6, "J/m")
    thickness_mm, heat_kj_mm = thickness_m * 1e3, heat_input_j_m * 1e-6
    celsius = (
        697.0 * cet
        + 160.0 * math.tanh(thickness_mm / 35.0)
        + 62.0 * math.pow(hydrogen_ml_100g, 0.35)
        + (53.0 * cet - 32.0) * heat_kj_mm
        - 328.0
    )
    return celsius + _checks.ZERO_CELSIUS_K


def edge_heat_j_m2(kerf_m: float) -> tuple[float, float]:
    """Return the range of heat that flows from the kerf into the plate, per area of cut.

    1.7 to 2.3 MJ per kilogram of kerf iron, times 7850 kg/m3 and the kerf (derived: moving
    line source, 1500 °C as wide as the kerf, assumed constants of hot steel). Order of
    magnitude; not validated by experiment.

    Args:
        kerf_m: width of the kerf. [m]

    Returns:
        Low and high heat per area, both sides of the kerf together. [J/m2]

    Raises:
        ValueError: the kerf is not finite or outside its range.

    References:
        [1] derived; Rosenthal's moving line source, checked against Swift-Hook and Gick.

    >>> low, high = edge_heat_j_m2(0.0018)
    >>> round(low / 1e6), round(high / 1e6)
    (24, 32)
    """
    _checks.above_zero("kerf_m", kerf_m, 0.05, "m")
    return 1.7e6 * 7850.0 * kerf_m, 2.3e6 * 7850.0 * kerf_m


def cut_edge_cooling_time_s(heat_j_m2: float, plate_temperature_k: float) -> float:
    """Return the cooling time of a cut edge from 800 to 500 °C, t8/5.

    The thin-plate form of EN 1011-2, annex D, with shape factor 1:
    (4300 - 4.3 Tp) 1e5 (Q/d)² (1/(500-Tp)² - 1/(800-Tp)²), Q/d in kJ/mm². It holds at every
    thickness here, because the cut heats the whole thickness (derived). The constants are those
    of arc welding; thin fast cuts cool, and so harden, the most.

    Args:
        heat_j_m2: conducted heat per area of cut, see `edge_heat_j_m2`. [J/m2]
        plate_temperature_k: temperature of the plate before the cut, -30 to 450 °C. [K]

    Returns:
        Cooling time. [s]

    Raises:
        ValueError: an argument is not finite or outside its range.

    References:
        [1] EN 1011-2, annex D (formula read in copies).

    >>> round(cut_edge_cooling_time_s(30.0e6, 293.15), 2)
    1.02
    """
    _checks.above_zero("heat_j_m2", heat_j_m2, 1e9, "J/m2")
    zero = _checks.ZERO_CELSIUS_K
    _checks.within("plate_temperature_k", plate_temperature_k, 243.15, 723.15, "K")
    plate = plate_temperature_k - zero
    heat_kj_mm2 = heat_j_m2 * 1e-9
    drop = 1.0 / (500.0 - plate) ** 2 - 1.0 / (800.0 - plate) ** 2
    return (4300.0 - 4.3 * plate) * 1e5 * heat_kj_mm2**2 * drop


def _check_hardness(composition: Composition, cooling_time_s: float) -> None:
    _checks.within("carbon", composition.carbon, 0.0, 0.6, "mass %")
    _checks.within("cooling_time_s", cooling_time_s, 0.1, 1000.0, "s")


def duren_hardness_hv(composition: Composition, cooling_time_s: float) -> float:
    """Return the hardness of a heat-affected zone after Düren. A welding formula.

    HV = 2019 (C (1 - 0.5 lg t) + 0.3 X) + 66 (1 - 0.8 lg t) with
    X = Si/11 + Mn/8 + Cu/9 + Cr/5 + Ni/17 + Mo/6 + V/3, held between bainite
    350 (C + X) + 101 and martensite 802 C + 305, as the method prescribes.

    Args:
        composition: chemical composition, carbon up to 0.6. [mass %]
        cooling_time_s: cooling time from 800 to 500 °C. [s]

    Returns:
        Vickers hardness. [HV10]

    Raises:
        ValueError: carbon or cooling time is outside its range.

    References:
        [1] Düren, welding-hardness formula (martensite read in copies, the rest from memory).

    >>> steel = Composition(carbon=0.18, silicon=0.45, manganese=1.5)
    >>> round(duren_hardness_hv(steel, 10.0))
    333
    """
    _check_hardness(composition, cooling_time_s)
    c = composition
    others = (
        c.silicon / 11.0
        + c.manganese / 8.0
        + c.copper / 9.0
        + c.chromium / 5.0
        + c.nickel / 17.0
        + c.molybdenum / 6.0
        + c.vanadium / 3.0
    )
    martensite = 802.0 * c.carbon + 305.0
    bainite = 350.0 * (c.carbon + others) + 101.0
    decades = math.log10(cooling_time_s)
    mixed = 2019.0 * (c.carbon * (1.0 - 0.5 * decades) + 0.3 * others)
    mixed += 66.0 * (1.0 - 0.8 * decades)
    return min(max(mixed, bainite), martensite)


# EN 10020 counts a steel as alloyed from this boron content on (from memory).
_BORON_STEEL_PERCENT = 0.0008


def yurioka_hardness_hv(composition: Composition, cooling_time_s: float) -> float:
    """Return the hardness of a heat-affected zone after Yurioka (1987). A welding formula.

    An arctangent between martensite HM = 884 C (1 - 0.3 C²) + 294 and bainite
    HB = 145 + 130 tanh(2.65 CE_II - 0.69); it overshoots at both ends and is held between HB
    and HM. The boron term of the method is not known here, so boron steels are refused: they
    harden more than the rest of the formula says.

    Args:
        composition: chemical composition, carbon up to 0.6, boron below 0.0008. [mass %]
        cooling_time_s: cooling time from 800 to 500 °C. [s]

    Returns:
        Vickers hardness. [HV10]

    Raises:
        ValueError: carbon, boron or cooling time is outside its range.

    References:
        [1] Yurioka et al., 1987 (HM and HB read in copies, the rest from memory).

    >>> steel = Composition(carbon=0.18, silicon=0.45, manganese=1.5)
    >>> round(yurioka_hardness_hv(steel, 10.0))
    325
    """
    _check_hardness(composition, cooling_time_s)
    c = composition
    if c.boron >= _BORON_STEEL_PERCENT:
        raise ValueError(
            f"boron={c.boron} mass %: accepted is below {_BORON_STEEL_PERCENT}; "
            "the formula has no term for boron steels and would be unsafe"
        )
    effective = c.carbon if c.carbon <= 0.3 else c.carbon / 6.0 + 0.25
    ce_1 = (
        effective
        + c.silicon / 24.0
        + c.manganese / 6.0
        + c.copper / 15.0
        + c.nickel / 12.0
        + c.chromium * (1.0 - 0.16 * math.sqrt(c.chromium)) / 8.0
        + c.molybdenum / 4.0
    )
    ce_2 = (
        c.carbon
        + c.silicon / 24.0
        + c.manganese / 5.0
        + c.copper / 10.0
        + c.nickel / 18.0
        + c.chromium / 5.0
        + c.molybdenum / 2.5
        + c.vanadium / 5.0
        + c.niobium / 3.0
    )
    ce_3 = (
        effective
        + c.manganese / 3.6
        + c.copper / 20.0
        + c.nickel / 9.0
        + c.chromium / 5.0
        + c.molybdenum / 4.0
    )
    martensite = 884.0 * c.carbon * (1.0 - 0.3 * c.carbon**2) + 294.0
    bainite = 145.0 + 130.0 * math.tanh(2.65 * ce_2 - 0.69)
    ln_martensite = 10.6 * ce_1 - 4.8
    ln_bainite = 6.2 * ce_3 + 0.74
    if ln_bainite <= ln_martensite:
        raise ValueError(
            "composition: the formula's bainite time falls below its martensite time; "
            "accepted is a leaner steel"
        )
    place = 4.0 * (math.log(cooling_time_s) - ln_martensite) / (ln_bainite - ln_martensite) - 2.0
    middle, half = 0.5 * (martensite + bainite), (martensite - bainite) / 2.2
    return min(max(middle - half * math.atan(place), bainite), martensite)


def maynier_hardness_hv(
    composition: Composition, cooling_rate_k_s: float
) -> tuple[float, float, float]:
    """Return the hardness of martensite, bainite and ferrite-pearlite after Maynier (1978).

    Regressions in composition and in lg V, V the cooling rate at 700 °C in K/h. They say how
    hard each structure is, not how much of it forms.

    Args:
        composition: chemical composition, carbon up to 0.6. [mass %]
        cooling_rate_k_s: cooling rate at 700 °C, 0.001 to 3000. [K/s]

    Returns:
        Vickers hardness of martensite, bainite, ferrite-pearlite. [HV]

    Raises:
        ValueError: carbon or cooling rate is outside its range.

    References:
        [1] Maynier, Dollet and Bastien, 1978 (constants read in several copies).

    >>> steel = Composition(carbon=0.18, silicon=0.45, manganese=1.5)
    >>> [round(hv) for hv in maynier_hardness_hv(steel, 100.0)]
    [443, 315, 159]
    """
    _checks.within("carbon", composition.carbon, 0.0, 0.6, "mass %")
    _checks.within("cooling_rate_k_s", cooling_rate_k_s, 0.001, 3000.0, "K/s")
    c = composition
    decades = math.log10(cooling_rate_k_s * 3600.0)
    martensite = (
        127.0
        + 949.0 * c.carbon
        + 27.0 * c.silicon
        + 11.0 * c.manganese
        + 8.0 * c.nickel
        + 16.0 * c.chromium
        + 21.0 * decades
    )
    bainite = (
        -323.0
        + 185.0 * c.carbon
        + 330.0 * c.silicon
        + 153.0 * c.manganese
        + 65.0 * c.nickel
        + 144.0 * c.chromium
        + 191.0 * c.molybdenum
        + decades
        * (
            89.0
            + 53.0 * c.carbon
            - 55.0 * c.silicon
            - 22.0 * c.manganese
            - 10.0 * c.nickel
            - 20.0 * c.chromium
            - 33.0 * c.molybdenum
        )
    )
    ferrite_pearlite = (
        42.0
        + 223.0 * c.carbon
        + 53.0 * c.silicon
        + 30.0 * c.manganese
        + 12.6 * c.nickel
        + 7.0 * c.chromium
        + 19.0 * c.molybdenum
        + decades
        * (10.0 - 19.0 * c.silicon + 4.0 * c.nickel + 8.0 * c.chromium + 130.0 * c.vanadium)
    )
    return martensite, bainite, ferrite_pearlite


def hardness_band_hv(composition: Composition, cooling_time_s: float) -> tuple[float, float]:
    """Return the band of edge hardness that two welding formulas span.

    Düren and Yurioka; they differ by up to 123 HV, so the band is the result and not its
    middle. Carbon picked up by the edge is not in it.

    Args:
        composition: chemical composition, carbon up to 0.6, boron below 0.0008. [mass %]
        cooling_time_s: cooling time from 800 to 500 °C, see `cut_edge_cooling_time_s`. [s]

    Returns:
        Low and high Vickers hardness. [HV10]

    Raises:
        ValueError: carbon, boron or cooling time is outside its range.

    References:
        [1] `duren_hardness_hv` and `yurioka_hardness_hv`; the band is derived.

    >>> steel = Composition(carbon=0.18, silicon=0.45, manganese=1.5)
    >>> [round(hv) for hv in hardness_band_hv(steel, 10.0)]
    [325, 333]
    """
    one = duren_hardness_hv(composition, cooling_time_s)
    other = yurioka_hardness_hv(composition, cooling_time_s)
    return min(one, other), max(one, other)
