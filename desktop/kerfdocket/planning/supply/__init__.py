"""Stage 8: what is on hand, whether it lasts, and in which order it is emptied."""

from kerfdocket.planning.supply.stage import SupplyResult, plan_supply

__all__ = ["SupplyResult", "plan_supply"]
