"""The pressure on the way from torch to regulator: hose with its tails, then the arrestor."""

from kerfdocket.job import Arrestor, Hose, Job
from kerfdocket.physics.air import AIR
from kerfdocket.physics.arrestor import arrestor_inlet_gauge_pa
from kerfdocket.physics.gas import Gas
from kerfdocket.physics.hose import CannotPass, hose_inlet_gauge_pa, hose_tail_loss_coefficient
from kerfdocket.physics.solve import falling_root
from kerfdocket.planning.keys import Span

__all__ = [
    "ASSUMED_LOSS",
    "TAIL_BORE_RATIO",
    "ArrestorUnreadable",
    "arrestor_loss_pa",
    "left_at_torch_pa",
    "regulator_gauge_pa",
]

# Bore of a hose tail over that of its hose, in the order that loses the least first: assumed,
# common practice, no source; 6.3 mm hose has tails of about 5 mm.
TAIL_BORE_RATIO = Span(0.9, 0.8, 0.7)
# What an arrestor takes of the pressure behind it where its loss is not stated: assumed, common
# practice, no source.
ASSUMED_LOSS = Span(0.0, 0.05, 0.1)


class ArrestorUnreadable(ValueError):
    """The stated figures of an arrestor cannot be carried over to this flow and pressure."""


def arrestor_loss_pa(
    job: Job,
    gas: Gas,
    arrestor: Arrestor,
    outlet_gauge_pa: float,
    flow_kg_s: float,
    assumed_share: float = ASSUMED_LOSS.value,
) -> float:
    """Return what an arrestor takes, by its own figures.

    Args:
        job: the job, for air and temperature.
        gas: the gas that passes.
        arrestor: its loss as stated; scaled where the flow that it was read at is stated, too.
        outlet_gauge_pa: pressure behind it. [Pa gauge]
        flow_kg_s: flow. [kg/s]
        assumed_share: what it takes of the outlet pressure where its loss is not stated. [-]

    Returns:
        Loss, 0 where none is fitted. [Pa]

    Raises:
        ArrestorUnreadable: the point of the diagram cannot be, or the pressure is out of range.
    """
    if not arrestor.fitted:
        return 0.0
    if arrestor.pressure_loss is None:
        return assumed_share * outlet_gauge_pa
    read_at = arrestor.loss_flow
    if read_at is None or arrestor.pressure_loss.si <= 0.0:
        return arrestor.pressure_loss.si
    read_gas = AIR if arrestor.loss_gas == "air" else gas
    inlet = arrestor.loss_inlet
    try:
        inlet_pa = arrestor_inlet_gauge_pa(
            gas,
            outlet_gauge_pa,
            job.site.air_abs_pa,
            flow_kg_s,
            read_gas,
            inlet.si if inlet else outlet_gauge_pa + arrestor.pressure_loss.si,
            arrestor.pressure_loss.si,
            read_gas.mass_kg(read_at.si),
            job.site.temperature.si,
        )
    except ValueError as error:
        raise ArrestorUnreadable(str(error)) from error
    return inlet_pa - outlet_gauge_pa


def regulator_gauge_pa(
    job: Job,
    gas: Gas,
    hose: Hose,
    arrestor: Arrestor,
    torch_pa: float,
    flow_kg_s: float,
    tail_bore_ratio: float = TAIL_BORE_RATIO.value,
    assumed_share: float = ASSUMED_LOSS.value,
    bore_m: float | None = None,
    length_m: float | None = None,
) -> float:
    """Return what the regulator must give so that the torch has its pressure under flow.

    Args:
        job: the job, for air and temperature.
        gas: the gas that passes.
        hose: the hose.
        arrestor: the flashback arrestor.
        torch_pa: pressure at the torch. [Pa gauge]
        flow_kg_s: flow. [kg/s]
        tail_bore_ratio: bore of the hose tails over that of the hose. [-]
        assumed_share: as of `arrestor_loss_pa`. [-]
        bore_m: another bore than the hose has, to see what it would do. [m]
        length_m: another length than the hose has. [m]

    Returns:
        Pressure at the regulator. [Pa gauge]

    Raises:
        CannotPass: the hose cannot pass the flow.
        ArrestorUnreadable: the arrestor's figures do not go with this flow.
        ValueError: something is outside what the formulas are good for.
    """
    inlet_pa = hose_inlet_gauge_pa(
        gas,
        torch_pa,
        job.site.air_abs_pa,
        flow_kg_s,
        bore_m or hose.bore.si,
        length_m or hose.length.si,
        job.site.temperature.si,
        fittings_k=hose.joints * hose_tail_loss_coefficient(tail_bore_ratio),
    )
    return inlet_pa + arrestor_loss_pa(job, gas, arrestor, inlet_pa, flow_kg_s, assumed_share)


def left_at_torch_pa(
    job: Job, gas: Gas, hose: Hose, arrestor: Arrestor, regulator_pa: float, flow_kg_s: float
) -> float:
    """Return what is left at the torch of a pressure at the regulator; the reverse of the above.

    Args:
        job: the job, for air and temperature.
        gas: the gas that passes.
        hose: the hose.
        arrestor: the flashback arrestor.
        regulator_pa: pressure at the regulator. [Pa gauge]
        flow_kg_s: flow. [kg/s]

    Returns:
        Pressure at the torch. [Pa gauge]

    Raises:
        CannotPass: nothing is left.
        ValueError: something is outside what the formulas are good for.
    """

    def to_spare(torch_pa: float) -> float:
        try:
            needed = regulator_gauge_pa(job, gas, hose, arrestor, torch_pa, flow_kg_s)
        except CannotPass:
            return -1.0
        return regulator_pa - needed

    if to_spare(0.0) < 0.0:
        raise CannotPass(f"nothing of {regulator_pa / 1e5:.4g} bar is left at the torch")
    return falling_root(to_spare, 0.0, regulator_pa)
