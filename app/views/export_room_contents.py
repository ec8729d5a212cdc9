"""What pictures show: parts, layers and the rest; and the steps of reveals in their order."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.engraving.labels import LAYERS, Layer
from app.export.passages import SUITING, Contents
from app.export.reveal_steps import STEPS, USUAL, StepName
from app.interface_words import said, said_phrase
from app.review.document import Document
from app.views.export_room_words import LAYER_WORDS, STEP_WORDS

_VALUE = Qt.ItemDataRole.UserRole


class ContentsPanel(QWidget):
    """Chooses `Contents`: what suits each picture, unless the user says what."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.own_parts = QCheckBox(said("&Parts that suit each picture"))
        self.own_layers = QCheckBox(said("&Layers that suit each picture"))
        self.parts = _checks(said("Parts that are shown"))
        self.layers = _checks(said("Layers that are shown"))
        for layer in LAYERS:
            _add_check(
                self.layers,
                said_phrase(LAYER_WORDS[layer]),
                layer,
                layer in ("numerals", "functions"),
            )
        self.symbols = QCheckBox(said("Chord &symbols"))
        self.lyrics = QCheckBox(said("L&yrics"))
        self.numbers = QCheckBox(said("&Measure numbers"))
        for box in (self.own_parts, self.own_layers, self.symbols, self.lyrics):
            box.setChecked(True)
        grid = QGridLayout(self)
        grid.setContentsMargins(14, 12, 14, 10)
        grid.setHorizontalSpacing(32)
        grid.addWidget(self.own_parts, 0, 0)
        grid.addWidget(self.parts, 1, 0)
        grid.addWidget(self.own_layers, 0, 1)
        grid.addWidget(self.layers, 1, 1)
        more = QVBoxLayout()
        for box in (self.symbols, self.lyrics, self.numbers):
            more.addWidget(box)
        more.addStretch(1)
        grid.addLayout(more, 1, 2)
        grid.setRowStretch(1, 1)
        for column in (0, 1):
            grid.setColumnStretch(column, 1)
        for box in (self.own_parts, self.own_layers, self.symbols, self.lyrics, self.numbers):
            box.toggled.connect(self._change)
        self.parts.itemChanged.connect(self._change)
        self.layers.itemChanged.connect(self._change)
        self._enable()

    @property
    def contents(self) -> Contents:
        """What is chosen; where no part is ticked, the parts that suit."""
        parts = tuple(_ticked(self.parts))
        layers: list[Layer] = _ticked(self.layers)
        return Contents(
            layers=None if self.own_layers.isChecked() else frozenset(layers),
            parts=None if self.own_parts.isChecked() or not parts else parts,
            measure_numbers=self.numbers.isChecked(),
            chord_symbols=self.symbols.isChecked(),
            lyrics=self.lyrics.isChecked(),
        )

    def show_document(self, document: Document | None) -> None:
        """Offer the parts of a score; those that stay keep their ticks."""
        parts = document.score.parts if document else ()
        known = [self.parts.item(at).data(_VALUE) for at in range(self.parts.count())]
        if [part.id for part in parts] == known:
            return
        self.parts.blockSignals(True)
        self.parts.clear()
        for part in parts:
            _add_check(self.parts, part.name or part.id, part.id, True)
        self.parts.blockSignals(False)

    def state(self) -> dict[str, Any]:
        """What is chosen, for the next start; parts belong to one score."""
        layers = self.contents.layers
        return {
            "layers": None if layers is None else sorted(layers),
            "symbols": self.symbols.isChecked(),
            "lyrics": self.lyrics.isChecked(),
            "numbers": self.numbers.isChecked(),
        }

    def show_state(self, state: dict[str, Any]) -> None:
        """Choose what was chosen."""
        layers = state.get("layers")
        self.own_layers.setChecked(not isinstance(layers, list))
        if isinstance(layers, list):
            for at in range(self.layers.count()):
                item = self.layers.item(at)
                _tick(item, item.data(_VALUE) in layers)
        self.symbols.setChecked(bool(state.get("symbols", SUITING.chord_symbols)))
        self.lyrics.setChecked(bool(state.get("lyrics", SUITING.lyrics)))
        self.numbers.setChecked(bool(state.get("numbers", SUITING.measure_numbers)))

    def _change(self) -> None:
        self._enable()
        self.changed.emit()

    def _enable(self) -> None:
        self.parts.setEnabled(not self.own_parts.isChecked())
        self.layers.setEnabled(not self.own_layers.isChecked())


