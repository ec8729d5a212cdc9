"""A language for finding what cannot be translated: every text in ⟦brackets⟧, and 40 % longer."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import (
    QAbstractItemModel,
    QAbstractListModel,
    QCoreApplication,
    QModelIndex,
    QObject,
    Qt,
    QTranslator,
)
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QGroupBox,
    QLabel,
    QLineEdit,
    QMenu,
    QPlainTextEdit,
    QSpinBox,
    QStatusBar,
    QTabWidget,
    QWidget,
)

OPEN, CLOSE = "⟦", "⟧"
_SHOWN_ROLES = (
    Qt.ItemDataRole.DisplayRole,
    Qt.ItemDataRole.ToolTipRole,
    Qt.ItemDataRole.StatusTipRole,
    Qt.ItemDataRole.AccessibleTextRole,
    Qt.ItemDataRole.AccessibleDescriptionRole,
)
_INNERMOST = re.compile(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}", re.DOTALL)


class PseudoLanguage(QTranslator):
    """Translates everything, Qt's own texts too."""

    def isEmpty(self) -> bool:
        """It is never asked otherwise."""
        return False

    def translate(
        self, context: str, text: str, disambiguation: str | None = None, n: int = -1
    ) -> str:
        """The text in brackets; a letter to press stays one."""
        if not text.strip() or context == "QShortcut":
            return text
        longer = round(0.4 * len(text.replace("&", "")))
        padding = "".join(" " if at % 8 == 0 else "ö" for at in range(longer)).rstrip()
        return f"{OPEN}{text}{padding}{CLOSE}"


@contextmanager
def spoken(application: QCoreApplication) -> Iterator[None]:
    """Speak it for a while."""
    language = PseudoLanguage()
    application.installTranslator(language)
    try:
        yield
    finally:
        application.removeTranslator(language)


def untranslated(text: str) -> str:
    """What of a text is in no brackets."""
    while (rest := _INNERMOST.sub(" ", text)) != text:
        text = rest
    return text


def texts_of(root: QWidget) -> Iterator[tuple[str, str]]:
    """All that a person may see or hear of a widget and what is in it, each with where it is."""
    for thing in (root, *root.findChildren(QObject)):
        where = f"{type(thing).__name__} {thing.objectName()}"
        for text in _texts(thing):
            if text:
                yield where, text


def _texts(thing: QObject) -> Iterator[str]:
    if isinstance(thing, QAction):
        yield from (thing.text(), thing.toolTip(), thing.statusTip(), thing.whatsThis())
    elif isinstance(thing, QWidget):
        yield from (thing.windowTitle(), thing.toolTip(), thing.statusTip(), thing.whatsThis())
        yield from (thing.accessibleName(), thing.accessibleDescription())
        yield from _own_texts(thing)


def _own_texts(widget: QWidget) -> Iterator[str]:
    """What is written on a widget of some kind."""
    if isinstance(widget, QLabel | QAbstractButton):
        yield widget.text()
    elif isinstance(widget, QLineEdit):
        yield widget.placeholderText()  # what is in it is the person's own
    elif isinstance(widget, QPlainTextEdit):
        yield from (widget.placeholderText(), widget.toPlainText())
    elif isinstance(widget, QGroupBox | QMenu):
        yield widget.title()
    elif isinstance(widget, QSpinBox):
        yield from (widget.prefix(), widget.suffix())
    elif isinstance(widget, QStatusBar):
        yield widget.currentMessage()
    elif isinstance(widget, QTabWidget):
        for at in range(widget.count()):
            yield from (widget.tabText(at), widget.tabToolTip(at))
    elif isinstance(widget, QComboBox | QAbstractItemView) and widget.model() is not None:
        yield from _model_texts(widget.model())


def _model_texts(model: QAbstractItemModel, parent: QModelIndex | None = None) -> Iterator[str]:
    parent = parent or QModelIndex()
    columns = 1 if isinstance(model, QAbstractListModel) else model.columnCount(parent)
    for column in range(columns):
        header = model.headerData(column, Qt.Orientation.Horizontal)
        yield str(header) if header is not None else ""
    for row in range(model.rowCount(parent)):
        for column in range(columns):
            index = model.index(row, column, parent)
            for role in _SHOWN_ROLES:
                said = index.data(role)
                if isinstance(said, str):
                    yield said
        if columns > 1:
            yield from _model_texts(model, model.index(row, 0, parent))
