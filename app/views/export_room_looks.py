"""How pictures look: size, theme, ink, what lies under it, and as what files they are written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final, cast

from PySide6.QtCore import Signal
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QCheckBox,
    QColorDialog,
    QComboBox,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from analysis.errors import OverstaveError
from app.export.frames import Backing, Frame, Ink
from app.export.picture_files import ENDINGS, Ending
from app.export.themes import read_theme_file, shipped_themes
from app.interface_words import Phrase, phrase, said, said_phrase

SIZES: Final = (
    (1920, 1080, phrase("wide, Full HD")),
    (3840, 2160, phrase("wide, 4K")),
    (1080, 1920, phrase("upright")),
    (1080, 1080, phrase("square")),
)
_INKS: Final[tuple[tuple[Phrase, Ink], ...]] = (
    (phrase("Dark, for light footage"), "dark"),
    (phrase("Light, for dark footage"), "light"),
)
_BACKINGS: Final[tuple[tuple[Phrase, Backing], ...]] = (
    (phrase("A plate"), "plate"),
    (phrase("An outline"), "outline"),
    (phrase("A glow"), "glow"),
    (phrase("Nothing"), "none"),
)


class LooksPanel(QWidget):
    """Chooses a `Frame` and the kinds of file; says in words what cannot be."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._themes = shipped_themes()
        sizes = [(f"{w} × {h}  {said_phrase(text)}", (w, h)) for w, h, text in SIZES]
        self.size_box = _box(said("Frame"), sizes)
        self.size_box.addItem(said("Another size"), None)
        self.width_field, self.height_field = (
            _pixels(said("Width in pixels")),
            _pixels(said("Height in pixels")),
        )
        themes = [(theme.name, name) for name, theme in self._themes.items()]
        self.theme_box = _box(said("Theme"), themes)
        self.theme_button = QPushButton(said("Theme &File…"), autoDefault=False)
        self.ink_box = _box(said("Ink"), [(said_phrase(text), ink) for text, ink in _INKS])
        self.backing_box = _box(
            said("Under the ink"), [(said_phrase(text), one) for text, one in _BACKINGS]
        )
        grounds = ((said("Transparent, with alpha"), ""), (said("One colour"), "colour"))
        self.ground_box = _box(said("Ground"), grounds)
        self.colour_field = QLineEdit("#1f2933")
        self.colour_field.setAccessibleName(said("Colour of the ground, as #rrggbb"))
        self.colour_button = QPushButton(said("Choose…"), autoDefault=False)
        self.ending_boxes = {ending: QCheckBox(ending.upper()) for ending in ENDINGS}
        self.ending_boxes["png"].setChecked(True)
        forms = (
            (said("Numerals as words, for any program"), False),
            (said("Numerals of MusicXML 4.0"), True),
        )
        self.form_box = _box(said("Numerals in the annotated score"), forms)
        self.problem = QLabel(wordWrap=True)
        self.problem.setProperty("warning", True)
        self._good = Frame()
        self._lay_out()
        for box in (
            self.size_box, self.theme_box, self.ink_box, self.backing_box, self.ground_box,
            self.form_box,
        ):  # fmt: skip
            box.currentIndexChanged.connect(self._change)
        for field in (self.width_field, self.height_field):
            field.valueChanged.connect(self._change)
        for check in self.ending_boxes.values():
            check.toggled.connect(self._change)
        self.colour_field.textEdited.connect(self._change)
        self.theme_button.clicked.connect(self._choose_theme)
        self.colour_button.clicked.connect(self._choose_colour)
        self.show_state({})

    @property
    def frame_wanted(self) -> Frame:
        """The last frame that can be."""
        return self._good

    @property
    def numerals(self) -> bool:
        """Whether the annotated score has numerals in place of words."""
        return bool(self.form_box.currentData())

    @property
    def endings(self) -> tuple[Ending, ...]:
        """As what pictures are written; PNG where nothing is ticked."""
        chosen = tuple(ending for ending in ENDINGS if self.ending_boxes[ending].isChecked())
        return chosen or ("png",)

    def state(self) -> dict[str, Any]:
        """What is chosen, for the next start."""
        return {
            "size": [self.width_field.value(), self.height_field.value()],
            "theme": self.theme_box.currentData(),
            "ink": self.ink_box.currentData(),
            "backing": self.backing_box.currentData(),
            "ground": self.ground_box.currentData(),
            "colour": self.colour_field.text(),
            "endings": list(self.endings),
            "numerals": self.numerals,
        }

    def show_state(self, state: dict[str, Any]) -> None:
        """Choose what was chosen; what makes no sense is as usual."""
        width, height = _pair(state.get("size")) or SIZES[0][:2]
        known = [(w, h) for w, h, _ in SIZES]
        chosen = (width, height)
        self.size_box.setCurrentIndex(known.index(chosen) if chosen in known else len(known))
        self.width_field.setValue(width)
        self.height_field.setValue(height)
        theme = str(state.get("theme", "barline"))
        if theme.endswith(".json") and theme not in self._themes:
            self.take_theme(Path(theme))
        for box, name, usual in (
            (self.theme_box, "theme", "barline"), (self.ink_box, "ink", "dark"),
            (self.backing_box, "backing", "plate"), (self.ground_box, "ground", ""),
        ):  # fmt: skip
            at = box.findData(state.get(name, usual))
            box.setCurrentIndex(at if at >= 0 else box.findData(usual))
        if isinstance(state.get("colour"), str):
            self.colour_field.setText(state["colour"])
        self.form_box.setCurrentIndex(int(bool(state.get("numerals"))))
        endings = state.get("endings")
        for ending, check in self.ending_boxes.items():
            check.setChecked(ending in endings if isinstance(endings, list) else ending == "png")
        self._change()

    def take_theme(self, path: Path) -> None:
        """Offer a theme of the user's own, or say what is wrong with it."""
        try:
            theme = read_theme_file(path)
        except OverstaveError as error:
            self.problem.setText(str(error))
            self.problem.show()
            return
        name = str(path)
        if name not in self._themes:
            self.theme_box.addItem(f"{theme.name} ({path.name})", name)
        self._themes[name] = theme
        self.theme_box.setCurrentIndex(self.theme_box.findData(name))
        self._change()

    def _change(self) -> None:
        """Take what is chosen, or say why it cannot be."""
        size = self.size_box.currentData()
        for field, at in ((self.width_field, 0), (self.height_field, 1)):
            field.setEnabled(size is None)
            if size is not None:
                field.blockSignals(True)
                field.setValue(size[at])
                field.blockSignals(False)
        coloured = self.ground_box.currentData() == "colour"
        self.colour_field.setEnabled(coloured)
        self.colour_button.setEnabled(coloured)
        try:
            self._good = Frame(
                self.width_field.value(),
                self.height_field.value(),
                cast("Ink", self.ink_box.currentData()),
                cast("Backing", self.backing_box.currentData()),
                self.colour_field.text().strip() if coloured else None,
                self._themes[self.theme_box.currentData()],
            )
        except OverstaveError as error:
            self.problem.setText(str(error))
            self.problem.show()
            return
        none = not any(check.isChecked() for check in self.ending_boxes.values())
        self.problem.setText(
            said("Nothing is ticked, so pictures are written as PNG.") if none else ""
        )
        self.problem.setVisible(none)
        self.changed.emit()

    def _choose_theme(self) -> None:
        name, _ = QFileDialog.getOpenFileName(self, said("Theme"), "", said("Themes (*.json)"))
        if name:
            self.take_theme(Path(name))

    def _choose_colour(self) -> None:
        dialog = QColorDialog(QColor(self.colour_field.text()), self)
        dialog.colorSelected.connect(self._take_colour)
        dialog.open()

    def _take_colour(self, colour: QColor) -> None:
        self.colour_field.setText(colour.name())
        self._change()

    def _lay_out(self) -> None:
        free = _row(self.width_field, QLabel("×"), self.height_field, QLabel(said("pixels")))
        columns = QHBoxLayout()
        columns.setSpacing(40)
        for rows in (
            (
                (said("&Frame"), self.size_box, _row(self.size_box)),
                ("", None, free),
                (said("T&heme"), self.theme_box, _row(self.theme_box, self.theme_button)),
                (said("Files"), None, _row(*self.ending_boxes.values())),
                (said("&Score"), self.form_box, _row(self.form_box)),
            ),
            (
                (said("&Ink"), self.ink_box, _row(self.ink_box)),
                (said("&Under the ink"), self.backing_box, _row(self.backing_box)),
                (said("&Ground"), self.ground_box, _row(self.ground_box)),
                ("", None, _row(self.colour_field, self.colour_button)),
            ),
        ):
            grid = QGridLayout()
            grid.setSpacing(8)
            for at, (text, buddy, fields) in enumerate(rows):
                label = QLabel(text)
                if buddy is not None:
                    label.setBuddy(buddy)
                grid.addWidget(label, at, 0)
                grid.addLayout(fields, at, 1)
            grid.setColumnStretch(1, 1)
            columns.addLayout(grid, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 12, 14, 10)
        layout.addLayout(columns)
        layout.addWidget(self.problem)
        layout.addStretch(1)


def _box(name: str, choices: Sequence[tuple[str, object]]) -> QComboBox:
    box = QComboBox()
    box.setAccessibleName(name)
    for text, value in choices:
        box.addItem(text, value)
    return box


def _pixels(name: str) -> QSpinBox:
    field = QSpinBox(minimum=1, maximum=99999, singleStep=2)
    field.setAccessibleName(name)
    field.setKeyboardTracking(False)
    return field


def _row(*widgets: QWidget) -> QHBoxLayout:
    row = QHBoxLayout()
    row.setSpacing(8)
    for widget in widgets:
        row.addWidget(widget)
    row.addStretch(1)
    return row


def _pair(size: object) -> tuple[int, int] | None:
    if isinstance(size, list) and len(size) == 2 and all(isinstance(one, int) for one in size):
        return size[0], size[1]
    return None
