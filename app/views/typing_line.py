"""A line to type in that lies over another view, checked with every key."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, QPoint, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QLabel, QLineEdit, QVBoxLayout, QWidget

from analysis.errors import NotationError

#: Gives what a text means in words; raises NotationError where it means nothing.
Check = Callable[[str], str]
#: Is handed a text that makes sense and is not what was there.
Take = Callable[[str], object]


class TypingLine(QFrame):
    """Takes what makes sense with Enter, drops it with Escape; leaving it takes it, too."""

    #: The line is gone, whatever became of its text.
    closed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName("typingLine")
        self.setAutoFillBackground(True)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.line = QLineEdit()
        self.line.installEventFilter(self)
        self.line.textEdited.connect(self._show_meaning)
        self.hint = QLabel(wordWrap=True)
        self.hint.setTextFormat(Qt.TextFormat.PlainText)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(6, 6, 6, 6)
        layout.setSpacing(4)
        layout.addWidget(self.line)
        layout.addWidget(self.hint)
        self._check: Check = str
        self._take_text: Take = str
        self._before = ""
        self._at, self._height = QPoint(), 0
        self.hide()

    def ask(
        self, at: QPoint, what: str, text: str, check: Check, take: Take, height: int = 0
    ) -> None:
        """Show the line below a point of the parent, with a text to begin with.

        Where there is no room, it stands above what is so high and ends at the point.
        """
        self._check, self._take_text, self._before = check, take, text
        self._at, self._height = at, height
        self.line.setAccessibleName(what)
        self.line.setText(text)
        self.line.selectAll()
        self._show_meaning()
        self.setFixedWidth(self.fontMetrics().averageCharWidth() * 36)
        self._settle()
        self.show()
        self.raise_()
        self.line.setFocus(Qt.FocusReason.PopupFocusReason)

    def drop(self) -> None:
        """Close without taking anything."""
        if not self.isHidden():
            self.hide()
            self.closed.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter takes, Escape drops, leaving takes what makes sense."""
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            if event.key() == Qt.Key.Key_Escape:
                self.drop()
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
                self._take()
                return True
        elif event.type() == QEvent.Type.ShortcutOverride:
            event.accept()  # single letters are typed here and no keys of the review
        elif event.type() == QEvent.Type.FocusOut and not self.isHidden() and self._changed():
            self._take()
        return super().eventFilter(watched, event)

    def _settle(self) -> None:
        """As large as its words, and where they cover nothing that they are about."""
        self.adjustSize()
        parent, at = self.parentWidget(), self._at
        assert parent
        x = min(max(0, at.x()), max(0, parent.width() - self.width()))
        below = at.y() + self.height() <= parent.height()
        self.move(x, max(0, at.y() if below else at.y() - self._height - self.height()))

    def _changed(self) -> bool:
        return self.line.text().strip() != self._before.strip()

    def _take(self) -> None:
        """Hand on what makes sense; otherwise stay, with what is wrong said below."""
        text = self.line.text()
        try:
            self._check(text)
        except NotationError:
            self._show_meaning()
            return
        self.hide()
        if self._changed():
            self._take_text(text)
        self.closed.emit()

    def _show_meaning(self) -> None:
        try:
            said, wrong = self._check(self.line.text()), False
        except NotationError as error:
            said, wrong = str(error), True
        self.hint.setText(said)
        self.hint.setProperty("warning", wrong)
        self.hint.setProperty("quiet", not wrong)
        self.hint.style().unpolish(self.hint)
        self.hint.style().polish(self.hint)
        self.line.setAccessibleDescription(said)
        self._settle()
