"""The first five steps of a review, ticked off as they are done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import Phrase, phrase, said, said_phrase
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.views.looks import LIGHT, Look
from app.views.signs import STATE_SIGNS, paint_sign


def _any_state(state: str) -> Callable[[Document | None, Selection], bool]:
    """Whether a mark is in a state."""

    def done(document: Document | None, _: Selection) -> bool:
        decisions = document.decisions.values() if document else ()
        return any(one.state == state for one in decisions)

    return done


#: What to do, and when it has been done.
STEPS: Final[tuple[tuple[Phrase, Callable[[Document | None, Selection], bool]], ...]] = (
    (
        phrase("Press J for the next mark, K for the one before; score and timeline follow."),
        lambda _, selection: bool(selection.mark),
    ),
    (phrase("Right? Press A to accept it and go on to the next."), _any_state("accepted")),
    (phrase("Wrong? Press R to reject it. U takes a decision back."), _any_state("rejected")),
    (
        phrase("Better said? Press E, type your words, and press Enter."),
        _any_state("edited"),
    ),
    (
        phrase(
            "Another chord or key? Double-click a numeral and type it; all that depends on it "
            "follows."
        ),
        lambda document, _: bool(
            document and (document.corrections.chords or document.corrections.keys)
        ),
    ),
)


class GuideView(QFrame):
    """Five lines over the list of marks; stays until it is closed."""

    close_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Five steps of a review"))
        self._document: Document | None = None
        self._selection = NOTHING
        self._done = [False] * len(STEPS)
        self.ticks = [Tick() for _ in STEPS]
        heading = QLabel(said("Five steps"))
        font = heading.font()
        font.setBold(True)
        heading.setFont(font)
        close = QPushButton(said("Enough"), flat=True)
        close.setAccessibleName(said("Close the five steps"))
        close.clicked.connect(self.close_requested)
        head = QHBoxLayout()
        head.addWidget(heading, 1)
        head.addWidget(close)
        self._steps = QWidget()
        grid = QGridLayout(self._steps)
        grid.setContentsMargins(0, 0, 6, 0)
        grid.setColumnStretch(1, 1)
        for row, ((text, _), tick) in enumerate(zip(STEPS, self.ticks, strict=True)):
            label = QLabel(said_phrase(text), wordWrap=True)
            grid.addWidget(tick, row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(label, row, 1)
        self._area = QScrollArea(widgetResizable=True)
        self._area.setFrameShape(QFrame.Shape.NoFrame)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setAccessibleName(said("Five steps"))
        self._area.setWidget(self._steps)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(10, 6, 6, 8)
        layout.addLayout(head)
        layout.addWidget(self._area)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Be as high as the lines need, if there is room; else they can be scrolled."""
        super().resizeEvent(event)
        width = self._area.viewport().width()
        high = self._steps.heightForWidth(width)
        self._steps.setMinimumHeight(high)
        least = min(high, 6 * self.fontMetrics().lineSpacing())
        self._area.setMinimumHeight(least)
        self._area.setMaximumHeight(high)

    @property
    def done(self) -> tuple[bool, ...]:
        """Which steps have been done since the guide was begun."""
        return tuple(self._done)

    def begin(self) -> None:
        """Begin anew with what is open."""
        self._done = [False] * len(STEPS)
        self._check()

    def show_document(self, document: Document | None) -> None:
        """Tick off what this document shows to be done."""
        self._document = document
        self._check()

    def show_selection(self, selection: Selection) -> None:
        """Tick off what this selection shows to be done."""
        self._selection = selection
        self._check()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        for tick in self.ticks:
            tick.look = look
            tick.update()

    def _check(self) -> None:
        for at, (_, done) in enumerate(STEPS):
            self._done[at] = self._done[at] or done(self._document, self._selection)
            self.ticks[at].show_done(self._done[at])


class Tick(QWidget):
    """A sign for one step: done or still to do."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.look = LIGHT
        self._done = False
        size = self.fontMetrics().height()
        self.setFixedSize(QSize(size, size))

    def show_done(self, done: bool) -> None:
        """Whether the step is done."""
        self._done = done
        self.setAccessibleName(said("done") if done else said("to do"))
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the sign."""
        painter = QPainter(self)
        sign = STATE_SIGNS["accepted" if self._done else "open"]
        colour = QColor(self.look.accent if self._done else self.look.quiet)
        paint_sign(painter, sign, self.rect().toRectF().adjusted(2, 2, -2, -2), colour)
        painter.end()
