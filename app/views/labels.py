"""Labels of a column of text: plain, quiet, headings."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLabel, QWidget


def plain_label(text: str = "") -> QLabel:
    """Text in lines, taken as it is."""
    label = QLabel(text, wordWrap=True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    return label


def quiet_label(text: str = "") -> QLabel:
    """The same in the softer ink."""
    label = plain_label(text)
    label.setProperty("quiet", True)
    return label


def heading(text: str) -> QLabel:
    """A line in bold above others."""
    label = QLabel(text)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    return label


def show_if(widget: QWidget, wanted: bool) -> None:
    """Show or hide; Qt would work on its layout even where nothing changes."""
    if widget.isHidden() == wanted:
        widget.setVisible(wanted)


@contextmanager
def laid_out_once(*widgets: QWidget) -> Iterator[None]:
    """Lay widgets out when all in them is changed, inner ones first, not at each change."""
    layouts = [layout for widget in widgets if (layout := widget.layout())]
    for layout in layouts:
        layout.setEnabled(False)
    try:
        yield
    finally:
        for layout in layouts:
            layout.setEnabled(True)
            layout.activate()
