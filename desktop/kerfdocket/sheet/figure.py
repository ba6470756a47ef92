"""The small picture of a change-over plan: what each cylinder holds over the time of the job."""

from dataclasses import dataclass

from kerfdocket.language import _, decimal_text
from kerfdocket.planning.model import ChangeOver

__all__ = ["Figure", "Label", "Line", "change_over_figure", "names_text"]

# Millimetres on the sheet.
_WIDE, _NARROW, _HEIGHT = 90.0, 42.0, 20.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 9.4, 1.0, 3.0, 4.6
_MOST_DRAWN = 6  # spells of one gas, as many as the table has room for
_LEAST_NAMED = 4.0  # a shorter spell has no room for its name
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
            name = names_text(spell.names, "+")
            beside = round((begin + end) / 2.0 + 1.0, 2)
            has_room = beside < right - _NAME_ROOM
            if end - begin < _LEAST_NAMED:
                continue
            labels.append(
                Label(
                    beside if has_room else right,
                    round((full + left) / 2.0 - 0.6, 2),
                    f"{_(plan.gas)[0].upper()}{name}" if len(plans) > 1 else name,
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
    labels.append(Label(_LEFT - 1.0, _TOP + 1.2, _("most"), "end"))
    labels.append(Label(_LEFT - 1.0, bottom + 0.8, "0", "end"))
    said = "; ".join(
        _(
            "{gas} {cylinders} from {begin} to {end} min",
            gas=_(plan.gas),
            cylinders=names_text(spell.names),
            begin=decimal_text(spell.begins_s / 60.0),
            end=decimal_text(spell.ends_s[1] / 60.0),
        )
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
        _("Content of the cylinders over the time of the job: {said}.", said=said),
    )


def names_text(names: tuple[str, ...], joint: str = ", ") -> str:
    """Write cylinders by their numbers, runs of three or more as from and to.

    >>> names_text(("8", "1", "2", "3")), names_text(("7", "4"), "+")
    ('1–3, 8', '4+7')
    """
    numbers = sorted(int(name) for name in names)
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    texts = []
    for run in runs:
        texts += [f"{run[0]}–{run[-1]}"] if len(run) > 2 else [str(number) for number in run]
    return joint.join(texts)
