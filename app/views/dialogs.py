"""The few questions and messages of the window. None of them blocks: each ends in a signal."""

from __future__ import annotations

from collections.abc import Callable
from itertools import accumulate, combinations, pairwise
from typing import Final

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QMessageBox,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import said, said_phrase
from app.views.labels import heading
from app.views.signs import KIND_NAMES, SIGNS, STATE_NAMES, STATE_SIGNS, Sign, sign_picture

#: How much of the screen a dialog may take.
OF_SCREEN: Final = 0.94
#: Pixels between columns.
_GUTTER: Final = 36


def show_error(parent: QWidget, sentence: str, details: str = "") -> QMessageBox:
    """A message in words; what a bug report needs is under Details, to be copied."""
    box = QMessageBox(QMessageBox.Icon.Warning, "Overstave", sentence, parent=parent)
    box.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    if details:
        box.setDetailedText(details)
    _open(box)
    return box


def show_message(parent: QWidget, title: str, text: str) -> QMessageBox:
    """Something to know."""
    box = QMessageBox(QMessageBox.Icon.NoIcon, title, text, parent=parent)
    _open(box)
    return box


def ask(
    parent: QWidget, question: str, more: str, answers: dict[str, Callable[[], object]], safe: str
) -> QMessageBox:
    """A question with an answer a button; ``safe`` is taken by Escape and does nothing."""
    box = QMessageBox(QMessageBox.Icon.Question, "Overstave", question, parent=parent)
    box.setInformativeText(more)
    roles = {}
    for at, (text, then) in enumerate(answers.items()):
        role = (
            QMessageBox.ButtonRole.AcceptRole if not at else QMessageBox.ButtonRole.DestructiveRole
        )
        roles[box.addButton(text, role)] = then
    box.setDefaultButton(next(iter(roles)))
    box.setEscapeButton(box.addButton(safe, QMessageBox.ButtonRole.RejectRole))

    def answer() -> None:
        then = roles.get(box.clickedButton())  # type: ignore[call-overload]
        if then is not None:
            then()

    box.finished.connect(answer)
    _open(box)
    return box


def give_size(dialog: QWidget, columns: int, lines: int) -> None:
    """Make a dialog so many letters wide and lines high, as far as the screen has room."""
    metrics = dialog.fontMetrics()
    wanted = QSize(metrics.averageCharWidth() * columns, metrics.height() * lines)
    dialog.resize(wanted.boundedTo(dialog.screen().availableSize() * OF_SCREEN))


class KeysDialog(QDialog):
    """All keys on one page, and what the signs mean."""

    def __init__(
        self, table: list[tuple[str, list[tuple[str, str]]]], parent: QWidget | None = None
    ) -> None:
        self._pictures: list[tuple[Sign, QLabel]] = []
        super().__init__(parent)
        self.setWindowTitle(said("Keys"))
        kinds = [(SIGNS[kind], said_phrase(name)) for kind, name in KIND_NAMES.items()]
        states = [(STATE_SIGNS[state], said_phrase(name)) for state, name in STATE_NAMES.items()]
        blocks = [_block(menu, _key_rows(rows)) for menu, rows in table]
        blocks += [_block(said("Signs"), self._sign_rows(kinds))]
        blocks += [_block(said("States"), self._sign_rows(states))]
        self._paint_signs()
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        area = QScrollArea(widgetResizable=True)
        area.setFrameShape(QFrame.Shape.NoFrame)
        room = self.screen().availableSize() * OF_SCREEN
        page = _in_columns(blocks, room.width())
        area.setWidget(page)
        layout = QVBoxLayout(self)
        layout.addWidget(area)
        layout.addWidget(buttons)
        more = self.sizeHint() - area.sizeHint()
        bar = area.verticalScrollBar().sizeHint().width()
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.resize((page.sizeHint() + more + QSize(bar, 0)).boundedTo(room))

    def _sign_rows(self, rows: list[tuple[Sign, str]]) -> QGridLayout:
        """Signs with their names."""
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(4)
        grid.setColumnStretch(1, 1)
        for at, (sign, name) in enumerate(rows):
            picture = QLabel()
            self._pictures.append((sign, picture))
            grid.addWidget(picture, at, 0)
            grid.addWidget(QLabel(name), at, 1)
        return grid

    def _paint_signs(self) -> None:
        size, ink = self.fontMetrics().height(), self.palette().text().color()
        for sign, picture in self._pictures:
            picture.setPixmap(sign_picture(sign, size, ink))

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change of look while it is open."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.PaletteChange, QEvent.Type.FontChange):
            self._paint_signs()


def _key_rows(rows: list[tuple[str, str]]) -> QGridLayout:
    """Actions with their keys."""
    grid = QGridLayout()
    grid.setHorizontalSpacing(18)
    grid.setVerticalSpacing(4)
    for at, (text, keys) in enumerate(rows):
        grid.addWidget(QLabel(text), at, 0)
        grid.addWidget(QLabel(keys), at, 1, Qt.AlignmentFlag.AlignRight)
    return grid


def _block(title: str, rows: QGridLayout) -> QWidget:
    block = QWidget()
    layout = QVBoxLayout(block)
    layout.setContentsMargins(0, 0, 0, 10)
    layout.setSpacing(6)
    layout.addWidget(heading(title))
    layout.addLayout(rows)
    return block


def _in_columns(blocks: list[QWidget], width: int) -> QWidget:
    """The blocks in as many columns as a width has room for, at most four, about equally high."""
    sizes = [block.sizeHint() for block in blocks]
    for count in (4, 3, 2, 1):
        ends = column_ends([size.height() for size in sizes], count)
        parts = [slice(start, end) for start, end in pairwise((0, *ends))]
        widths = [max(size.width() for size in sizes[part]) for part in parts]
        if sum(widths) + _GUTTER * len(parts) <= width:
            break
    page = QWidget()
    columns = QHBoxLayout(page)
    columns.setContentsMargins(0, 0, _GUTTER // 3, 0)
    columns.setSpacing(_GUTTER)
    for part in parts:
        column = QVBoxLayout()
        for block in blocks[part]:
            column.addWidget(block)
        column.addStretch(1)
        columns.addLayout(column)
    return page


def column_ends(heights: list[int], count: int) -> list[int]:
    """Where columns end so that the highest of them is as low as can be, in order.

    Examples
    --------
    >>> column_ends([5, 1, 3, 4, 2], 3)
    [1, 3, 5]
    """
    sums = [0, *accumulate(heights)]
    limits = sorted({later - earlier for earlier, later in combinations(sums, 2)})
    for limit in limits:
        if limit >= max(heights):
            ends = _ends_below(heights, limit)
            if len(ends) <= count:
                return ends
    return [len(heights)]


def _ends_below(heights: list[int], limit: int) -> list[int]:
    ends: list[int] = []
    filled = 0
    for at, height in enumerate(heights):
        if at and filled + height > limit:
            ends.append(at)
            filled = 0
        filled += height
    return [*ends, len(heights)]


def _open(box: QMessageBox) -> None:
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.open()