class StepsPanel(QWidget):
    """Chooses the steps of reveals; a row moves by the mouse, by buttons, or by Alt and arrows."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.list = _checks(said("Steps of reveals, in order"))
        self.list.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self.earlier = QPushButton(said("&Earlier"), autoDefault=False)
        self.later = QPushButton(said("L&ater"), autoDefault=False)
        self.earlier.setToolTip(_key_text("Alt+Up"))
        self.later.setToolTip(_key_text("Alt+Down"))
        hint = QLabel(
            said(
                "Each step is written twice: as the whole frame, and as only what the step adds. "
                "Nothing that is there already moves."
            ),
            wordWrap=True,
        )
        hint.setProperty("quiet", True)
        move = QHBoxLayout()
        move.setSpacing(8)
        move.addWidget(self.earlier)
        move.addWidget(self.later)
        move.addStretch(1)
        buttons = QVBoxLayout()
        buttons.setSpacing(12)
        buttons.addLayout(move)
        buttons.addWidget(hint, 1, Qt.AlignmentFlag.AlignTop)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(14, 12, 14, 10)
        layout.setSpacing(16)
        layout.addWidget(self.list, 1)
        layout.addLayout(buttons, 1)
        self.show_steps(USUAL)
        self.list.itemChanged.connect(self.changed)
        self.list.model().rowsMoved.connect(self.changed)
        self.list.installEventFilter(self)
        self.earlier.clicked.connect(lambda: self.move_step(-1))
        self.later.clicked.connect(lambda: self.move_step(1))

    @property
    def steps(self) -> tuple[StepName, ...]:
        """The ticked steps in order; the usual ones where none is."""
        return tuple(_ticked(self.list)) or USUAL

    def show_steps(self, steps: tuple[StepName, ...]) -> None:
        """Tick these, in this order, the others below."""
        self.list.blockSignals(True)
        self.list.clear()
        for step in (*steps, *(step for step in STEPS if step not in steps)):
            _add_check(self.list, said_phrase(STEP_WORDS[step]), step, step in steps)
        self.list.setCurrentRow(0)
        self.list.blockSignals(False)
        self.changed.emit()

    def move_step(self, by: int) -> None:
        """Move the chosen step up or down."""
        at = self.list.currentRow()
        if at < 0 or not 0 <= at + by < self.list.count():
            return
        item = self.list.takeItem(at)
        self.list.insertItem(at + by, item)
        self.list.setCurrentRow(at + by)
        self.changed.emit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Alt with an arrow moves the row."""
        if (
            isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.modifiers() & Qt.KeyboardModifier.AltModifier
            and event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down)
        ):
            self.move_step(-1 if event.key() == Qt.Key.Key_Up else 1)
            return True
        return super().eventFilter(watched, event)


def _key_text(keys: str) -> str:
    return QKeySequence(keys).toString(QKeySequence.SequenceFormat.NativeText)


def _checks(name: str) -> QListWidget:
    checks = QListWidget()
    checks.setAccessibleName(name)
    checks.setSpacing(2)
    return checks


def _add_check(checks: QListWidget, text: str, value: object, ticked: bool) -> None:
    item = QListWidgetItem(text, checks)
    item.setData(_VALUE, value)
    _tick(item, ticked)


def _tick(item: QListWidgetItem, ticked: bool) -> None:
    item.setCheckState(Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked)


def _ticked(checks: QListWidget) -> list[Any]:
    items = [checks.item(at) for at in range(checks.count())]
    return [item.data(_VALUE) for item in items if item.checkState() == Qt.CheckState.Checked]
