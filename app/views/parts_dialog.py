"""Which part is what: the melody, and the roles of the others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QButtonGroup,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QGridLayout,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from app.interface_words import Phrase, phrase, said, said_phrase
from app.review.document import Document

ROLE_NAMES: Final[dict[str, Phrase]] = {
    "": phrase("as found"),
    "backing": phrase("backing voice"),
    "answer": phrase("answers the melody"),
    "bass": phrase("bass"),
    "chords": phrase("chords"),
    "percussion": phrase("percussion"),
}


class PartsDialog(QDialog):
    """A row a part; each choice is asked for at once and can be undone."""

    #: Id of the part that carries the melody, empty for the one that is found.
    melody_requested = Signal(str)
    #: Id of a part and its role, empty for the one that is found.
    role_requested = Signal(str, str)

    def __init__(
        self, document: Document, found: Mapping[str, str], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Parts"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._melody = QButtonGroup(self)
        self.melody_buttons: dict[str, QRadioButton] = {}
        self.role_boxes: dict[str, QComboBox] = {}
        grid = QGridLayout()
        grid.setHorizontalSpacing(24)
        for column, text in enumerate((said("Part"), said("Melody"), said("What it does"))):
            heading = QLabel(text)
            heading.setProperty("quiet", True)
            grid.addWidget(heading, 0, column)
        automatic = QRadioButton(said("as found"))
        self._add_melody("", automatic)
        grid.addWidget(QLabel("–"), 1, 0)
        grid.addWidget(automatic, 1, 1)
        for row, part in enumerate(document.score.parts, 2):
            button = QRadioButton()
            button.setAccessibleName(said("{part} carries the melody", part=part.name))
            self._add_melody(part.id, button)
            box = QComboBox()
            box.setAccessibleName(said("What {part} does", part=part.name))
            for role, name in ROLE_NAMES.items():
                text, shown = said_phrase(name), found.get(part.id, "")
                if not role and shown:
                    known = said_phrase(ROLE_NAMES[shown]) if shown in ROLE_NAMES else shown
                    text = said("{choice}: {found}", choice=text, found=known)
                box.addItem(text, role)
            box.activated.connect(lambda _, one=part.id: self._ask_role(one))
            self.role_boxes[part.id] = box
            grid.addWidget(QLabel(part.name or part.id), row, 0)
            grid.addWidget(button, row, 1)
            grid.addWidget(box, row, 2)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addLayout(grid)
        layout.addWidget(buttons)
        self.show_document(document)

    def show_document(self, document: Document | None) -> None:
        """Show what is set by hand."""
        if document is None:
            self.reject()
            return
        self.melody_buttons[document.corrections.melody_part].setChecked(True)
        roles = dict(document.corrections.roles)
        for part, box in self.role_boxes.items():
            box.setCurrentIndex(max(0, box.findData(roles.get(part, ""))))

    def _add_melody(self, part: str, button: QRadioButton) -> None:
        self._melody.addButton(button)
        self.melody_buttons[part] = button
        button.clicked.connect(lambda: self.melody_requested.emit(part))

    def _ask_role(self, part: str) -> None:
        self.role_requested.emit(part, str(self.role_boxes[part].currentData()))
