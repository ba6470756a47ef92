"""The strip of main results: what to set and what it takes, each with its basis."""

import html
from functools import partial

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _, in_language, marked
from kerfdocket.planning.model import Estimate, Plan, said_source
from kerfdocket.window.looks import em, heading_font, severity_colour

__all__ = ["MAIN_RESULTS", "BasisDialog", "ResultTile", "ResultsPane", "basis_html", "range_text"]

# In the order in which they are set: at the cylinder, at the torch, along the cut; then its cost.
MAIN_RESULTS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        marked("At the regulators, gas flowing"),
        (
            ("line.oxygen_regulator_pressure", marked("Oxygen")),
            ("line.fuel_regulator_pressure", marked("Fuel gas")),
        ),
    ),
    (
        marked("At the torch"),
        (
            ("nozzle.bore", marked("Nozzle bore")),
            ("setting.cutting_oxygen_pressure", marked("Cutting oxygen")),
            ("setting.heating_oxygen_pressure", marked("Heating oxygen")),
            ("setting.fuel_pressure", marked("Fuel gas")),
        ),
    ),
    (
        marked("Along the cut"),
        (("cut.speed", marked("Speed")), ("cut.clock_time", marked("Time in all"))),
    ),
    (
        marked("What it takes"),
        (("use.oxygen", marked("Oxygen")), ("use.fuel", marked("Fuel gas"))),
    ),
)


def range_text(estimate: Estimate) -> str:
    """Return the range with its unit, else how firm the value stands or that there is none."""
    if estimate.is_withheld:
        return _("none needed") if estimate.is_none_needed else _("withheld")
    if not estimate.range_text:
        return _(estimate.basis.trust)
    return f"{estimate.range_text} {estimate.unit_text}".strip()


# What a nozzle's chart says; no chart has any other value.
_ON_A_CHART = ("nozzle.", "setting.", "line.")
_CUT_ON_A_CHART = {"cut.speed", "cut.kerf", "cut.start_time", "cut.pierce_time"}


def _guide(key: str) -> str:
    if key.startswith(_ON_A_CHART) or key in _CUT_ON_A_CHART:
        return _("<b>A guide only.</b> Take the value from the nozzle's own chart.")
    return _("<b>A guide only:</b> it rests on something that no source was opened for.")


def basis_html(estimate: Estimate) -> str:
    """Write down how a value was got; everything in it is escaped."""
    basis = estimate.basis
    value = range_text(estimate)
    if estimate.value is not None:
        value = f"{estimate.value_text} ({value})"
    if estimate.gas_reference:
        value = _("{amount} at {state}", amount=value, state=estimate.gas_reference)
    lines = [
        f"<h3>{html.escape(estimate.label)}: {html.escape(value)}</h3>",
        f"<p>{html.escape(basis.text)}</p>",
    ]
    if basis.equation:
        lines.append(f"<p><code>{html.escape(basis.equation)}</code></p>")
    if basis.inputs:
        rows = "".join(
            f"<tr><td>{html.escape(name)}&nbsp;&nbsp;</td><td>{html.escape(text)}</td></tr>"
            for name, text in basis.inputs
        )
        lines.append(f"<table>{rows}</table>")
    said = _(
        "<b>Source:</b> {source}<br>\n<b>How firm:</b> {trust}",
        source=html.escape(said_source(basis.source)),
        trust=html.escape(_(basis.trust)),
    )
    lines.append(f"<p>{said}</p>")
    if estimate.is_unverified:
        lines.append(f"<p>{_guide(estimate.key)}</p>")
    return "\n".join(lines)


