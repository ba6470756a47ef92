"""The back of the traveller: how to work, what to beware of, what to check and who signs."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from kerfdocket.language import _, counted
from kerfdocket.planning.actuals import Planned, Side, planned_of
from kerfdocket.planning.model import Caution, Plan, said_source
from kerfdocket.sheet.layout import SHORTER_MM, Fine, Layout, line_count
from kerfdocket.sheet.stationery import OWN_CAUTION, OwnRows, own_mm
from kerfdocket.sheet.text import plain, said
from kerfdocket.sheet.values import Note, Notice, Value, Writer, notice_of

__all__ = ["Back", "ChangedPlace", "Check", "SourceLine", "StepGroup", "back_of"]

# Cautions that say what to do when it goes wrong: always whole, in a box of their own.
_AT_ONCE = ("flashback", "backfire", "acetylene-hot")
# Counted on printed sheets: letters in a line, the height that text shares with the small print
# (twice as high, as there are two columns), and what a line takes of it.
_STEP_LETTERS = 57
_LETTERS = 60
_FINE_LETTERS = 137
_BACK_HEIGHT_MM = 212.0
_UNSIGNED_MM = 16.0  # a draft has no boxes to sign, but a head that says what it is
_TIGHT_MM = 8.0  # what closer setting gains
_LINE_MM = 1.825
_FINE_LINE_MM = 3.6
# Places for changed cylinders: as many as stand beside each other, their rows, letters in a line of
# what they ask for, and what a line and the paddings of it take.
_PAIRS_IN_A_ROW = 3
_PAIR_COLUMNS = 4
_CHANGED_ROW_MM = 8.8
_ASK_LETTERS = 31
_ASK_LINE_MM = 3.65
_ASK_PADDING_MM = 1.2
_DOT = "\u00a0· "  # the dot stays with what it follows


@dataclass(frozen=True)
class StepGroup:
    """Steps under one heading."""

    title: str
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Check:
    """A limit of the finished cut and room for what was measured."""

    label: str
    value: Value
    field: str


@dataclass(frozen=True)
class SourceLine:
    """A source and what comes from it."""

    source: str
    used_for: str


@dataclass(frozen=True)
class ChangedPlace:
    """Room for what the old and the next cylinder of a gas show at each change.

    Attributes:
        field: its name.
        label: what was changed.
        ask: what to write of it, with its unit.
        pairs: how many pairs stand beside each other.
        columns: of the table, that are left beside them to go on in.
        goes_on: True where a line follows to go on in.
    """

    field: str
    label: str
    ask: str
    pairs: int
    columns: int
    goes_on: bool

    @property
    def height_mm(self) -> float:
        """How high its rows are. [mm]"""
        lines = line_count(self.label, _ASK_LETTERS) + line_count(self.ask, _ASK_LETTERS)
        first = max(_CHANGED_ROW_MM, lines * _ASK_LINE_MM + _ASK_PADDING_MM)
        return first + _CHANGED_ROW_MM * self.goes_on


@dataclass(frozen=True)
class Back:
    """How to work, what to beware of, what to check and who signs."""

    is_tight: bool
    is_pressed: bool
    emergencies: tuple[Notice, ...]
    cautions: tuple[Notice, ...]
    also: str
    steps: tuple[StepGroup, ...]
    checks: tuple[Check, ...]
    check_classes: str
    check_notes: tuple[Note, ...]
    notes: tuple[Notice, ...]
    assumed: str
    sources: tuple[SourceLine, ...]
    oxygen_before: str
    fuel_before: str
    changed: tuple[ChangedPlace, ...]
    own_fields: OwnRows


@dataclass(frozen=True)
class _Chosen:
    """Which cautions the back prints, and how."""

    at_once: tuple[Caution, ...]
    whole: tuple[Caution, ...]
    by_title: tuple[Caution, ...]
    with_reason: bool
    is_tight: bool = False


@dataclass(frozen=True)
class _Small:
    """The small print under the signatures."""

    notes: tuple[Notice, ...]
    assumed: tuple[str, ...]
    sources: tuple[SourceLine, ...]

    @property
    def paragraphs(self) -> tuple[str, ...]:
        sources = (f"{one.source} ({one.used_for})" for one in self.sources)
        notes = " ".join(f"{one.text} {one.remedy}" for one in self.notes)
        return notes, _DOT.join(self.assumed), "; ".join(sources)


def back_of(plan: Plan, write: Writer, layout: Layout, own: OwnRows) -> Back:
    """Return what the back prints, in the current language.

    Args:
        plan: the plan, with the shop's own cautions.
        write: of its values, when the front has been taken from it.
        layout: how it is laid out.
        own: the shop's own fields.

    Raises:
        KeyError: the plan lacks a value that the back prints.
    """
    job = plan.job
    quality = job.quality
    spare_lines, fine = layout.spare_lines, layout.fine
    checks = tuple(
        Check(value.label, value, field)
        for field, value in (
            (
                "measured_perpendicularity",
                write("quality.perpendicularity_limit", _("Perpendicularity u")),
            ),
            ("measured_roughness", write("quality.roughness_limit", _("Roughness Rz5"))),
            ("measured_size", write("quality.size_deviation")),
        )
    )
    changed = _changed_places(plan, write)
    places_mm = own_mm(own) + sum(one.height_mm for one in changed)
    chosen, small = _judged(plan, spare_lines, fine, places_mm)
    if chosen.by_title and fine == "whole":
        # What to do comes before where it stands in a book.
        chosen, small = _judged(plan, spare_lines, "short", places_mm)
    return Back(
        is_tight=chosen.is_tight,
        is_pressed=layout.is_pressed,
        emergencies=tuple(_caution(one, with_reason=False) for one in chosen.at_once),
        cautions=tuple(_caution(one, chosen.with_reason) for one in chosen.whole),
        also=_DOT.join(plain(one.title).rstrip(".") for one in chosen.by_title),
        steps=tuple(_groups(plan)),
        checks=checks,
        check_classes=_(
            "ISO 9013: u range {u}, Rz5 range {rz5}, size class {size}",
            u=quality.perpendicularity_range,
            rz5=quality.roughness_range,
            size=quality.tolerance_class,
        ),
        check_notes=write.notes.take(),
        notes=small.notes,
        assumed=_DOT.join(small.assumed),
        sources=small.sources,
        oxygen_before=(
            _("Oxygen meter before")
            if job.oxygen.comes_from_main
            else _("Oxygen gauge before, {unit}", unit=write.units.unit("bar"))
        ),
        fuel_before=(
            _("Fuel meter before")
            if job.fuel.comes_from_main
            else _("Fuel weight before, {unit}", unit=write.units.unit("kg"))
        ),
        changed=changed,
        own_fields=own,
    )


def _changed_places(plan: Plan, write: Writer) -> tuple[ChangedPlace, ...]:
    """Return where to write what cylinders showed when they were changed; a draft has none."""
    if plan.is_stopped:
        return ()
    planned = planned_of(plan)
    is_side_by_side = any(
        one.is_side_by_side for one in plan.change_overs if one.gas == plan.job.fuel.gas
    )
    unit = write.units.unit("kg")
    weights = (
        _("weights side by side added up: old → next, {unit}", unit=unit)
        if is_side_by_side
        else _("weight: old → next, {unit}", unit=unit)
    )
    gauges = _("gauge: old → next, {unit}", unit=write.units.unit("bar"))
    asked = (
        _changed_place(planned, "oxygen", _("Oxygen cylinders changed"), gauges),
        _changed_place(planned, "fuel", _("Fuel cylinders changed"), weights),
    )
    return tuple(one for one in asked if one is not None)


def _changed_place(planned: Planned, side: Side, label: str, ask: str) -> ChangedPlace | None:
    name = f"{side}_changes"
    if not planned.asks_for(name):
        return None
    changes = planned.changes(side)
    pairs = min(changes, _PAIRS_IN_A_ROW)
    columns = _PAIR_COLUMNS * (_PAIRS_IN_A_ROW - pairs)
    ask = ask.replace(" → ", "\u00a0→\u00a0")  # the pair stays in one line
    return ChangedPlace(name, label, ask, pairs, columns, changes > _PAIRS_IN_A_ROW)


def _judged(plan: Plan, spare_lines: int, fine: Fine, places_mm: float) -> tuple[_Chosen, _Small]:
    """Return the cautions that there is room for, and the small print beside them."""
    # A caution that is printed whole brings its source into the small print: judged twice.
    first = _choose(plan, _small_print(plan, fine, ()).paragraphs, spare_lines, places_mm)
    small = _small_print(plan, fine, first.at_once + first.whole)
    chosen = _choose(plan, small.paragraphs, spare_lines, places_mm)
    return chosen, _small_print(plan, fine, chosen.at_once + chosen.whole)


def _choose(plan: Plan, fine: tuple[str, ...], spare_lines: int, places_mm: float) -> _Chosen:
    """Return what to do at once, cautions with what to do, and those that have only a title.

    The work in order and what to do at once are always printed whole. The cautions come in the
    plan's order, worst first: as many as the page has room for with what to do, with the reason
    too if all have room, and every other one by its title. Room is judged by the letters there
    are; who lays the page out asks again with lines to spare where that was too hopeful.

    Args:
        plan: the plan.
        fine: the paragraphs of small print that share the page.
        spare_lines: lines to leave free beyond what is judged to be needed.
        places_mm: height of the places that not every sheet has: the shop's own, changed
            cylinders. [mm]
    """
    at_once = tuple(one for one in plan.cautions if one.key in _AT_ONCE)
    # What the steps or the list of equipment say is not said again; a draft has no steps.
    others = tuple(
        one for one in plan.cautions if one.key not in _AT_ONCE and not (one.covered and plan.steps)
    )
    height = _BACK_HEIGHT_MM + (_UNSIGNED_MM if plan.is_stopped else 0.0)
    height -= SHORTER_MM[plan.job.paper] + places_mm
    height -= _FINE_LINE_MM * sum(line_count(text, _FINE_LETTERS) for text in fine)
    taken = spare_lines + sum(line_count(step.text, _STEP_LETTERS) for step in plan.steps)
    taken += len(list(groupby(plan.steps, key=lambda step: step.group)))
    taken += sum(line_count(f"{one.title}. {one.what_to_do}", _STEP_LETTERS) for one in at_once)

    def titles(rest: tuple[Caution, ...]) -> int:
        return line_count(_DOT.join(one.title for one in rest), _LETTERS)

    room = int(height / _LINE_MM) - taken  # lines, both columns together
    is_tight = room < titles(others)
    if is_tight:
        room = int((height + _TIGHT_MM) / _LINE_MM) - taken
    full = (f"{one.title}. {one.text} {one.what_to_do}" for one in others)
    if room >= sum(line_count(text, _LETTERS) for text in full):
        return _Chosen(at_once, others, (), with_reason=True, is_tight=is_tight)
    whole = 0
    for number, caution in enumerate(others, start=1):
        room -= line_count(f"{caution.title}. {caution.what_to_do}", _LETTERS)
        # What the shop itself wants to have said is always said whole.
        if room < titles(others[number:]) and caution.key != OWN_CAUTION:
            break
        whole = number
    return _Chosen(at_once, others[:whole], others[whole:], with_reason=False, is_tight=is_tight)


def _small_print(plan: Plan, fine: Fine, printed: tuple[Caution, ...]) -> _Small:
    notes = tuple(notice_of(one) for one in plan.findings if one.severity == "note")
    assumed = tuple(dict.fromkeys(said(f"{one.label} {one.value}") for one in plan.assumed))
    sources = _sources(plan, printed, with_place=fine == "whole")
    if fine != "whole":
        notes = tuple(Notice("", one.text, "", one.severity) for one in notes)
    if fine in {"notes", "none"}:
        return _Small(notes if fine == "notes" else (), (), ())
    if fine == "least":
        least = counted(
            "{count} value, listed in the plan that this file carries",
            "{count} values, listed in the plan that this file carries",
            len(plan.assumed),
        )
        assumed = (least,)
    return _Small(notes, assumed, sources)


def _sources(plan: Plan, printed: tuple[Caution, ...], with_place: bool) -> tuple[SourceLine, ...]:
    """Return the publications behind what is printed as firm.

    Derived, stated and unverified values have none of their own to name here.
    """
    used: dict[str, list[str]] = {}

    def note(joined: str, what: str) -> None:
        for source in _citations(joined):
            names = used.setdefault(source, [])
            if what not in names:
                names.append(what)

    for stage in plan.stages:
        for estimate in stage.estimates:
            if not estimate.is_withheld and estimate.basis.trust.startswith("published"):
                note(estimate.basis.source, _(stage.name))
    for caution in printed:
        if caution.trust.startswith("published"):
            note(caution.source, _("cautions"))
    for protection in plan.protections:
        if protection.trust.startswith("published"):
            note(protection.source, _("protection"))
    if not with_place:
        return tuple(SourceLine(one, "") for one in dict.fromkeys(map(_short, used)))
    lines: list[SourceLine] = []
    last: list[str] = []
    for source in used:
        pieces = source.split(", ")
        shared = 0
        while shared < min(len(last), len(pieces)) - 1 and last[shared] == pieces[shared]:
            shared += 1
        # The place alone, where it is the same work as the one before.
        text = ", ".join(pieces[shared:]) if shared >= 2 else source
        lines.append(SourceLine(said_source(text), ", ".join(used[source])))
        last = pieces
    return tuple(lines)


def _citations(joined: str) -> list[str]:
    """Return the single citations of a joined source; a piece without a comma is part of one."""
    found: list[str] = []
    begun = ""
    for piece in plain(joined).split("; "):
        if ", " in piece:
            found.append(begun + piece)
            begun = ""
        elif found and not begun:
            found[-1] += f"; {piece}"
        else:
            begun += f"{piece}; "
    if begun:
        found.append(begun.removesuffix("; "))
    return [one.strip().rstrip(".") for one in found if one.strip()]


def _short(source: str) -> str:
    """Return the work that a citation names, without the place in it."""
    return source.rpartition(": ")[2].split(", ")[0].split(" – ")[0]


def _groups(plan: Plan) -> Iterable[StepGroup]:
    for title, steps in groupby(plan.steps, key=lambda step: step.group):
        yield StepGroup(plain(title), tuple(said(step.text) for step in steps))


def _caution(caution: Caution, with_reason: bool) -> Notice:
    return Notice(
        plain(caution.title).rstrip("."),
        said(caution.text) if with_reason else "",
        said(caution.what_to_do),
        caution.severity,
    )
