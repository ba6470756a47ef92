"""All values of the plan by stage, each with its range and its basis."""

import html

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QFrame,
    QHeaderView,
    QLineEdit,
    QTextBrowser,
    QTreeWidgetItem,
    QWidget,
)

from kerfdocket.language import _, marked, titled
from kerfdocket.planning.model import Estimate, Plan
from kerfdocket.window.looks import em, severity_colour
from kerfdocket.window.results import basis_html, range_text
from kerfdocket.window.tree_dialog import TreeDialog

__all__ = ["ValuesDialog"]

_KEY = Qt.ItemDataRole.UserRole
_NOTHING = marked("Choose a value to see how it was got.")


def _nothing_html() -> str:
    return f"<p>{html.escape(_(_NOTHING))}</p>"


def _children(top: QTreeWidgetItem) -> list[QTreeWidgetItem]:
    found = (top.child(number) for number in range(top.childCount()))
    return [item for item in found if item is not None]


class ValuesDialog(TreeDialog):
    """Stays open beside the form and follows it: a tree of values above, the basis of one below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(_("All values and their basis"), parent)
        self._estimates: dict[str, Estimate] = {}
        self.search = QLineEdit()
        self.search.setPlaceholderText(_("Find a value, such as hose or cylinders"))
        self.search.setAccessibleName(_("Find a value"))
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._filter)
        self.tree.setHeaderLabels([_("Value"), _("Amount"), _("Range"), _("How firm")])
        self.tree.setAccessibleName(_("Values of the plan"))
        self.tree.setAlternatingRowColors(True)
        self.tree.setUniformRowHeights(True)
        self.tree.currentItemChanged.connect(self._on_current_changed)
        header = self.tree.header()
        header.setStretchLastSection(True)
        for column in range(4):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.ResizeToContents)
        self.basis = QTextBrowser()
        self.basis.setOpenLinks(False)
        self.basis.setFrameShape(QFrame.Shape.NoFrame)
        self.basis.setAccessibleName(_("Basis of the chosen value"))
        self.basis.setHtml(_nothing_html())
        self.lay_out(self.basis, (3, 2), self.search)
        self.resize(em(self, 150), self.fontMetrics().lineSpacing() * 40)

    def show_plan(self, plan: Plan | None) -> None:
        """Show the values of a plan; the chosen one stays chosen."""
        chosen = self.chosen_key
        folded = {
            item.text(0) for item in self._stages() if not item.isExpanded() and item.childCount()
        }
        self.tree.clear()
        self._estimates = dict(plan.estimates) if plan else {}
        amount = _("Amount")
        if plan is not None:
            state = plan.job.unit_system.gas_reference
            amount = _("Amount, gas at {state}", state=state)
        self.tree.headerItem().setText(1, amount)
        for stage in plan.stages if plan else ():
            if not stage.estimates:
                continue
            top = self.add_group(titled(_(stage.name)))
            top.setFirstColumnSpanned(True)
            for estimate in stage.estimates:
                top.addChild(self._item(estimate))
            top.setExpanded(top.text(0) not in folded)
        self._filter(self.search.text())
        self.choose(chosen)
        if self.tree.currentItem() is None:
            self.basis.setHtml(_nothing_html())

    @property
    def chosen_key(self) -> str:
        """Key of the chosen value, or empty."""
        item = self.tree.currentItem()
        return str(item.data(0, _KEY) or "") if item is not None else ""

    def choose(self, key: str) -> None:
        """Choose the value of a key, if there is one."""
        for top in self._stages():
            for item in _children(top):
                if key and item.data(0, _KEY) == key:
                    self.tree.setCurrentItem(item)
                    return

    def _stages(self) -> list[QTreeWidgetItem]:
        found = (self.tree.topLevelItem(number) for number in range(self.tree.topLevelItemCount()))
        return [item for item in found if item is not None]

    def _item(self, estimate: Estimate) -> QTreeWidgetItem:
        is_open = estimate.is_withheld
        spread = f"{estimate.range_text} {estimate.unit_text}" if estimate.range_text else ""
        firm = range_text(estimate) if is_open else _(estimate.basis.trust)
        if estimate.is_unverified and not is_open:
            firm = _("{trust}, unverified", trust=firm)
        item = QTreeWidgetItem([estimate.label, estimate.value_text, spread.strip(), firm])
        item.setData(0, _KEY, estimate.key)
        item.setTextAlignment(1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
        if (is_open and not estimate.is_none_needed) or estimate.is_unverified:
            item.setForeground(3, severity_colour("caution", self.palette()))
        said = estimate.basis.text if is_open else range_text(estimate)
        item.setToolTip(0, f"{estimate.key}: {said}")
        return item

    def _filter(self, text: str) -> None:
        wanted = text.casefold().split()
        for top in self._stages():
            shown = 0
            for item in _children(top):
                words = f"{top.text(0)} {item.text(0)} {item.data(0, _KEY)}".casefold()
                fits = all(word in words for word in wanted)
                item.setHidden(not fits)
                shown += fits
            top.setHidden(not shown)
            if wanted and shown:
                top.setExpanded(True)

    def _on_current_changed(self, item: QTreeWidgetItem | None) -> None:
        estimate = self._estimates.get(str(item.data(0, _KEY))) if item is not None else None
        self.basis.setHtml(basis_html(estimate) if estimate is not None else _nothing_html())
        self.basis.setPalette(QPalette(self.palette()))