class BasisDialog(QDialog):
    """Shows how a value was got, to read and to copy."""

    def __init__(self, estimate: Estimate, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(_("Basis: {value}", value=estimate.label))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.browser = QTextBrowser()
        self.browser.setOpenLinks(False)
        self.browser.setFrameShape(QFrame.Shape.NoFrame)
        self.browser.setHtml(basis_html(estimate))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        box = QVBoxLayout(self)
        box.addWidget(self.browser)
        box.addWidget(buttons)
        self.resize(em(self, 75), self.fontMetrics().lineSpacing() * 18)


class ResultTile(QPushButton):
    """One value, its range and how far it can be trusted; pressing it opens the basis."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFlat(True)
        self.setAutoDefault(False)
        self.setEnabled(False)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.heading = ""
        self._fallback = title
        self._title = self._line()
        self._value = self._line()
        self._value.setText("0")
        self._value.setFont(heading_font(self, 1.35))
        # As tall in any font: the lines of all tiles stay level.
        self._value.setFixedHeight(self._value.sizeHint().height())
        self._range = self._line()
        box = QVBoxLayout(self)
        box.setContentsMargins(8, 5, 8, 5)
        box.setSpacing(0)
        for label in (self._title, self._value, self._range):
            box.addWidget(label)
        self.show_estimate(None)

    @staticmethod
    def _line() -> QLabel:
        label = QLabel()
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        return label

    @property
    def text_width(self) -> int:
        """The width that nothing is cut off at, for values of a usual length."""
        texts = (self._fallback, _("guide, unverified"), _("withheld, see why"))
        return max(self.fontMetrics().horizontalAdvance(text) for text in texts) + 20

    @property
    def text_shown(self) -> str:
        """Title, value and range as they are read."""
        return f"{self._title.text()}: {self._value.text()}; {self._range.text()}"

    def show_estimate(self, estimate: Estimate | None) -> None:
        """Show a value, or that there is none yet."""
        self._title.setText(self._fallback)
        is_guide = estimate is not None and estimate.is_unverified and not estimate.is_withheld
        if estimate is None:
            self._value.setText("—")
            self._range.setText(_("not yet"))
        elif estimate.value is None:
            self._value.setText("—")
            self._range.setText(_("withheld, see why"))
        else:
            self._value.setText(estimate.value_text)
            self._range.setText(range_text(estimate))
        if is_guide and estimate is not None:
            # What no source was opened for is not shown as large as an instruction.
            if estimate.range_text:
                self._value.setText(range_text(estimate))
            self._range.setText(_("guide, unverified"))
        self._value.setFont(self.font() if is_guide else heading_font(self, 1.35))
        palette = QPalette(self.palette())
        if is_guide or (estimate is not None and estimate.is_withheld):
            colour = severity_colour("caution", palette)
            palette.setColor(QPalette.ColorRole.WindowText, colour)
        self._range.setPalette(palette)
        self.setEnabled(estimate is not None)
        self.setAccessibleName(f"{self.heading}, {self.text_shown}")
        self.setToolTip(basis_html(estimate) if estimate is not None else "")

    # Qt overrides

    def sizeHint(self) -> QSize:
        layout = self.layout()
        assert layout is not None
        return QSize(self.text_width, layout.sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        layout = self.layout()
        assert layout is not None
        return QSize(em(self, 12), layout.minimumSize().height())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self.click()
            return
        super().keyPressEvent(event)


class ResultsPane(QWidget):
    """Tiles for the main results.

    Signals:
        basis_wanted: the estimate whose basis is to be shown.
    """

    basis_wanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._estimates: dict[str, Estimate] = {}
        self.tiles: dict[str, ResultTile] = {}
        self._state = QLabel()
        self._state.setTextFormat(Qt.TextFormat.PlainText)
        self._state.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        font = self._state.font()
        font.setBold(True)
        self._state.setFont(font)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(0)
        self._grid.setVerticalSpacing(0)
        self._groups: list[tuple[QLabel, list[ResultTile]]] = []
        for heading, results in MAIN_RESULTS:
            label = QLabel(_(heading))
            label.setFont(font)
            label.setContentsMargins(8, 2, 8, 0)
            label.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
            tiles = []
            for key, title in results:
                tile = ResultTile(_(title))
                tile.heading = _(heading)
                tile.clicked.connect(partial(self._on_clicked, key))
                self.tiles[key] = tile
                tiles.append(tile)
            self._groups.append((label, tiles))
        self._groups_a_line = 0
        box = QVBoxLayout(self)
        box.setContentsMargins(8, 4, 8, 4)
        box.setSpacing(2)
        box.addWidget(self._state)
        box.addLayout(self._grid)
        self._arrange(len(self._groups))
        self.set_state("")

    @property
    def state(self) -> str:
        """What is said about the values as a whole."""
        return self._state.text()

    def set_state(self, text: str) -> None:
        """Say how the values stand to the form."""
        self._state.setText(text)
        self._state.setVisible(bool(text))

    def show_plan(self, plan: Plan | None) -> None:
        """Show the main results of a plan, or none."""
        self._estimates = plan.estimates if plan else {}
        for (heading, results), (label, _tiles) in zip(MAIN_RESULTS, self._groups, strict=True):
            shown = [self._estimates[key] for key, _title in results if key in self._estimates]
            text = short = _(heading)
            if plan and (state := next((one.gas_reference for one in shown), "")):
                text = _("{heading}, gas at {state}", heading=text, state=state)
                # As on the sheet: the tiles below are narrow.
                short = _("Takes, at {state}", state=in_language(plan.job.unit_system.gas_state))
            label.setText(short)
            label.setToolTip(text)
            for key, _title in results:
                self.tiles[key].heading = text
        for key, tile in self.tiles.items():
            tile.show_estimate(self._estimates.get(key))

    def _arrange(self, groups_a_line: int) -> None:
        if groups_a_line == self._groups_a_line:
            return
        self._groups_a_line = groups_a_line
        while self._grid.count():
            self._grid.takeAt(0)
        row = column = most = 0
        for number, (label, tiles) in enumerate(self._groups):
            if number and number % groups_a_line == 0:
                row, column = row + 2, 0
            self._grid.addWidget(label, row, column, 1, len(tiles))
            for tile in tiles:
                self._grid.addWidget(tile, row + 1, column)
                column += 1
            most = max(most, column)
        for at in range(self._grid.columnCount()):
            self._grid.setColumnStretch(at, 1 if at < most else 0)

    def _on_clicked(self, key: str, _checked: bool = False) -> None:
        if key in self._estimates:
            self.basis_wanted.emit(self._estimates[key])

    # Qt overrides

    def resizeEvent(self, event: QResizeEvent) -> None:
        needed = sum(
            max(label.sizeHint().width(), sum(tile.text_width for tile in tiles))
            for label, tiles in self._groups
        )
        groups = len(self._groups)
        self._arrange(groups if event.size().width() >= needed else groups // 2)
        super().resizeEvent(event)
