"""The readings of a mark to choose from: what each says, its key, and what speaks for it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QHBoxLayout,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from analysis.marks import Reading
from app.interface_words import said
from app.review.document import ReviewedMark
from app.views.facts import others, reading_text
from app.views.labels import heading, quiet_label, show_if

#: How many readings have a key.
KEYS = 9


class ReadingsView(QWidget):
    """One row a reading, the found one first; hidden where a mark has one alone."""

    #: The user wants this `Reading`; None for the one that was found.
    chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._shown: list[Reading | None] = []
        self._group = QButtonGroup(self)
        #: Rows are made once and used again, since making widgets takes longer than all else here.
        self.rows: list[tuple[QRadioButton, QLabel, QLabel]] = []
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._layout.setSpacing(6)
        self._layout.addWidget(heading(said("Readings")))
        self._group.idClicked.connect(lambda at: self.chosen.emit(self._shown[at]))

    @property
    def count(self) -> int:
        """How many readings there are to choose from; 0 where the mark has one alone."""
        return len(self._shown)

    def show_mark(self, mark: ReviewedMark) -> None:
        """Show the readings of a mark."""
        offered = others(mark.mark)
        self._shown = [None, *offered] if offered else []
        chosen = _place_of(mark, self._shown)
        while len(self.rows) < len(self._shown):
            self._add_row(len(self.rows))
        # While one must be checked, none can be let go.
        self._group.setExclusive(False)
        for at, (reading, (button, why, _)) in enumerate(zip(self._shown, self.rows, strict=False)):
            reason = reading.reason if reading else said("as found")
            button.setText(reading_text(mark.mark, reading) if reading else mark.mark.label)
            button.setChecked(at == chosen)
            button.setAccessibleDescription(reason)
            why.setText(reason)
        self._group.setExclusive(True)
        for at, row in enumerate(self.rows):
            for widget in row:
                show_if(widget, at < len(self._shown))
        show_if(self, bool(self._shown))

    def choose_next(self, step: int = 1) -> None:
        """Choose the next of the readings, after the last the first."""
        if self.count > 1:
            at = max(self._group.checkedId(), 0)
            self._button((at + step) % self.count).click()

    def choose(self, at: int) -> bool:
        """Choose one of the readings, counted from 0; False where it is the chosen one already."""
        button = self._button(at)
        if button.isChecked():
            return False
        button.click()
        return True

    def _button(self, at: int) -> QAbstractButton:
        return self.rows[at][0]

    def _add_row(self, at: int) -> None:
        button, why, key = QRadioButton(), quiet_label(), quiet_label()
        why.setIndent(22)
        if at < KEYS:
            key.setText(str(at + 1))
            for widget in (button, key):
                widget.setToolTip(said("{key} takes the reading and goes on", key=at + 1))
        self._group.addButton(button, at)
        row = QHBoxLayout()
        row.addWidget(button, 1)
        row.addWidget(key)
        self._layout.addLayout(row)
        self._layout.addWidget(why)
        self.rows.append((button, why, key))


def _place_of(mark: ReviewedMark, readings: Sequence[Reading | None]) -> int:
    """Which of the readings on offer is the chosen one; -1 where it is none of them."""
    if not mark.decision or not mark.decision.reading:
        return 0
    alike = [at for at, one in enumerate(readings) if one and one.label == mark.decision.reading]
    exact = (at for at in alike if readings[at] == mark.reading)
    return next(exact, alike[0] if alike else -1)
