"""The form: panels from cylinder to plate, made from the layout and the job's own models."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from PySide6.QtCore import QPoint, QRectF, Qt, QTimer, Signal
from PySide6.QtGui import QFont, QPainter, QPaintEvent, QPalette, QPen
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.job import Problem
from kerfdocket.language import _, counted
from kerfdocket.planning.model import Finding
from kerfdocket.quantity import METRIC, UnitSystem
from kerfdocket.window.document import Document
from kerfdocket.window.fields import Field, NotesLabel, make_field
from kerfdocket.window.layout import PANELS, STAGE_PLACES, Fold, Panel, Repeat, Section
from kerfdocket.window.looks import ElidedLabel, FlowGrid, em, heading_font, wrapped
from kerfdocket.window.parts_table import PartsTable
from kerfdocket.window.repeat_group import RepeatGroup
from kerfdocket.window.specs import row_number, spec_at
from kerfdocket.window.summary import is_missing
from kerfdocket.window.units import system_of
from kerfdocket.window.words import severity_count

__all__ = ["Form"]

Note = tuple[str, str, str]  # path, severity, text


class SectionView(QWidget):
    """Fields that belong together, under a heading."""

    def __init__(self, layout: Section, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.where = layout.where
        self.notes = NotesLabel()
        self._fields: list[Field] = []
        self._only_in = layout.only_in
        self._wide = layout.wide
        self._grid = grid = FlowGrid(em(self, layout.cell_ems))
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(6)
        if layout.heading:
            heading = QLabel(_(layout.heading))
            font = heading.font()
            font.setBold(True)
            heading.setFont(font)
            box.addWidget(heading)
        for where in layout.fields:
            field = make_field(spec_at(where))
            self._fields.append(field)
            grid.add(field, is_wide=where in layout.wide)
        self._lay_out(METRIC, lambda _where: False)
        box.addWidget(grid)
        box.addWidget(self.notes)

    def fields(self) -> Iterator[Field]:
        """Yield its fields."""
        yield from self._fields

    def load(self, document: Document) -> None:
        """Show what a document states here."""
        for field in self._fields:
            field.load(document)
        self._follow(document)

    def show_units(self, document: Document) -> None:
        """Follow a change of units."""
        for field in self._fields:
            field.show_units(document)
        self._follow(document)

    def show_field(self, field: Field) -> None:
        """Show one of its fields, also where it is for other units."""
        if field not in self._shown:
            self._shown.append(field)
            self._grid.show_only(self._shown)
            self._grid.ask_room(0 if field.where in self._wide else field.room)

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        hidden = (field for field in self._fields if field not in self._shown)
        yield from (field.editor for field in (*self._shown, *hidden))

    def _follow(self, document: Document) -> None:
        self._lay_out(system_of(document), lambda where: document.value(where) is not None)

    def _lay_out(self, system: UnitSystem, is_stated: Callable[[str], bool]) -> None:
        """Give the fields their room; those for other units come last, if they say anything."""

        def fits(field: Field) -> bool:
            return self._only_in.get(field.where, system) == system

        self._shown = [field for field in self._fields if fits(field)]
        self._shown += [f for f in self._fields if not fits(f) and is_stated(f.where)]
        self._grid.show_only(self._shown)
        narrow = (field.room for field in self._shown if field.where not in self._wide)
        self._grid.ask_room(max(narrow, default=0))


class FoldView(QWidget):
    """Sections that few jobs need, folded up to one line while nothing calls for them."""

    def __init__(self, layout: Fold, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.where = layout.where
        self.notes = NotesLabel()
        self.sections = tuple(SectionView(section) for section in layout.sections)
        self._heading = _(layout.heading)
        self._opened_by = layout.opened_by
        self._fold = QToolButton()
        self._fold.setText(self._heading)
        self._fold.setCheckable(True)
        self._fold.setAutoRaise(True)
        self._fold.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self._fold.toggled.connect(self._on_toggled)
        self._body = QWidget()
        inner = QVBoxLayout(self._body)
        inner.setContentsMargins(0, 0, 0, 0)
        inner.setSpacing(10)
        for section in self.sections:
            inner.addWidget(section)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(6)
        box.addWidget(self._fold)
        box.addWidget(self._body)
        box.addWidget(self.notes)
        self._on_toggled(False)

    @property
    def text(self) -> str:
        """What stands on the fold."""
        return self._fold.text()

    def fields(self) -> Iterator[Field]:
        """Yield the fields of its sections."""
        for section in self.sections:
            yield from section.fields()

    def load(self, document: Document) -> None:
        """Show what a document states here; open if it states or calls for anything."""
        for section in self.sections:
            section.load(document)
        is_stated = any(document.value(field.where) is not None for field in self.fields())
        self._fold.setChecked(is_stated)
        for where in self._opened_by:
            self.follow(where, document.value(where))

    def follow(self, where: str, value: object) -> bool:
        """Open if a value stated elsewhere calls for this; True if that changed anything."""
        is_wanted = value in self._opened_by.get(where, ()) and not self._fold.isChecked()
        if is_wanted:
            self.unfold()
        return is_wanted

    def show_units(self, document: Document) -> None:
        """Follow a change of units."""
        for section in self.sections:
            section.show_units(document)

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        yield self._fold
        for section in self.sections:
            yield from section.tab_stops()

    @property
    def is_unfolded(self) -> bool:
        """True if its fields are to be seen."""
        return self._fold.isChecked()

    def unfold(self) -> None:
        """Make the fields visible."""
        self._fold.setChecked(True)

    def set_status(self, text: str) -> None:
        """Say on the fold how its fields stand: while it is folded nothing else would."""
        self._fold.setText(f"{self._heading}: {text}" if text else self._heading)

    def _on_toggled(self, is_open: bool) -> None:
        self._body.setVisible(is_open)
        self._fold.setArrowType(Qt.ArrowType.DownArrow if is_open else Qt.ArrowType.RightArrow)


PartView = SectionView | FoldView | RepeatGroup | PartsTable


class PanelView(QWidget):
    """One station: a number on the line from cylinder to plate, a heading, its content."""

    def __init__(self, layout: Panel, number: int, is_last: bool) -> None:
        super().__init__()
        self.where = layout.where
        self.heading = _(layout.heading)
        self.notes = NotesLabel()
        self.parts: list[PartView] = []
        self._number = number
        self._is_last = is_last
        self._title = QLabel(self.heading)
        self._title.setFont(heading_font(self))
        self._status = QLabel()
        self._status.setFont(self._bold())
        hint = ElidedLabel(_(layout.hint))
        hint.setForegroundRole(QPalette.ColorRole.WindowText)
        head = QHBoxLayout()
        head.addWidget(self._title)
        head.addSpacing(em(self))
        head.addWidget(hint, 1)
        head.addWidget(self._status)
        self._gutter = em(self, 6)
        box = QVBoxLayout(self)
        box.setContentsMargins(self._gutter, 8, 14, 18)
        box.setSpacing(10)
        box.addLayout(head)
        for item in layout.content:
            view: PartView
            if isinstance(item, Section):
                view = SectionView(item)
            elif isinstance(item, Fold):
                view = FoldView(item)
            elif isinstance(item, Repeat):
                view = RepeatGroup(item)
            else:
                view = PartsTable(item)
            self.parts.append(view)
            box.addWidget(view)
        box.addWidget(self.notes)

    def groups(self) -> Iterator[PartView]:
        """Yield its parts, and the sections inside its folds."""
        for part in self.parts:
            yield part
            if isinstance(part, FoldView):
                yield from part.sections

    def fields(self) -> Iterator[Field]:
        """Yield its fields but the cells of the table."""
        for part in self.parts:
            if not isinstance(part, PartsTable):
                yield from part.fields()

    def _bold(self) -> QFont:
        font = self.font()
        font.setBold(True)
        return font

    def set_status(self, text: str) -> None:
        """Say beside the heading how this panel stands."""
        self._status.setText(text)

    # Qt overrides

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw this station and its piece of the line."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        ink = self.palette().color(QPalette.ColorRole.WindowText)
        middle = self._gutter / 2
        radius = self.fontMetrics().height() * 0.72
        at = self._title.mapTo(self, QPoint(0, 0)).y() + self._title.height() / 2
        line = self.palette().color(QPalette.ColorRole.Mid)
        painter.setPen(QPen(line, 2))
        if self._number > 1:
            painter.drawLine(int(middle), 0, int(middle), int(at - radius))
        if not self._is_last:
            painter.drawLine(int(middle), int(at + radius), int(middle), self.height())
        circle = QRectF(middle - radius, at - radius, 2 * radius, 2 * radius)
        painter.setPen(QPen(ink, 1.5))
        painter.drawEllipse(circle)
        painter.setFont(self._bold())
        painter.drawText(circle, Qt.AlignmentFlag.AlignCenter, str(self._number))


class Form(QWidget):
    """All that a job can state.

    Signals:
        edited: path and what is now stated there (None: nothing).
        add_wanted: path of a list that wants one more row.
        remove_wanted: path of a list, index of the row to take out.
        rows_shown: there may be other fields than before.
    """

    edited = Signal(str, object)
    add_wanted = Signal(str)
    remove_wanted = Signal(str, int)
    rows_shown = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._panels: list[PanelView] = []
        self._problem_notes: tuple[Note, ...] = ()
        self._finding_notes: tuple[Note, ...] = ()
        self._missing: tuple[str, ...] = ()
        self._document = Document()
        self._at = ""  # path of the field that the cursor is in, or was last
        self.edited.connect(self._on_edited)
        self._column = QWidget()
        self._stack = QVBoxLayout(self._column)
        self._stack.setContentsMargins(0, 4, 0, 0)
        self._stack.setSpacing(0)
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setWidget(self._column)
        self._help = wrapped(_("What the field wants is said here."))
        self._help.setContentsMargins(8, 6, 8, 4)
        self._help.setMinimumHeight(self.fontMetrics().lineSpacing() * 2 + 8)
        self._help.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        self._area.setFrameShape(QFrame.Shape.NoFrame)
        rule = QFrame()
        rule.setFrameShape(QFrame.Shape.HLine)
        rule.setFrameShadow(QFrame.Shadow.Sunken)
        box.addWidget(self._area, 1)
        box.addWidget(rule)
        box.addWidget(self._help)

    def build(self) -> Iterator[None]:
        """Make the panels; yields after each, so that the window can paint in between."""
        for number, layout in enumerate(PANELS, start=1):
            panel = PanelView(layout, number, number == len(PANELS))
            for part in panel.parts:
                if isinstance(part, SectionView | FoldView):
                    for field in part.fields():
                        field.edited.connect(self.edited)
                else:
                    part.edited.connect(self.edited)
                    part.add_wanted.connect(self.add_wanted)
                    part.remove_wanted.connect(self.remove_wanted)
            self._panels.append(panel)
            self._stack.addWidget(panel)
            yield
        self._stack.addStretch(1)
        # The application outlives the window: the connection ends with this object.
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._on_focus_changed)

    def load(self, document: Document) -> None:
        """Show what a document states, from the top."""
        self._document = document
        for panel in self._panels:
            for part in panel.parts:
                part.load(document)
        self._area.verticalScrollBar().setValue(0)
        self.rows_shown.emit()
        self._show_notes()

    def show_units(self, document: Document) -> None:
        """Follow a change of units: show every quantity anew, and nothing else."""
        self.field("units").load(document)
        for panel in self._panels:
            for part in panel.parts:
                part.show_units(document)
        self.rows_shown.emit()
        self._show_help()

    def rows_changed(self, where: str, document: Document) -> None:
        """Show the rows of one list anew."""
        for panel in self._panels:
            for part in panel.parts:
                if part.where == where and isinstance(part, RepeatGroup | PartsTable):
                    part.load(document)
        self.rows_shown.emit()
        self._show_notes()

    def tab_stops(self) -> Iterator[QWidget]:
        """Yield what Tab goes through, in order."""
        for panel in self._panels:
            for part in panel.parts:
                yield from part.tab_stops()

    def fields(self) -> Iterator[Field]:
        """Yield every field but the cells of the table."""
        for panel in self._panels:
            yield from panel.fields()

    def field(self, where: str) -> Field:
        """Return the field at a path.

        Raises:
            KeyError: the form has no such field.
        """
        for field in self.fields():
            if field.where == where:
                return field
        raise KeyError(where)

    @property
    def parts(self) -> PartsTable:
        """The table of parts."""
        return next(
            part for panel in self._panels for part in panel.parts if isinstance(part, PartsTable)
        )

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show at the fields what keeps the form from being a job."""
        missing = []
        notes = []
        for problem in problems:
            anchor = self._anchor(problem.where)
            if is_missing(problem, self._document):
                # An empty form is not full of mistakes: the field says "needed", the list, too.
                missing.append(problem.where)
                continue
            text = problem.text
            if isinstance(anchor, Field) and (row := row_number(problem.where, anchor.where)):
                text = _("number {number}: {text}", number=row, text=text)
            notes.append((problem.where, "mend", text))
        self._missing = tuple(missing)
        self._problem_notes = tuple(notes)
        self._show_notes()

    def show_findings(self, findings: tuple[Finding, ...]) -> None:
        """Show at the fields what the plan found."""
        self._finding_notes = tuple(
            (finding.where, finding.severity, finding.text) for finding in findings
        )
        self._show_notes()

    def reveal(self, where: str) -> None:
        """Scroll to where a path belongs and put the cursor there."""
        anchor = self._anchor(where)
        target: QWidget = anchor
        if isinstance(anchor, PartsTable):
            anchor.reveal(self._placed(where))
        elif not isinstance(anchor, Field):
            first = next((f for f in self.fields() if anchor.isAncestorOf(f)), None)
            buttons = [anchor.add_button] if isinstance(anchor, RepeatGroup) else []
            target = first or next(iter(buttons), anchor)
        for section in self._sections():
            if isinstance(target, Field) and section.isAncestorOf(target):
                section.show_field(target)
        fold: QWidget | None = target
        while fold is not None and not isinstance(fold, FoldView):
            fold = fold.parentWidget()
        if fold is not None:
            fold.unfold()
        if not isinstance(anchor, PartsTable):
            target.setFocus(Qt.FocusReason.ShortcutFocusReason)
        # Unfolding is laid out in the next round of events; scrolling comes after it.
        QTimer.singleShot(0, self, lambda: self._scroll_to(target))

    def reveal_panel(self, index: int) -> None:
        """Scroll to the panel of an index, counted from 0, and put the cursor in it."""
        panel = self._panels[index]
        first = next(panel.fields(), None)
        (first or panel).setFocus(Qt.FocusReason.ShortcutFocusReason)
        top = panel.mapTo(self._column, QPoint(0, 0)).y()
        QTimer.singleShot(0, self, lambda: self._area.verticalScrollBar().setValue(top))

    def take_over(self, before: "Form") -> None:
        """Look as another form of the same job does: unfolded alike, the cursor in the same field.

        Where the cursor was in none, the form is scrolled about as far.
        """
        folds = zip(self._folds(), before._folds(), strict=True)
        for fold, was in folds:
            if was.is_unfolded:
                fold.unfold()
        if before._at and any(field.where == before._at for field in self.fields()):
            self.reveal(before._at)
            return
        bar = before._area.verticalScrollBar()
        share = bar.value() / max(1, bar.maximum())

        def scroll() -> None:
            own = self._area.verticalScrollBar()
            own.setValue(round(own.maximum() * share))

        QTimer.singleShot(0, self, scroll)

    def _folds(self) -> list[FoldView]:
        return [one for panel in self._panels for one in panel.parts if isinstance(one, FoldView)]

    def _sections(self) -> Iterator[SectionView]:
        for panel in self._panels:
            yield from (part for part in panel.groups() if isinstance(part, SectionView))

    def _scroll_to(self, widget: QWidget) -> None:
        margin = self.fontMetrics().height() * 3
        self._area.ensureWidgetVisible(widget, 0, margin)

    @staticmethod
    def _placed(where: str) -> str:
        return STAGE_PLACES.get(where, where)

    def _anchor(self, where: str) -> Field | PartView | PanelView:
        """Find the narrowest thing that a path belongs to."""
        where = self._placed(where)
        named: list[Field | PartView | PanelView] = [
            *self.fields(),
            *(part for panel in self._panels for part in panel.groups() if part.where),
            *self._panels,
        ]
        fitting = [a for a in named if where == a.where or where.startswith(f"{a.where}.")]
        return max(fitting, key=lambda a: len(a.where), default=self._panels[0])

    def _show_notes(self) -> None:
        at: dict[QWidget, list[tuple[str, str]]] = {}
        table_notes: list[Note] = []
        for where, severity, text in (*self._problem_notes, *self._finding_notes):
            anchor = self._anchor(where)
            if isinstance(anchor, PartsTable):
                table_notes.append((self._placed(where), severity, text))
            else:
                at.setdefault(anchor, []).append((severity, text))
        for field in self.fields():
            field.set_notes(tuple(at.get(field, ())))
        for panel in self._panels:
            panel.notes.set_notes(tuple(at.get(panel, ())))
            for part in panel.groups():
                if isinstance(part, PartsTable):
                    part.show_problems(tuple(table_notes))
                else:
                    part.notes.set_notes(tuple(at.get(part, ())))
                if isinstance(part, FoldView):
                    part.set_status(_counts(self._severities_in(part, at)))
            severities = self._severities_in(panel, at)
            if table_notes and isinstance(panel.parts[0], PartsTable):
                severities += [severity for severity, _ in panel.parts[0].notes.notes]
            status = _counts(severities)
            needed = sum(where.split(".")[0] == panel.where for where in self._missing)
            wanted = counted("{count} needed", "{count} needed", needed) if needed else ""
            panel.set_status(", ".join(text for text in (status, wanted) if text))

    @staticmethod
    def _severities_in(
        group: QWidget, at: Mapping[QWidget, Sequence[tuple[str, str]]]
    ) -> list[str]:
        return [
            severity
            for anchor, found in at.items()
            if anchor is group or group.isAncestorOf(anchor)
            for severity, _ in found
        ]

    def _on_focus_changed(self, _old: QWidget | None, new: QWidget | None) -> None:
        at = new
        while at is not None and not isinstance(at, Field):
            at = at.parentWidget()
        if at is not None and self.isAncestorOf(at):
            self._at = at.where
            self._show_help()
            self._scroll_to(at)

    def _on_edited(self, where: str, value: object) -> None:
        field = next((f for f in self.fields() if f.where == where), None)
        top = field.mapTo(self._column, QPoint(0, 0)).y() if field is not None else 0
        has_opened = [fold.follow(where, value) for fold in self._folds()]
        if field is not None and any(has_opened):
            # What opens further up must not push away what one is working at.
            QTimer.singleShot(0, self, lambda: self._keep_in_place(field, top))
        self._show_help()

    def _keep_in_place(self, field: Field, top: int) -> None:
        bar = self._area.verticalScrollBar()
        bar.setValue(bar.value() + field.mapTo(self._column, QPoint(0, 0)).y() - top)

    def _show_help(self) -> None:
        """Say below the form what the field wants that the cursor is in."""
        field = next((field for field in self.fields() if field.where == self._at), None)
        if field is not None:
            text = f"{field.spec.title}. {field.help_text}".strip()
            self._help.setText(text)
            self._help.setToolTip(text)


def _counts(severities: Sequence[str]) -> str:
    counts = ((one, severities.count(one)) for one in ("stop", "mend", "caution"))
    return ", ".join(severity_count(one, count) for one, count in counts if count)
