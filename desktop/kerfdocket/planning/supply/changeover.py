"""The order in which cylinders are emptied, and when one takes over from another."""

from collections.abc import Callable, Sequence

from kerfdocket.language import _, marked
from kerfdocket.physics.gas import Gas
from kerfdocket.planning.keys import Span
from kerfdocket.planning.model import ChangeCause, ChangeOver, Spell
from kerfdocket.planning.supply.common import Unit

__all__ = ["opening_order", "plan_change_over"]

_LEAST_S = 300.0  # to fit and leak-test another one: common practice, no source
_HAIR = 1e-9  # of the whole: less is not worth another cylinder

_REASONS: dict[ChangeCause, str] = {
    "at the reserve": marked("down to the reserve"),
    "nearly empty": marked("nearly empty"),
    "empty": marked("empty"),
    "too cold": marked("too cold to hold its pressure"),
}

CanGive = Callable[[Unit, float], tuple[float, ChangeCause]]
LeftText = Callable[[Unit, float], str]
Limit = Callable[[Unit], float]


def plan_change_over(
    gas: Gas,
    gas_name: str,
    units: Sequence[Unit],
    need_kg: Span,
    clock_s: Span,
    set_up_s: Span,
    can_give: CanGive,
    left_text: LeftText,
    limit: Limit | None = None,
    flow_kg_s: float = 0.0,
) -> ChangeOver:
    """Lay out which cylinders give the gas when.

    The fullest come last, so that part-used ones are emptied and a full one is left over (common
    practice, no source). The gas is taken evenly over the time on the clock after setting up; those
    side by side give in proportion to what they hold.

    Args:
        gas: properties of the gas. [-]
        gas_name: its name.
        units: cylinders and bundles on hand.
        need_kg: what the job takes. [kg]
        clock_s: how long it takes, setting up included. [s]
        set_up_s: how long no gas is drawn at the begin. [s]
        can_give: unit and its mean draw over the job [kg/s] -> what it gives before it must be
            changed [kg], and the cause for which it is changed.
        left_text: unit and what was taken from it [kg] -> what gauge or scale shows then.
        limit: unit -> what may be drawn from it at once [kg/s]; None where there is no limit. As
            many are open together as the flame needs.
        flow_kg_s: what the flame draws at once. [kg/s]

    Returns:
        Spells one after the other; what they give adds up to what the job takes or what there is.
    """
    drawing = [max(clock - begin, 1.0) for clock, begin in zip(clock_s, set_up_s, strict=True)]
    draws = [need / time for need, time in zip(need_kg, drawing, strict=True)]
    draw_kg_s = draws[1]
    order = opening_order(units, draw_kg_s)
    spells: list[Spell] = []
    used = 0
    at_s, open_kg = set_up_s.value, need_kg.value
    earliest_kg = latest_kg = 0.0
    while used < len(order) and open_kg > _HAIR * need_kg.value:
        group = _group(order[used:], limit, flow_kg_s)
        used += len(group)
        holds_kg = sum(unit.holds_kg.value for unit in group)
        if holds_kg <= 0.0:
            continue  # nothing usable in them: they are not opened
        given = [can_give(unit, draw_kg_s * unit.holds_kg.value / holds_kg) for unit in group]
        able_kg = sum(amount for amount, _cause in given)
        if able_kg <= 0.0:
            continue
        gives_kg = min(able_kg, open_kg)
        # Contents and draw both have their doubt; the ends of it meet in the ends of the time.
        earliest_kg += able_kg / holds_kg * sum(unit.holds_kg.low for unit in group)
        latest_kg += able_kg / holds_kg * sum(unit.holds_kg.high for unit in group)
        open_kg -= gives_kg
        is_changed = open_kg > _HAIR * need_kg.value
        if is_changed:
            ends_s = at_s + gives_kg / draw_kg_s
            earliest_s = set_up_s.low + earliest_kg / max(draws)
            latest_s = set_up_s.high + latest_kg / min(draws)
        else:
            open_kg, ends_s = 0.0, clock_s.value
            earliest_s, latest_s = clock_s.low, clock_s.high
        share, cause = gives_kg / able_kg, given[0][1]
        left = (
            left_text(unit, amount * share)
            for unit, (amount, _cause) in zip(group, given, strict=True)
        )
        spells.append(
            Spell(
                gas=gas_name,
                names=tuple(unit.name for unit in group),
                text="; ".join(dict.fromkeys(unit.text for unit in group)),
                begins_s=at_s if spells else 0.0,
                ends_s=(min(earliest_s, ends_s), ends_s, max(latest_s, ends_s)),
                holds_kg=holds_kg,
                gives_kg=gives_kg,
                left_text="; ".join(dict.fromkeys(left)),
                is_changed=is_changed,
                reason=_(_REASONS[cause]) if is_changed else "",
                cause=cause if is_changed else None,
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


def opening_order(units: Sequence[Unit], draw_kg_s: float = 0.0) -> list[Unit]:
    """Return cylinders and bundles in the order in which they are opened: the fullest last.

    One that is empty before the next is fitted is opened only where nothing else is left. How many
    must be open side by side is asked without a draw, so that such a one counts as the first: that
    number may then be too great, never too small.

    Args:
        units: as stated; those that are alike stay in that order.
        draw_kg_s: mean draw over the job; 0 goes by content alone. [kg/s]
    """
    return sorted(
        units,
        key=lambda unit: (unit.holds_kg.value < draw_kg_s * _LEAST_S, unit.holds_kg.value),
    )


def _group(rest: Sequence[Unit], limit: Limit | None, flow_kg_s: float) -> Sequence[Unit]:
    """As many of the rest, from the first on, as together give what the flame draws."""
    if limit is None:
        return rest[:1]
    given = 0.0
    for count, unit in enumerate(rest, start=1):
        given += limit(unit)
        if given >= flow_kg_s * (1.0 - 1e-9):
            return rest[:count]
    return rest
