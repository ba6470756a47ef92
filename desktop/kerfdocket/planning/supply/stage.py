"""The stage itself: oxygen and fuel gas put together."""

from dataclasses import dataclass, replace
from typing import Self

from kerfdocket.job import Job
from kerfdocket.planning.cut import CutResult
from kerfdocket.planning.line import LineResult
from kerfdocket.planning.model import ChangeOver, StageResult, SupplyLine
from kerfdocket.planning.setting import SettingResult
from kerfdocket.planning.supply.fuel import plan_fuel
from kerfdocket.planning.supply.oxygen import plan_oxygen
from kerfdocket.planning.use import UseResult
from kerfdocket.quantity import UnitSystem
from kerfdocket.reference import Reference

__all__ = ["SupplyResult", "plan_supply"]


@dataclass(frozen=True)
class SupplyResult(StageResult):
    """Attributes:
    lines: the cylinders on hand, as a sheet lists them.
    change_overs: in which order the cylinders of each gas are emptied.
    """

    lines: tuple[SupplyLine, ...] = ()
    change_overs: tuple[ChangeOver, ...] = ()

    def shown_in(self, units: UnitSystem) -> Self:
        """Return the same with its values written in a system's units."""
        lines = (replace(line, content=line.content.shown_in(units)) for line in self.lines)
        return replace(super().shown_in(units), lines=tuple(lines))


def plan_supply(
    job: Job,
    reference: Reference,
    setting: SettingResult,
    line: LineResult,
    cut: CutResult,
    use: UseResult,
) -> SupplyResult:
    """Compare what is there with what it takes.

    Args:
        job: the job.
        reference: the tables.
        setting: the setting stage.
        line: the line stage.
        cut: the cut stage.
        use: the use stage.

    Returns:
        Contents, draw limits, how long they last, numbers of cylinders, change-overs.
    """
    oxygen = plan_oxygen(job, setting.oxygen, cut, use)
    fuel = plan_fuel(job, reference, setting, line, cut, use)
    return SupplyResult(
        "supply",
        (*oxygen.estimates, *fuel.estimates),
        (*oxygen.findings, *fuel.findings),
        (*oxygen.lines, *fuel.lines),
        tuple(one for one in (oxygen.change_over, fuel.change_over) if one is not None),
    )
