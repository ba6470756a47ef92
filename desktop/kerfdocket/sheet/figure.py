"""The small picture of a change-over plan: what each cylinder holds over the time of the job."""

from dataclasses import dataclass

from kerfdocket.planning.model import ChangeOver

__all__ = ["Figure", "Label", "Line", "change_over_figure"]

# Millimetres on the sheet.
_WIDE, _NARROW, _HEIGHT = 90.0, 42.0, 20.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 6.5, 1.0, 3.0, 4.4
_MOST_DRAWN = 12  # spells of one gas; more would be a black patch
_STEPS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480, 960, 1920)  # minutes between two marks
_MOST_MARKS = 5
_LABEL_ROOM = 7.0  # for the unit at the end
_NAME_ROOM = 6.0  # for the name of a cylinder
_OPEN = ("open", "open-2")


@dataclass(frozen=True)
class Line:
    """A line from point to point, in millimetres.

    Attributes:
        points: as SVG wants them.
        look: `open` while a cylinder gives gas (`open-2` for the second gas), `waiting` before and
            after.
    """

    points: str
    look: str


@dataclass(frozen=True)
class Label:
    """A word at a place, in millimetres."""

    x: float
    y: float
    text: str
    anchor: str


@dataclass(frozen=True)
class Figure:
    """What the template draws.

    Attributes:
        text: what it shows, for who cannot see it.
    """

    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    lines: tuple[Line, ...]
    marks: tuple[float, ...]
    labels: tuple[Label, ...]
    text: str


def _step(minutes: float) -> int:
    return next((step for step in _STEPS if minutes / step <= _MOST_MARKS), _STEPS[-1])


def change_over_figure(plans: tuple[ChangeOver, ...]) -> Figure:
    """Draw content over job time: a line for each cylinder or group, falling while it is open.

    Args:
        plans: of one gas or two, each with a spell at least.

    Returns:
        Lines, marks and words in millimetres; full height is the fullest of each gas.
    """
    width = _WIDE if len(plans) == 1 else _NARROW
    right, bottom = width - _RIGHT, _HEIGHT - _BOTTOM
    end_s = max(max(plan.ends_s, plan.spells[-1].ends_s[1]) for plan in plans)

    def across(time_s: float) -> float:
        return round(_LEFT + (right - _LEFT) * min(time_s / end_s, 1.0), 2)

    lines, labels = [], []
    for plan, look in zip(plans, _OPEN, strict=False):
        most_kg = max(spell.holds_kg for spell in plan.spells)
        for spell in plan.spells[:_MOST_DRAWN]:
            begin, end = across(spell.begins_s), across(spell.ends_s[1])
            full, left = (
                round(bottom - (bottom - _TOP) * max(mass_kg, 0.0) / most_kg, 2)
                for mass_kg in (spell.holds_kg, spell.holds_kg - spell.gives_kg)
            )
            if begin > _LEFT:
                lines.append(Line(f"{_LEFT},{full} {begin},{full}", "waiting"))
            lines.append(Line(f"{begin},{full} {end},{left}", look))
            if end < right:
                lines.append(Line(f"{end},{left} {right},{left}", "waiting"))
            name = _names(spell.names)
            beside = round((begin + end) / 2.0 + 1.0, 2)
            has_room = beside < right - _NAME_ROOM
            labels.append(
                Label(
                    beside if has_room else right,
                    round((full + left) / 2.0 - 0.6, 2),
                    f"{plan.gas[0].upper()}{name}" if len(plans) > 1 else name,
                    "start" if has_room else "end",
                )
            )
    step, marks, at_min = _step(end_s / 60.0), [], 0
    while at_min * 60.0 <= end_s * 1.0001:
        x = across(at_min * 60.0)
        marks.append(x)
        if x <= right - _LABEL_ROOM:
            labels.append(Label(x, _HEIGHT - 0.6, str(at_min), "middle"))
        at_min += step
    labels.append(Label(right, _HEIGHT - 0.6, "min", "end"))
    labels.append(Label(_LEFT - 1.0, _TOP + 1.2, "full", "end"))
    labels.append(Label(_LEFT - 1.0, bottom + 0.8, "0", "end"))
    said = "; ".join(
        f"{plan.gas} {_names(spell.names)} from {spell.begins_s / 60:.0f} to "
        f"{spell.ends_s[1] / 60:.0f} min"
        for plan in plans
        for spell in plan.spells
    )
    return Figure(
        width,
        _HEIGHT,
        _LEFT,
        right,
        _TOP,
        bottom,
        tuple(lines),
        tuple(marks),
        tuple(labels),
        f"Content of the cylinders over the time of the job: {said}.",
    )


def _names(names: tuple[str, ...]) -> str:
    """`1`, `1+2`, `3–7`."""
    return "+".join(names) if len(names) <= 2 else f"{names[0]}–{names[-1]}"
