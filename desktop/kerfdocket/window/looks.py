"""Sizes and colours, all taken from the person's own font and palette."""

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QFont, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QStylePainter,
    QWidget,
)

__all__ = [
    "ElidedLabel",
    "FlowGrid",
    "em",
    "heading_font",
    "is_dark",
    "make_default",
    "severity_colour",
    "wrapped",
]

# Dark on light and light on dark, each above 4.5 : 1 against the window colour (WCAG 2.2, 1.4.3).
_ON_LIGHT = {"stop": "#9b1c13", "mend": "#9b1c13", "caution": "#6b4700", "note": "#1f4e79"}
_ON_DARK = {"stop": "#ffaaa0", "mend": "#ffaaa0", "caution": "#f2c879", "note": "#a9cdf2"}


def em(widget: QWidget, count: float = 1.0) -> int:
    """Return the width of `count` average letters of the widget's font, in pixels."""
    return round(widget.fontMetrics().averageCharWidth() * count)


def heading_font(widget: QWidget, scale: float = 1.2) -> QFont:
    """Return the widget's font, larger and bold."""
    font = QFont(widget.font())
    font.setPointSizeF(max(font.pointSizeF(), 6.0) * scale)
    font.setBold(True)
    return font


def is_dark(palette: QPalette) -> bool:
    """Return True if text is lighter than what it stands on."""
    return (
        palette.color(QPalette.ColorRole.WindowText).lightness()
        > palette.color(QPalette.ColorRole.Window).lightness()
    )


def severity_colour(severity: str, palette: QPalette) -> QColor:
    """Return a readable colour; it never carries a meaning that a word does not say, too."""
    table = _ON_DARK if is_dark(palette) else _ON_LIGHT
    known = table.get(severity)
    return QColor(known) if known else palette.color(QPalette.ColorRole.WindowText)


def make_default(button: QPushButton, buttons: QDialogButtonBox) -> None:
    """Let Enter press one button of a box, and no other while that one cannot be pressed."""
    for one in buttons.buttons():
        if isinstance(one, QPushButton):
            one.setAutoDefault(one is button)
    button.setDefault(True)


def wrapped(text: str = "") -> QLabel:
    """Return a label that wraps, in plain text that can be selected."""
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    policy = QSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
    policy.setHeightForWidth(True)  # a policy of one's own loses it, and lines are cut off
    label.setSizePolicy(policy)
    return label


class ElidedLabel(QLabel):
    """A line that ends in dots where it has no room; all of it is in its tool tip then."""

    def __init__(self, text: str = "", parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)

    @property
    def shown(self) -> str:
        """What there is room for."""
        room = self.contentsRect().width()
        return self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, room)

    # Qt overrides

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QStylePainter(self)
        align = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        is_on, role = self.isEnabled(), self.foregroundRole()
        area = self.contentsRect()
        painter.drawItemText(area, align, self.palette(), is_on, self.shown, role)

    def resizeEvent(self, event: QResizeEvent) -> None:
        self.setToolTip("" if self.shown == self.text() else self.text())
        super().resizeEvent(event)


class FlowGrid(QWidget):
    """Lays cells out in as many columns as the width allows."""

    def __init__(self, cell_width: int, most: int = 99, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cell_width = cell_width
        self._most = most
        self._columns = 1
        self._cells: list[QWidget] = []
        self._wide: set[QWidget] = set()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(8)

    @property
    def columns(self) -> int:
        """How many columns there are now."""
        return self._columns

    def add(self, cell: QWidget, *, is_wide: bool = False, room: int = 0) -> None:
        """Append a cell.

        Args:
            cell: what to show.
            is_wide: True if it takes a whole line.
            room: least width of all columns that this cell asks for, in pixels.
        """
        cell.setParent(self)
        self._cells.append(cell)
        if is_wide:
            self._wide.add(cell)
        self.ask_room(room)
        self._arrange()

    def ask_room(self, room: int) -> None:
        """Make all columns at least so wide, in pixels."""
        wanted = max(self._cell_width, room + self._grid.horizontalSpacing())
        if wanted != self._cell_width:
            self._cell_width = wanted
            self._fit(self.width())

    def show_only(self, cells: Sequence[QWidget]) -> None:
        """Show these cells, in this order, and no others."""
        if list(cells) == self._cells:
            return
        for cell in self._cells:
            self._grid.removeWidget(cell)
            cell.setVisible(cell in cells)
        self._cells = list(cells)
        for cell in cells:
            cell.setVisible(True)
        self._arrange()

    def _fit(self, width: int) -> None:
        fitting = self._fitting(width)
        if fitting != self._columns:
            self._columns = fitting
            self._arrange()

    def _fitting(self, width: int) -> int:
        return max(1, min(width // max(1, self._cell_width), self._most))

    def _arrange(self) -> None:
        for cell in self._cells:
            # Not takeAt: Python keeps its item alive, the new item then never learns that its
            # cell has grown, and lines of a note are cut off.
            self._grid.removeWidget(cell)
        row = column = 0
        for cell in self._cells:
            is_wide = cell in self._wide
            if is_wide and column:
                row, column = row + 1, 0
            span = self._columns if is_wide else 1
            self._grid.addWidget(cell, row, column, 1, span, Qt.AlignmentFlag.AlignTop)
            column += span
            if column >= self._columns:
                row, column = row + 1, 0
        for number in range(self._grid.columnCount()):
            self._grid.setColumnStretch(number, 1 if number < self._columns else 0)

    # Qt overrides

    def resizeEvent(self, event: QResizeEvent) -> None:
        self._fit(event.size().width())
        super().resizeEvent(event)

    def minimumSizeHint(self) -> QSize:
        """Allow any width: the columns follow."""
        least = super().minimumSizeHint()
        return QSize(min(self._cell_width, least.width()), least.height())
