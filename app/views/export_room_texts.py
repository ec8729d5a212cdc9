"""The words of a picture, to be changed where they are seen: a title and a sentence."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFormLayout, QLabel, QLineEdit, QPlainTextEdit, QVBoxLayout, QWidget

from app.export.legibility import FASTEST, SLOWEST, reading_seconds, words_of
from app.export.talking_points import KINDS
from app.interface_words import counted, said
from app.review.document import Document, ReviewedMark
from app.review.edits import Reword
from app.views.export_room_words import seconds_text


class TextsPanel(QWidget):
    """Shows a mark's words; a change is an edit of the mark, which holds everywhere.

    Enter takes what was typed, Escape drops it, and leaving a field takes it.
    """

    #: A `Reword`.
    edit_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title_field = QLineEdit()
        self.title_field.setAccessibleName(said("Title of the card"))
        self.sentence_field = QPlainTextEdit(tabChangesFocus=True)
        self.sentence_field.setAccessibleName(said("Sentence of the card"))
        self.told = QLabel(wordWrap=True)
        self.told.setProperty("quiet", True)
        self._shown: ReviewedMark | None = None
        self._document: Document | None = None
        self.sentence_field.setMaximumHeight(self.fontMetrics().height() * 6)
        form = QFormLayout()
        form.addRow(said("&Title"), self.title_field)
        form.addRow(said("&Sentence"), self.sentence_field)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(14, 12, 14, 10)
        layout.addLayout(form)
        layout.addWidget(self.told)
        layout.addStretch(1)
        for field in (self.title_field, self.sentence_field):
            field.installEventFilter(self)
            field.textChanged.connect(self._count)
        self._show(None)

    def show_document(self, document: Document | None) -> None:
        """Show the same mark as it now is."""
        self._document = document
        kept = self._shown.id if self._shown else ""
        self._show(document.mark(kept) if document and document.has_mark(kept) else None)

    def show_mark(self, mark_id: str) -> None:
        """Show another mark; none where there is none of that id."""
        if self._shown is not None and self._shown.id == mark_id:
            return
        self.commit()
        document = self._document
        found = document is not None and bool(mark_id) and document.has_mark(mark_id)
        self._show(document.mark(mark_id) if document and found else None)

    def commit(self) -> None:
        """Ask for what was typed, as one edit."""
        if self._shown is None:
            return
        title = self.title_field.text().strip()
        sentence = " ".join(self.sentence_field.toPlainText().split())
        edit = Reword(
            self._shown.id,
            label=title if title != self._shown.label else None,
            sentence=sentence if sentence and sentence != self._shown.sentence else None,
        )
        if (edit.label, edit.sentence) != (None, None):
            self.edit_requested.emit(edit)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter and leaving a field take what was typed, Escape drops it."""
        if event.type() == QEvent.Type.FocusOut:
            self.commit()
        elif isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            plain = not event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            if event.key() == Qt.Key.Key_Escape and self._changed:
                self._show(self._shown)
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
                self.commit()
                return True
        return super().eventFilter(watched, event)

    @property
    def _changed(self) -> bool:
        mark = self._shown
        return mark is not None and (self.title_field.text(), self._sentence) != (
            mark.label,
            mark.sentence,
        )

    @property
    def _sentence(self) -> str:
        return self.sentence_field.toPlainText()

    def _show(self, mark: ReviewedMark | None) -> None:
        self._shown = mark
        for field in (self.title_field, self.sentence_field):
            field.setEnabled(mark is not None)
        if self.title_field.text() != (mark.label if mark else ""):
            self.title_field.setText(mark.label if mark else "")
        if self._sentence != (mark.sentence if mark else ""):
            self.sentence_field.setPlainText(mark.sentence if mark else "")
        self._count()

    def _count(self) -> None:
        """How long the words are read."""
        if self._shown is None:
            self.told.setText(
                said("Choose a still, reveal or card in the list to change its words.")
            )
            return
        title = self.title_field.text() or KINDS[self._shown.mark.kind]
        count = words_of(title) + words_of(self._sentence)
        fast, slow = reading_seconds(count, FASTEST), reading_seconds(count, SLOWEST)
        self.told.setText(
            counted(
                "{count} word, read in {time} at {slowest} to {fastest} words a minute. "
                "They are the mark's own words: its still, reveal, card and caption share them.",
                "{count} words, read in {time} at {slowest} to {fastest} words a minute. "
                "They are the mark's own words: its still, reveal, card and caption share them.",
                count,
                time=seconds_text(fast, slow),
                slowest=SLOWEST,
                fastest=FASTEST,
            )
        )
