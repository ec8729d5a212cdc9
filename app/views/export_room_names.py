"""How pictures are named, and which measures are shown besides; both are typed and read at once."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QWidget

from analysis.errors import OverstaveError
from app.export.file_names import FIELDS, PATTERN, named_points
from app.interface_words import said
from app.review.document import Document
from app.views.export_room_words import field_text
from app.worker.export_wishes import Stretch, measures_typed


class NamesPanel(QWidget):
    """Two fields; what cannot be read is said in words, and the last that could be holds."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.good_pattern = PATTERN
        self.stretches: tuple[Stretch, ...] = ()
        self.pattern = QLineEdit(PATTERN)
        self.pattern.setAccessibleName(said("Pattern of file names"))
        self.pattern.setToolTip("\n".join(f"{{{name}}}  {field_text(name)}" for name in FIELDS))
        self.told = QLabel(wordWrap=True)
        self.measures = QLineEdit()
        self.measures.setAccessibleName(said("Measures of which stills are made, by their numbers"))
        self.measures.setPlaceholderText(said("such as 9-16, 33"))
        self.measures_told = QLabel(wordWrap=True)
        self.measures_told.setProperty("warning", True)
        grid = QGridLayout(self)
        grid.setContentsMargins(12, 8, 12, 8)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(4)
        for row, (text, field, told) in enumerate(
            (
                (said("&Names"), self.pattern, self.told),
                (said("Also &measures"), self.measures, self.measures_told),
            )
        ):
            label = QLabel(text)
            label.setBuddy(field)
            grid.addWidget(label, 2 * row, 0)
            grid.addWidget(field, 2 * row, 1)
            grid.addWidget(told, 2 * row + 1, 1)
            field.textEdited.connect(self.changed)
        self.measures_told.hide()

    def read(self, document: Document) -> None:
        """Read both fields for a document."""
        try:
            named = named_points(document, self.pattern.text())
        except OverstaveError as error:
            self._tell(str(error), warning=True)
        else:
            self.good_pattern = self.pattern.text()
            self._tell(said("Such as {name}", name=named[0][1]) if named else "", warning=False)
        try:
            self.stretches = measures_typed(document, self.measures.text())
        except OverstaveError as error:
            self.measures_told.setText(str(error))
        else:
            self.measures_told.clear()
        self.measures_told.setVisible(bool(self.measures_told.text()))

    def _tell(self, text: str, *, warning: bool) -> None:
        self.told.setText(text)
        if self.told.property("warning") != warning:
            self.told.setProperty("warning", warning)
            self.told.setProperty("quiet", not warning)
            self.told.style().polish(self.told)
