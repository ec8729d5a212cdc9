"""The picture as it will be, over what may lie under it, with the guides of the safe areas."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPoint, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QImage, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QComboBox,
    QLabel,
    QPlainTextEdit,
    QScrollArea,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.export.frames import ACTION_SAFE, TITLE_SAFE
from app.interface_words import Phrase, phrase, said, said_phrase
from app.views.export_room_footage import (
    GROUNDS,
    GUIDE_STYLES,
    Ground,
    footage,
    guide_colours,
    paint_ground,
)
from app.views.export_room_words import facts_text, step_text
from app.views.flow_layout import FlowLayout
from app.views.looks import LIGHT, Look
from app.worker.messages import Painted
from app.worker.previews import Wanted

_GROUND_WORDS: Final[dict[Ground, tuple[Phrase, Phrase]]] = {
    "checks": (
        phrase("Chec&kerboard"),
        phrase("The picture over checks: what is transparent shows them"),
    ),
    "dark": (phrase("&Dark Footage"), phrase("The picture over a stand-in for dark footage")),
    "light": (phrase("&Light Footage"), phrase("The picture over a stand-in for light footage")),
    "grey": (phrase("Gre&y"), phrase("The picture over middle grey")),
}
_MARGIN: Final = 14


class FramePicture(QWidget):
    """One frame, fitted into the view or pixel by pixel."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Picture"))
        self.image: QImage | None = None
        self.ground: Ground = "checks"
        self.title_safe = self.action_safe = False
        self.actual = False
        self._frame = QSize(1920, 1080)
        self._scene: tuple[Ground, QSize, QImage | None] | None = None
        self._desk = QColor(LIGHT.desk)

    def set_look(self, look: Look) -> None:
        """Take the colour around the frame."""
        self._desk = QColor(look.desk)
        self.update()

    def show_image(self, image: QImage | None, frame: QSize) -> None:
        """Show a picture; without one, the empty frame."""
        self.image, self._frame = image, frame
        self.adapt()

    def adapt(self) -> None:
        """Take the size that is shown."""
        self.setMinimumSize(self._actual_size() if self.actual else QSize(1, 1))
        self.update()

    @property
    def frame_area(self) -> QRect:
        """Where the frame stands in the widget."""
        size = self._actual_size()
        if not self.actual:
            room = self.size() - QSize(2 * _MARGIN, 2 * _MARGIN)
            size = self._frame.scaled(room, Qt.AspectRatioMode.KeepAspectRatio)
        area = QRect(QPoint(0, 0), size)
        area.moveCenter(self.rect().center())
        return area

    def paintEvent(self, event: QPaintEvent) -> None:
        """Ground, picture, guides."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), self._desk)
        area = self.frame_area
        if area.isEmpty():
            return
        paint_ground(painter, area, self.ground, self._footage())
        if self.image is not None:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(area, self._scaled(area.size()))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        for shown, share, style in zip(
            (self.title_safe, self.action_safe), (TITLE_SAFE, ACTION_SAFE), GUIDE_STYLES,
            strict=True,
        ):  # fmt: skip
            if shown:
                _paint_guide(painter, QRectF(area), share, style)

    def _actual_size(self) -> QSize:
        return self._frame / self.devicePixelRatioF()

    def _scaled(self, size: QSize) -> QImage:
        """The picture in the pixels of the screen: halved smoothly, as painting alone would not."""
        assert self.image is not None
        wanted = size * self.devicePixelRatioF()
        if wanted.width() >= self.image.width():
            return self.image
        return self.image.scaled(
            wanted, Qt.AspectRatioMode.IgnoreAspectRatio, Qt.TransformationMode.SmoothTransformation
        )

    def _footage(self) -> QImage | None:
        if self._scene is None or self._scene[:2] != (self.ground, self._frame):
            self._scene = (self.ground, self._frame, footage(self.ground, self._frame))
        return self._scene[2]


class PreviewPane(QWidget):
    """The frame with its ground and guides to choose; of a reveal also the step."""

    #: Another step, or only what it adds, is to be shown.
    step_chosen = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.picture = FramePicture()
        self.text = QPlainTextEdit(readOnly=True, tabChangesFocus=True)
        self.text.setAccessibleName(said("Beginning of the text"))
        self.text.setLineWrapMode(QPlainTextEdit.LineWrapMode.NoWrap)
        self._area = QScrollArea(widgetResizable=True)
        self._area.setAccessibleName(said("Preview"))
        self._area.setWidget(self.picture)
        self._stack = QStackedWidget()
        self._stack.addWidget(self._area)
        self._stack.addWidget(self.text)
        self.grounds = QButtonGroup(self)
        self.title_box = QCheckBox(said("&Title-safe"))
        self.title_box.setToolTip(said("5 % from each edge: words inside it are seen everywhere"))
        self.action_box = QCheckBox(said("A&ction-safe"))
        self.action_box.setToolTip(said("3.5 % from each edge: what matters stays inside it"))
        self.actual_box = QCheckBox(said("Actual Pi&xels"))
        self.step_box = QComboBox()
        self.step_box.setAccessibleName(said("Step of the reveal, or which picture of several"))
        self.added_box = QCheckBox(said("O&nly What It Adds"))
        self.facts = QLabel(wordWrap=True)
        self.facts.setProperty("quiet", True)
        self.warnings = QLabel(wordWrap=True)
        self.warnings.setProperty("warning", True)
        self._lay_out()
        self.grounds.idClicked.connect(self._choose_ground)
        self.title_box.toggled.connect(self._choose_guides)
        self.action_box.toggled.connect(self._choose_guides)
        self.actual_box.toggled.connect(self._choose_scale)
        self.step_box.activated.connect(self.step_chosen)
        self.added_box.clicked.connect(self.step_chosen)
        self.title_box.setChecked(True)
        self.show_nothing(said("Choose a picture in the list."))

    @property
    def step(self) -> int:
        """The step that is shown, from 0."""
        return max(self.step_box.currentIndex(), 0)

    def set_look(self, look: Look) -> None:
        """Take other colours."""
        self.picture.set_look(look)

    def show_nothing(self, why: str) -> None:
        """Say why no picture is shown."""
        self._stack.setCurrentWidget(self.text)
        self.text.setPlainText(why)
        self.facts.clear()
        self._show_warnings(())
        self._show_steps((), 0)

    def show_text(self, text: str) -> None:
        """Show the beginning of a text."""
        self.show_nothing(text or said("This file is seen once it is exported."))

    def show_painted(self, wanted: Wanted, painted: Painted, stands: float | None) -> None:
        """Show a picture; ``stands`` is how long it does in the video, in seconds."""
        image = QImage(
            painted.pixels,
            painted.width,
            painted.height,
            QImage.Format.Format_ARGB32_Premultiplied,
        ).copy()
        self._stack.setCurrentWidget(self._area)
        self.picture.show_image(image, image.size())
        self.facts.setText(facts_text(painted, stands))
        self._show_warnings(painted.facts.warnings)
        self._show_steps(painted.facts.steps, wanted.step, reveal=wanted.entry.sort == "reveals")
        self.picture.setAccessibleDescription(f"{wanted.entry.shows}. {self.facts.text()}")

    def _show_warnings(self, warnings: tuple[str, ...]) -> None:
        self.warnings.setText("\n".join(warnings))
        self.warnings.setVisible(bool(warnings))

    def _show_steps(self, steps: tuple[str, ...], step: int, *, reveal: bool = False) -> None:
        """Offer the steps of a reveal, or the pictures that an entry takes."""
        if reveal:
            words = [f"{at}  {step_text(one)}" for at, one in enumerate(steps, start=1)]
        else:
            words = [said("Picture {at} of {count}", at=one, count=len(steps)) for one in steps]
        if words != [self.step_box.itemText(at) for at in range(self.step_box.count())]:
            self.step_box.clear()
            self.step_box.addItems(words)
        self.step_box.setCurrentIndex(min(step, len(words) - 1))
        self.step_box.setVisible(len(words) > 1)
        self.added_box.setVisible(reveal)

    def _lay_out(self) -> None:
        head = FlowLayout()
        head.setContentsMargins(10, 6, 10, 6)
        for at, ground in enumerate(GROUNDS):
            text, tip = (said_phrase(words) for words in _GROUND_WORDS[ground])
            button = QToolButton()
            button.setText(text)
            button.setCheckable(True)
            button.setAutoRaise(True)
            button.setAccessibleName(text.replace("&", ""))
            button.setToolTip(tip)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.setChecked(not at)
            self.grounds.addButton(button, at)
            head.addWidget(button)
        for box in (self.title_box, self.action_box, self.actual_box):
            head.addWidget(box)
        # Below the picture, so that the row above it is not too wide in wordier languages.
        steps = FlowLayout()
        steps.addWidget(self.step_box)
        steps.addWidget(self.added_box)
        foot = QVBoxLayout()
        foot.setContentsMargins(12, 6, 12, 8)
        foot.setSpacing(3)
        foot.addWidget(self.facts)
        foot.addLayout(steps)
        foot.addWidget(self.warnings)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(head)
        layout.addWidget(self._stack, 1)
        layout.addLayout(foot)

    def _choose_ground(self, at: int) -> None:
        self.picture.ground = GROUNDS[at]
        self.picture.update()

    def _choose_guides(self) -> None:
        self.picture.title_safe = self.title_box.isChecked()
        self.picture.action_safe = self.action_box.isChecked()
        self.picture.update()

    def _choose_scale(self) -> None:
        self.picture.actual = self.actual_box.isChecked()
        self.picture.adapt()


def _paint_guide(painter: QPainter, area: QRectF, share: float, style: Qt.PenStyle) -> None:
    across, down = area.width() * share, area.height() * share
    inside = area.adjusted(across, down, -across, -down)
    dark, light = guide_colours()
    for colour, width in ((dark, 2.4), (light, 1.0)):
        pen = QPen(colour, width)
        pen.setStyle(style)
        # Both lines have their dashes in the same places.
        pen.setDashPattern([8 / width, 6 / width]) if style == Qt.PenStyle.DashLine else None
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
        painter.setPen(pen)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(inside)
