"""Form, results, sheet and findings, side by side."""

import itertools

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QSplitter, QVBoxLayout, QWidget

from kerfdocket.language import _
from kerfdocket.window.findings import FindingsPane
from kerfdocket.window.form import Form
from kerfdocket.window.looks import em, severity_colour, wrapped
from kerfdocket.window.results import ResultsPane
from kerfdocket.window.sheet_view import SheetView

__all__ = ["Panes"]


class Panes(QWidget):
    """All that the main window shows.

    Attributes:
        form, results, findings, sheet: the panes.
    """

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.results = ResultsPane()
        self.form = Form()
        self.sheet = SheetView()
        self.findings = FindingsPane()
        self.form.rows_shown.connect(self._order_tab_stops)
        self._state = wrapped()
        font = self._state.font()
        font.setBold(True)
        self._state.setFont(font)
        self._state.setAccessibleName(_("How the sheet stands to the form"))

        sheet_box = QWidget()
        sheet_layout = QVBoxLayout(sheet_box)
        sheet_layout.setContentsMargins(8, 4, 8, 0)
        sheet_layout.setSpacing(2)
        sheet_layout.addWidget(self._state)
        sheet_layout.addWidget(self.sheet, 1)

        findings_box = QWidget()
        findings_layout = QVBoxLayout(findings_box)
        findings_layout.setContentsMargins(8, 0, 8, 0)
        findings_layout.addWidget(self.findings)

        self.right = QSplitter(Qt.Orientation.Vertical)
        self.right.addWidget(sheet_box)
        self.right.addWidget(findings_box)
        self.right.setStretchFactor(0, 3)
        self.right.setStretchFactor(1, 1)
        self.right.setChildrenCollapsible(False)

        self.across = QSplitter(Qt.Orientation.Horizontal)
        self.across.addWidget(self.form)
        self.across.addWidget(self.right)
        self.across.setStretchFactor(0, 2)
        self.across.setStretchFactor(1, 3)
        self.across.setChildrenCollapsible(False)
        self.form.setMinimumWidth(em(self, 48))
        self.right.setMinimumWidth(em(self, 40))
        self.across.setSizes([em(self, 92), em(self, 120)])

        rule = QFrame()
        rule.setFrameShape(QFrame.Shape.HLine)
        rule.setFrameShadow(QFrame.Shadow.Sunken)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(0)
        box.addWidget(self.results)
        box.addWidget(rule)
        box.addWidget(self.across, 1)

    def _order_tab_stops(self) -> None:
        """Let Tab follow what is seen: fields that were made later would else be last."""
        stops = [
            *self.results.tiles.values(),
            *self.form.tab_stops(),
            *self.sheet.tab_stops(),
            *self.findings.tab_stops(),
        ]
        for before, after in itertools.pairwise(stops):
            QWidget.setTabOrder(before, after)

    def take_over(self, before: "Panes") -> None:
        """Look as other panes of the same job do: same widths, places and sheet."""
        self.resize(before.size())
        for layout in (self.layout(), before.layout()):
            assert layout is not None
            layout.activate()  # widths are shared out among what is there
        self.across.setSizes(before.across.sizes())
        self.right.setSizes(before.right.sizes())
        self.sheet.take_over(before.sheet)
        self.form.take_over(before.form)

    @property
    def state(self) -> str:
        """What is said about the sheet."""
        return self._state.text()

    def set_state(self, results: str | None, sheet: str, *, is_warning: bool) -> None:
        """Say how results and sheet stand to the form; None leaves what is said of the results."""
        if results is not None:
            self.results.set_state(results)
        self._state.setText(sheet)
        palette = QPalette(self.palette())
        if is_warning:
            colour = severity_colour("stop", palette)
            palette.setColor(QPalette.ColorRole.WindowText, colour)
        self._state.setPalette(palette)
