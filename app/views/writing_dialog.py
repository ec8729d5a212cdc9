"""How things are written: asks for the user's conventions and shows what they do."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QFormLayout,
    QLabel,
    QVBoxLayout,
    QWidget,
)

from analysis.chords import KIND_DEGREES, Chord
from analysis.pitch import Key, PitchName
from analysis.vocabulary.numerals import Convention, label_of, name_numeral
from app.interface_words import Phrase, phrase, said, said_phrase
from app.review.writing import Writing, degree_words, in_naming

_NUMERALS: Final = (
    (phrase("from the major scale, in minor from natural minor"), "own"),
    (phrase("from the major scale always"), "major"),
    (phrase("from the scale of the mode"), "mode"),
)
_INVERSIONS: Final = (
    (phrase("as figures"), "figures"),
    (phrase("as the degree in the bass"), "slash"),
)
_NAMES: Final = (
    (phrase("English"), "english"),
    (phrase("German"), "german"),
    (phrase("Fixed do"), "fixed do"),
)
_DEGREES: Final = ((phrase("as numbers"), "numbers"), (phrase("in movable do"), "movable do"))


class WritingDialog(QDialog):
    """Each choice holds at once; `writing_requested` carries a `Writing`."""

    writing_requested = Signal(object)

    def __init__(self, writing: Writing, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(said("Numerals and Names"))
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.numerals = self._box(
            said("Numerals are counted"), _NUMERALS, writing.convention.degrees
        )
        self.inversions = self._box(said("Inversions"), _INVERSIONS, writing.convention.inversions)
        self.names = self._box(said("Names of notes"), _NAMES, writing.naming)
        self.degrees = self._box(said("Degrees of the melody"), _DEGREES, writing.degrees)
        self.example = QLabel()
        self.example.setAccessibleName(said("Example"))
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close)
        buttons.rejected.connect(self.reject)
        form = QFormLayout()
        for box in (self.numerals, self.inversions, self.names, self.degrees):
            form.addRow(box.accessibleName(), box)
        form.addRow(said("For example"), self.example)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addWidget(buttons)
        self._show_example()

    @property
    def writing(self) -> Writing:
        """What is chosen."""
        return Writing(
            Convention(self.numerals.currentData(), self.inversions.currentData()),
            self.names.currentData(),
            self.degrees.currentData(),
        )

    def _box(self, name: str, choices: tuple[tuple[Phrase, Any], ...], chosen: str) -> QComboBox:
        box = QComboBox()
        box.setAccessibleName(name)
        for text, value in choices:
            box.addItem(said_phrase(text), value)
        box.setCurrentIndex(max(0, box.findData(chosen)))
        box.activated.connect(self._ask)
        return box

    def _ask(self) -> None:
        self._show_example()
        self.writing_requested.emit(self.writing)

    def _show_example(self) -> None:
        """A chord in minor, on whose numeral the conventions differ, and the name of its root."""
        writing = self.writing
        flat = PitchName.parse("Bb")
        chord = Chord(flat, KIND_DEGREES["major"], PitchName.parse("D"), "major")
        numeral = name_numeral(chord, Key.parse("C minor"), convention=writing.convention)
        rename = in_naming(writing.naming)
        degree = degree_words("b3", writing.degrees)
        self.example.setText(
            said(
                "{chord} is {numeral} in {tonic} minor, and {note} is {degree}",
                chord=rename("B♭/D"),
                numeral=label_of(numeral.text),
                tonic=rename("C"),
                note=rename("E♭"),
                degree=degree,
            )
        )
