"""A picture that can be brought near enough to read what was written by hand."""

from PySide6.QtCore import Qt
from PySide6.QtGui import (
    QImage,
    QKeyEvent,
    QPainter,
    QPixmap,
    QResizeEvent,
    QShowEvent,
    QTransform,
    QWheelEvent,
)
from PySide6.QtWidgets import (
    QFrame,
    QGraphicsScene,
    QGraphicsView,
    QHBoxLayout,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from kerfdocket.language import _
from kerfdocket.window.looks import wrapped

__all__ = ["PictureView"]

_ZOOM_STEP = 1.25
_LARGEST = 4.0  # times as large as the picture's own dots


class _Canvas(QGraphicsView):
    """Shows a picture; the keys + and − and the wheel with Ctrl change its size."""

    def __init__(self) -> None:
        super().__init__()
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setDragMode(QGraphicsView.DragMode.ScrollHandDrag)
        self.setTransformationAnchor(QGraphicsView.ViewportAnchor.AnchorViewCenter)
        self.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        self.setScene(QGraphicsScene(self))
        self.is_fitted = True
        self._angle = 0

    def show_image(self, image: QImage) -> None:
        scene = self.scene()
        scene.clear()
        scene.addPixmap(QPixmap.fromImage(image))
        scene.setSceneRect(0, 0, image.width(), image.height())
        self._angle = 0
        self.fit()

    def fit(self) -> None:
        """Fit the width, so that a page can be read from its top on."""
        self.is_fitted = True
        box = QTransform().rotate(self._angle).mapRect(self.sceneRect())
        room = self.viewport().width() - 2
        if box.width() > 0 and room > 0:
            self._show_at(room / box.width())
        self.verticalScrollBar().setValue(self.verticalScrollBar().minimum())

    def fit_page(self) -> None:
        """Fit all of it."""
        self.is_fitted = False
        box = QTransform().rotate(self._angle).mapRect(self.sceneRect())
        room = self.viewport().size()
        if box.width() > 0 and box.height() > 0:
            self._show_at(min(room.width() / box.width(), room.height() / box.height()) * 0.99)

    def zoom(self, by: float) -> None:
        """Show it larger or smaller."""
        self.is_fitted = False
        self._show_at(min(max(self._scale() * by, 0.02), _LARGEST))

    def turn(self) -> None:
        """Turn it by a quarter to the right."""
        self._angle = (self._angle + 90) % 360
        self.fit()

    def _scale(self) -> float:
        return abs(self.transform().determinant()) ** 0.5

    def _show_at(self, scale: float) -> None:
        self.setTransform(QTransform().rotate(self._angle).scale(scale, scale))

    # Qt overrides

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self.is_fitted:
            self.fit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom(_ZOOM_STEP if event.angleDelta().y() > 0 else 1 / _ZOOM_STEP)
            event.accept()
            return
        super().wheelEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        keys = {
            Qt.Key.Key_Plus: lambda: self.zoom(_ZOOM_STEP),
            Qt.Key.Key_Minus: lambda: self.zoom(1 / _ZOOM_STEP),
            Qt.Key.Key_R: self.turn,
        }
        if (deed := keys.get(Qt.Key(event.key()))) is not None:
            deed()
            event.accept()
            return
        super().keyPressEvent(event)


class PictureView(QWidget):
    """A picture with buttons to bring it near, or a word in its place."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.canvas = _Canvas()
        self.canvas.setAccessibleName(_("Picture of the page"))
        self._word = wrapped()
        self._word.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._pile = QStackedWidget()
        self._pile.addWidget(self._word)
        self._pile.addWidget(self.canvas)
        self._bar = QHBoxLayout()
        self._bar.setSpacing(2)
        self._buttons: list[QToolButton] = []
        for text, tip, slot in (
            (_("Smaller"), _("Smaller (−)"), lambda: self.canvas.zoom(1 / _ZOOM_STEP)),
            (_("Larger"), _("Larger (+)"), lambda: self.canvas.zoom(_ZOOM_STEP)),
            (_("Width"), _("Fit the page's width"), self.canvas.fit),
            (_("Page"), _("Fit the whole page"), self.canvas.fit_page),
            (_("Turn"), _("Turn by a quarter (R)"), self.canvas.turn),
        ):
            button = QToolButton()
            button.setText(text)
            button.setToolTip(tip)
            button.setAccessibleName(tip)
            button.setAutoRaise(True)
            button.clicked.connect(lambda _checked=False, slot=slot: slot())
            self._bar.addWidget(button)
            self._buttons.append(button)
        self._bar.addStretch(1)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        box.addLayout(self._bar)
        box.addWidget(self._pile, 1)
        self.say("")

    @property
    def word(self) -> str:
        """What stands in the place of a picture; empty where one is shown."""
        return "" if self.has_picture else self._word.text()

    @property
    def has_picture(self) -> bool:
        """True if a picture is shown."""
        return self._pile.currentWidget() is self.canvas

    def say(self, word: str) -> None:
        """Show a word and no picture."""
        self._word.setText(word)
        self._pile.setCurrentWidget(self._word)
        self.canvas.scene().clear()
        for button in self._buttons:
            button.setEnabled(False)

    def show_image(self, image: QImage) -> None:
        """Show a picture, as wide as there is room."""
        self._pile.setCurrentWidget(self.canvas)
        self.canvas.show_image(image)
        for button in self._buttons:
            button.setEnabled(True)

    # Qt overrides

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self.has_picture and self.canvas.is_fitted:
            self.canvas.fit()
