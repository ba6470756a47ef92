"""The order in which cylinders are emptied, and when one takes over from another."""

from collections.abc import Callable, Sequence

from kerfdocket.physics.gas import Gas
from kerfdocket.planning.keys import Span
from kerfdocket.planning.model import ChangeOver, Spell
from kerfdocket.planning.supply.common import Unit

__all__ = ["plan_change_over"]

_HAIR = 1e-9  # of the whole: less is not worth another cylinder

Held = Callable[[Unit, float], tuple[float, str]]
LeftText = Callable[[Unit, float], str]


def plan_change_over(
    gas: Gas,
    gas_name: str,
    units: Sequence[Unit],
    side_by_side: int,
    need_kg: Span,
    clock_s: Span,
    can_give: Held,
    left_text: LeftText,
) -> ChangeOver:
    """Lay out which cylinders give the gas when.

    The fullest come last, so that part-used ones are emptied and a full one is left over (common
    practice, no source). The gas is taken evenly over the time on the clock; those side by side
    give in proportion to what they can.

    Args:
        gas: properties of the gas. [-]
        gas_name: its name.
        units: cylinders and bundles on hand.
        side_by_side: how many are open together, at least 1.
        need_kg: what the job takes. [kg]
        clock_s: how long it takes. [s]
        can_give: unit and its mean draw [kg/s] -> what it gives before it must be changed [kg], and
            the reason for which it is changed.
        left_text: unit and what was taken from it [kg] -> what gauge or scale shows then.

    Returns:
        Spells one after the other; what they give adds up to what the job takes or what there is.
    """
    draws = [need / time for need, time in zip(need_kg, clock_s, strict=True)]
    draw_kg_s = draws[1]
    order = sorted(units, key=lambda unit: unit.holds_kg.value)  # stable: as stated where alike
    spells: list[Spell] = []
    used = 0
    at_s, open_kg = 0.0, need_kg.value
    earliest_kg = latest_kg = 0.0
    while used < len(order) and open_kg > _HAIR * need_kg.value:
        group = order[used : used + side_by_side]
        used += len(group)
        given = [can_give(unit, draw_kg_s / len(group)) for unit in group]
        able_kg = sum(amount for amount, _ in given)
        if able_kg <= 0.0:
            continue  # nothing usable in it: it is not opened
        gives_kg = min(able_kg, open_kg)
        # Contents and draw both have their doubt; the ends of it meet in the ends of the time.
        able = able_kg / sum(unit.holds_kg.value for unit in group)
        earliest_kg += able * sum(unit.holds_kg.low for unit in group)
        latest_kg += able * sum(unit.holds_kg.high for unit in group)
        open_kg -= gives_kg
        is_changed = open_kg > _HAIR * need_kg.value
        ends_s = at_s + gives_kg / draw_kg_s
        if is_changed:
            span = (
                min(earliest_kg / max(draws), ends_s),
                ends_s,
                max(latest_kg / min(draws), ends_s),
            )
        else:
            open_kg, ends_s = 0.0, clock_s.value
            span = (min(clock_s.low, ends_s), ends_s, max(clock_s.high, ends_s))
        share = gives_kg / able_kg
        spells.append(
            Spell(
                gas=gas_name,
                names=tuple(unit.name for unit in group),
                text="; ".join(dict.fromkeys(unit.text for unit in group)),
                begins_s=at_s,
                ends_s=span,
                holds_kg=sum(unit.holds_kg.value for unit in group),
                gives_kg=gives_kg,
                left_text="; ".join(
                    dict.fromkeys(
                        left_text(unit, amount * share)
                        for unit, (amount, _) in zip(group, given, strict=True)
                    )
                ),
                is_changed=is_changed,
                reason=given[0][1] if is_changed else "",
            )
        )
        at_s = ends_s
    return ChangeOver(
        gas=gas_name,
        spells=tuple(spells),
        unused=tuple(unit.name for unit in order[used:]),
        ends_s=clock_s.value,
        missing_kg=open_kg,
        gas_density_kg_m3=gas.density_reference_kg_m3,
    )
