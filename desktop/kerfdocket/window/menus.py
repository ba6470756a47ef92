"""The main window's menus and its tool bar; light, as they are seen at the first paint."""

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from kerfdocket.language import LANGUAGES, Language, _, current_language, marked

if TYPE_CHECKING:
    from kerfdocket.window.sheet_view import SheetView

__all__ = ["Menus", "Wishes"]

_Key = QKeySequence.StandardKey
_NO_KEY = QKeySequence()


class Wishes(NamedTuple):  # a frozen dataclass takes half a millisecond of the start
    """What is called when a person chooses something.

    Attributes:
        new, open, save, save_as, quit: of the job and the program.
        print_sheet, export_sheet: of the sheet that is shown.
        choose_shop, no_shop: whose sheets are drawn.
        open_archive, issue, print_issued, save_draft, open_draft, ask_name: of the archive.
        go_to_panel: is given the panel's index in the form.
        next_finding: goes to the next row of the list.
        sheet: the sheet that is made larger or smaller.
        show_values, show_work: beside the window.
        use_units: is given the name of a unit system.
        use_language: is given a language, while the menu is still open.
    """

    new: Callable[[], object]
    open: Callable[[], object]
    save: Callable[[], object]
    save_as: Callable[[], object]
    quit: Callable[[], object]
    print_sheet: Callable[[], object]
    export_sheet: Callable[[], object]
    choose_shop: Callable[[], object]
    no_shop: Callable[[], object]
    open_archive: Callable[[], object]
    issue: Callable[[], object]
    print_issued: Callable[[], object]
    save_draft: Callable[[], object]
    open_draft: Callable[[], object]
    ask_name: Callable[[], object]
    go_to_panel: Callable[[int], object]
    next_finding: Callable[[], object]
    sheet: "Callable[[], SheetView]"
    show_values: Callable[[], object]
    show_work: Callable[[], object]
    use_units: Callable[[str], object]
    use_language: Callable[[Language], object]


