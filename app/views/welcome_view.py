"""What is seen before a score is open: how to begin, and what was open before."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.interface_words import phrase, said, said_phrase

_STEPS = (
    phrase("Open a score (MusicXML, from your notation editor), or drop it here."),
    phrase("Go through the marks with J and K; the score and the timeline follow."),
    phrase("Press A to accept a mark, R to reject it, E to say it in your words."),
    phrase("Save: your decisions go into a file beside the score, which is never changed."),
    phrase("Export the annotated score, stills and caption cards for the video."),
)


class WelcomeView(QWidget):
    """First steps and recent files."""

    open_requested = Signal()
    sample_requested = Signal()
    #: A recent file, as a `Path`.
    recent_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Welcome"))
        self.open_button = QPushButton(said("Open a Score…"), default=True)
        self.sample_button = QPushButton(said("Open a Sample"))
        self.open_button.clicked.connect(self.open_requested)
        self.sample_button.clicked.connect(self.sample_requested)
        self._recent = QVBoxLayout()
        self._recent.setSpacing(2)
        self._lay_out()

    def show_recent(self, paths: list[Path]) -> None:
        """Offer files that were open before."""
        while entry := self._recent.takeAt(0):
            if widget := entry.widget():
                widget.deleteLater()
        for path in paths:
            button = QPushButton(
                said("{file}   in {folder}", file=path.name, folder=path.parent), flat=True
            )
            button.setStyleSheet("text-align: left; padding: 3px 6px;")
            button.clicked.connect(lambda _=False, path=path: self.recent_requested.emit(path))
            self._recent.addWidget(button)

    def _lay_out(self) -> None:
        column = QVBoxLayout()
        column.setSpacing(10)
        title = QLabel("Overstave")
        font = title.font()
        font.setPointSizeF(font.pointSizeF() * 2.4)
        font.setWeight(font.Weight.DemiBold)
        title.setFont(font)
        column.addWidget(title)
        claim = QLabel(said("Name what a song does, show it on the score, take it to the video."))
        claim.setWordWrap(True)
        claim.setProperty("quiet", True)
        column.addWidget(claim)
        column.addSpacing(8)
        for at, step in enumerate(_STEPS, 1):
            row = QHBoxLayout()
            number = QLabel(str(at))
            number.setProperty("quiet", True)
            number.setFixedWidth(self.fontMetrics().horizontalAdvance("00"))
            number.setAlignment(Qt.AlignmentFlag.AlignTop)
            text = QLabel(said_phrase(step), wordWrap=True)
            row.addWidget(number)
            row.addWidget(text, 1)
            column.addLayout(row)
        column.addSpacing(12)
        buttons = QHBoxLayout()
        buttons.addWidget(self.open_button)
        buttons.addWidget(self.sample_button)
        buttons.addStretch(1)
        column.addLayout(buttons)
        column.addSpacing(8)
        column.addLayout(self._recent)
        frame = QWidget()
        frame.setLayout(column)
        frame.setFixedWidth(self.fontMetrics().averageCharWidth() * 76)
        # Stretches on both sides, not an alignment, which would give broken lines no height.
        across = QHBoxLayout()
        across.addStretch(1)
        across.addWidget(frame)
        across.addStretch(1)
        outer = QVBoxLayout(self)
        outer.addStretch(2)
        outer.addLayout(across)
        outer.addStretch(3)