class Menus:
    """Says what can be done, and lets only that be chosen which can be done now.

    Attributes:
        new, open, save, save_as, print_sheet, export_sheet, choose_shop, no_shop: actions of the
            file menu.
        issue, print_issued, save_draft, open_draft, ask_name: actions of the archive's menu.
        units, languages: actions of which one is marked; empty until they are filled.
    """

    def __init__(self, window: QMainWindow, wishes: Wishes) -> None:
        """Put the menus and the tool bar into a window; most is off until `fill` is called."""
        self._window = window
        self._wishes = wishes
        self._labels: list[tuple[Callable[[str], object], str]] = []
        self._make_file_menu()
        self._make_archive_menu()
        self._go_menu = self._menu(marked("&Go to"))
        self._make_view_menu()
        self._make_tool_bar()
        for action in self._of_the_job:
            action.setEnabled(False)
        for menu in (self._archive_menu, self._go_menu, self._view_menu):
            menu.setEnabled(False)
        self.allow(sheet=False, issue=False, print_issued=False, save_draft=True)

    def fill(self) -> None:
        """Offer all there is, as soon as the form is there."""
        for action in self._of_the_job:
            action.setEnabled(True)
        self._fill_go_menu()
        self._fill_units()
        self._fill_languages()
        for menu in (self._archive_menu, self._go_menu, self._view_menu):
            menu.setEnabled(True)

    def allow(self, *, sheet: bool, issue: bool, print_issued: bool, save_draft: bool) -> None:
        """Let be chosen what can be done now.

        Args:
            sheet: True if the sheet that is shown can be printed and exported.
            issue: True if it can be issued.
            print_issued: True if the sheet that was last issued can be printed.
            save_draft: True if the job can be shared.
        """
        self.print_sheet.setEnabled(sheet)
        self.export_sheet.setEnabled(sheet)
        self.issue.setEnabled(issue)
        self.print_issued.setEnabled(print_issued)
        self.save_draft.setEnabled(save_draft)

    def mark_units(self, name: str) -> None:
        """Mark the unit system that the job is in."""
        for action in self.units.actions():
            action.setChecked(action.data() == name)

    def say_anew(self) -> None:
        """Say everything in the language that is spoken now."""
        for write, text in self._labels:
            write(_(text))
        for action in self.languages.actions():
            action.setChecked(action.data() == current_language().code)

    # Seen at the first paint

    def _make_file_menu(self) -> None:
        wishes = self._wishes
        self.new = self._action(marked("&New"), _Key.New, wishes.new)
        self.open = self._action(marked("&Open…"), _Key.Open, wishes.open)
        self.save = self._action(marked("&Save"), _Key.Save, wishes.save)
        self.save_as = self._action(marked("Save &as…"), _Key.SaveAs, wishes.save_as)
        if self.save_as.shortcut().isEmpty():
            self.save_as.setShortcut(QKeySequence("Ctrl+Shift+S"))
        self._of_the_job = (self.new, self.open, self.save, self.save_as)
        self.print_sheet = self._action(marked("&Print…"), _Key.Print, wishes.print_sheet)
        self.export_sheet = self._action(
            marked("&Export sheet as PDF…"), QKeySequence("Ctrl+E"), wishes.export_sheet
        )
        self.choose_shop = self._action(marked("Shop’s &folder…"), _NO_KEY, wishes.choose_shop)
        self.no_shop = self._action(
            marked("Sheet &without a shop’s folder"), _NO_KEY, wishes.no_shop
        )
        leave = self._action(marked("&Quit"), QKeySequence("Ctrl+Q"), wishes.quit)
        menu = self._menu(marked("&File"))
        menu.addActions([self.new, self.open])
        menu.addSeparator()
        menu.addActions([self.save, self.save_as])
        menu.addSeparator()
        menu.addActions([self.print_sheet, self.export_sheet])
        menu.addSeparator()
        menu.addActions([self.choose_shop, self.no_shop])
        menu.addSeparator()
        menu.addAction(leave)

    def _make_archive_menu(self) -> None:
        wishes = self._wishes
        show = self._action(
            marked("&Open the archive…"), QKeySequence("Ctrl+Shift+A"), wishes.open_archive
        )
        self.issue = self._action(marked("&Issue the sheet…"), QKeySequence("Ctrl+I"), wishes.issue)
        self.print_issued = self._action(
            marked("&Print the issued sheet…"), _NO_KEY, wishes.print_issued
        )
        self.save_draft = self._action(marked("Save as shared &draft"), _NO_KEY, wishes.save_draft)
        self.open_draft = self._action(marked("Open &shared draft…"), _NO_KEY, wishes.open_draft)
        self.ask_name = self._action(marked("Your &name…"), _NO_KEY, wishes.ask_name)
        menu = self._archive_menu = self._menu(marked("&Archive"))
        menu.addAction(show)
        menu.addSeparator()
        menu.addActions([self.issue, self.print_issued])
        menu.addSeparator()
        menu.addActions([self.save_draft, self.open_draft])
        menu.addSeparator()
        menu.addAction(self.ask_name)

    def _make_view_menu(self) -> None:
        wishes = self._wishes
        menu = self._view_menu = self._menu(marked("&View"))
        for text, key, slot in (
            (marked("Sheet &larger"), _Key.ZoomIn, lambda: wishes.sheet().zoom_in()),
            (marked("Sheet &smaller"), _Key.ZoomOut, lambda: wishes.sheet().zoom_out()),
            (
                marked("Sheet fits the &width"),
                QKeySequence("Ctrl+0"),
                lambda: wishes.sheet().fit_width(),
            ),
            (
                marked("Whole &page"),
                QKeySequence("Ctrl+Alt+0"),
                lambda: wishes.sheet().fit_page(),
            ),
        ):
            menu.addAction(self._action(text, key, slot))
        menu.addSeparator()
        menu.addAction(
            self._action(marked("All &values…"), QKeySequence("Ctrl+Shift+V"), wishes.show_values)
        )
        menu.addAction(
            self._action(
                marked("Steps and &reasons…"), QKeySequence("Ctrl+Shift+R"), wishes.show_work
            )
        )
        menu.addSeparator()
        self.units = QActionGroup(self._window)
        self.languages = QActionGroup(self._window)

    def _make_tool_bar(self) -> None:
        bar = self._window.addToolBar("")
        self._label(bar.setWindowTitle, marked("File"))
        bar.setMovable(False)
        bar.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextOnly)
        bar.addActions([self.new, self.open, self.save])
        bar.addSeparator()
        bar.addActions([self.print_sheet, self.export_sheet])
        bar.toggleViewAction().setEnabled(False)

    # Filled later

    def _fill_go_menu(self) -> None:
        from kerfdocket.window.layout import PANELS

        for number, panel in enumerate(PANELS, start=1):
            self._go_menu.addAction(
                self._action(
                    panel.heading,
                    QKeySequence(f"Ctrl+{number}"),
                    partial(self._wishes.go_to_panel, number - 1),
                    before=f"&{number}  ",
                )
            )
        self._go_menu.addSeparator()
        self._go_menu.addAction(
            self._action(marked("Next &finding"), QKeySequence("F8"), self._wishes.next_finding)
        )

    def _fill_units(self) -> None:
        from kerfdocket.window.units import UNIT_NAMES

        for name, text in UNIT_NAMES:
            action = self._action(text, _NO_KEY, partial(self._wishes.use_units, name))
            action.setCheckable(True)
            action.setData(name)
            self.units.addAction(action)
            self._view_menu.addAction(action)

    def _fill_languages(self) -> None:
        self._view_menu.addSeparator()
        menu = self._view_menu.addMenu("")
        self._label(menu.setTitle, marked("Lan&guage"))
        for language in LANGUAGES:
            # Called by its own name in every language.
            action = QAction(language.name, self._window)
            action.setCheckable(True)
            action.setData(language.code)
            action.setChecked(language == current_language())
            action.triggered.connect(
                lambda _checked=False, language=language: self._wishes.use_language(language)
            )
            self.languages.addAction(action)
            menu.addAction(action)

    # What they are made of

    def _label(self, write: Callable[[str], object], text: str, before: str = "") -> None:
        """Write a marked text where it is read, now and whenever the language changes."""
        self._labels.append((lambda said: write(f"{before}{said}"), text))
        write(f"{before}{_(text)}")

    def _menu(self, title: str) -> QMenu:
        menu = self._window.menuBar().addMenu("")
        self._label(menu.setTitle, title)
        return menu

    def _action(
        self,
        text: str,
        key: QKeySequence.StandardKey | QKeySequence,
        slot: Callable[[], object],
        before: str = "",
    ) -> QAction:
        action = QAction(self._window)
        self._label(action.setText, text, before)
        action.setShortcut(QKeySequence(key))
        action.triggered.connect(lambda _checked=False: slot())
        return action
