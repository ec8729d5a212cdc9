"""One mark in full: what is claimed, what it rests on, the other readings, and the user's word."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QFocusEvent, QFont, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from analysis.marks import Evidence, Mark, Reading
from analysis.score import Score
from app.interface_words import said, said_phrase
from app.review.document import Document, ReviewedMark
from app.review.edits import Reword
from app.review.selection import NOTHING, Selection
from app.review.writing import Writing, in_words
from app.views.facts import fact_lines
from app.views.flow_layout import FlowLayout
from app.views.labels import LinesButton, heading, laid_out_once, plain_label, quiet_label, show_if
from app.views.looks import Look
from app.views.mark_rows import confidence_text
from app.views.places import section_name, span_text
from app.views.readings_view import ReadingsView
from app.views.signs import KIND_NAMES, STATE_NAMES


class DetailView(QScrollArea):
    """Shows the selected mark; asks for edits of it, and for its elements to be lit."""

    edit_requested = Signal(object)
    accept_requested = Signal()
    reject_requested = Signal()
    reopen_requested = Signal()
    selection_requested = Signal(object)
    #: Editing has ended, by Enter or Escape.
    left = Signal()
    #: What was typed is taken and the next open mark is wanted.
    next_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Selected mark"))
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._document: Document | None = None
        self._selection = NOTHING
        self._shown: ReviewedMark | None = None
        self._writing = Writing()
        self.label_field = QLineEdit()
        self.sentence_field = QPlainTextEdit(tabChangesFocus=True)
        self.comment_field = QPlainTextEdit(tabChangesFocus=True)
        self._place = quiet_label()
        self._facts = QVBoxLayout()
        self.readings = ReadingsView()
        #: Rows are made once and used again, since making widgets takes longer than all else here.
        self._lines: list[tuple[QLabel, LinesButton]] = []
        self._standing = 0
        self._lit: list[Evidence] = []
        self._explained: object = None
        self._as_shown: object = None
        self._facts_heading = heading(said("What it rests on"))
        self.accept_button = QPushButton(said("&Accept"))
        self.reject_button = QPushButton(said("&Reject"))
        self.reopen_button = QPushButton(said("Reo&pen"))
        self._body = QWidget()
        self._empty = quiet_label(
            said("Choose a mark in the list, on the score or on the timeline.")
        )
        self._lay_out()
        self._connect()
        self._show()

    def show_document(self, document: Document | None) -> None:
        """Show the selected mark as it now is, where it is any different."""
        self._document = document
        if self._showing() != self._as_shown:
            self._show()

    def show_selection(self, selection: Selection) -> None:
        """Show another mark."""
        self.commit()
        self._selection = selection
        self._show()

    def set_look(self, look: Look) -> None:
        """Follow the palette; nothing here is painted by hand."""
        self.viewport().update()

    def edit(self) -> None:
        """Put the caret into the label."""
        if self._shown:
            self.label_field.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.label_field.selectAll()
            self.ensureWidgetVisible(self.label_field)

    def comment(self) -> None:
        """Put the caret into the comment."""
        if self._shown:
            self.comment_field.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.ensureWidgetVisible(self.comment_field)

    def commit(self) -> None:
        """Ask for what was typed, as one edit."""
        if self._shown is None:
            return
        label = self.label_field.text().strip()
        sentence = " ".join(self.sentence_field.toPlainText().split())
        comment = self.comment_field.toPlainText().strip()
        before = self._shown.decision.comment if self._shown.decision else ""
        edit = Reword(
            self._shown.id,
            label=label if label != self._shown.label else None,
            sentence=sentence if sentence and sentence != self._shown.sentence else None,
            comment=comment if comment != before else None,
            name=self._shown.label,
        )
        if (edit.label, edit.sentence, edit.comment) != (None, None, None):
            self.edit_requested.emit(edit)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Enter or leaving a field takes what was typed, Ctrl+Enter goes on, Escape drops it."""
        if event.type() == QEvent.Type.FocusOut:
            self.commit()
        elif isinstance(event, QFocusEvent) and event.reason() == Qt.FocusReason.TabFocusReason:
            for field in (self.sentence_field, self.comment_field):
                if watched is field:
                    field.selectAll()  # as in the label, and as people expect of a form
        elif isinstance(event, QKeyEvent) and event.type() == QEvent.Type.ShortcutOverride:
            if event.key() == Qt.Key.Key_Escape:
                event.accept()  # else the window would take it, and select nothing
        elif isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            plain = not event.modifiers() & Qt.KeyboardModifier.ShiftModifier
            if event.key() == Qt.Key.Key_Escape:
                self._show()
                self.left.emit()
                return True
            if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and plain:
                self.commit()
                self.left.emit()
                if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                    self.next_requested.emit()
                return True
        return super().eventFilter(watched, event)

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change of the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._size_fields()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break lines anew."""
        super().resizeEvent(event)
        self._fit()

    def set_writing(self, writing: Writing) -> None:
        """Write names of notes in another way."""
        self._writing = writing

    def _fit(self) -> None:
        """Give the content the height that its lines need; the scroll area does not ask them."""
        layout = self._body.layout()
        assert layout
        width = self.viewport().width()
        self._body.setMinimumHeight(max(layout.heightForWidth(width), 0))

    def _size_fields(self) -> None:
        """A large label, and room for a few lines."""
        large = QFont(self.font())
        large.setPointSizeF(large.pointSizeF() * 1.35)
        self.label_field.setFont(large)
        line = self.fontMetrics().lineSpacing()
        self.sentence_field.setFixedHeight(round(3.9 * line))
        self.comment_field.setFixedHeight(round(2.9 * line))

    def _lay_out(self) -> None:
        body = QVBoxLayout(self._body)
        body.setContentsMargins(12, 10, 12, 12)
        body.setSpacing(8)
        body.addWidget(self._empty)
        self._content = QWidget()
        body.addWidget(self._content)
        body.addStretch(1)
        layout = QVBoxLayout(self._content)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        layout.addWidget(self._place)
        for name, field in (
            (said("Label"), self.label_field),
            (said("Sentence"), self.sentence_field),
            (said("Comment"), self.comment_field),
        ):
            field.setAccessibleName(name)
            field.setToolTip(
                said("Enter takes it, Ctrl+Enter goes on to the next, Escape drops it")
            )
            field.installEventFilter(self)
        self.comment_field.setPlaceholderText(said("A note to yourself"))
        self._size_fields()
        layout.addWidget(self.label_field)
        layout.addWidget(self.sentence_field)
        buttons = FlowLayout(spacing=6)
        for button in (self.accept_button, self.reject_button, self.reopen_button):
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            buttons.addWidget(button)
        layout.addLayout(buttons)
        layout.addWidget(self.readings)
        layout.addWidget(self._facts_heading)
        layout.addLayout(self._facts)
        layout.addWidget(self.comment_field)
        self.setWidget(self._body)

    def _connect(self) -> None:
        self.accept_button.clicked.connect(self.accept_requested)
        self.reject_button.clicked.connect(self.reject_requested)
        self.reopen_button.clicked.connect(self.reopen_requested)
        self.readings.chosen.connect(self._choose)

    def _choose(self, reading: Reading | None) -> None:
        if self._shown:
            label, function = (reading.label, reading.function) if reading else ("", "")
            self.edit_requested.emit(
                Reword(self._shown.id, reading=label, function=function, name=self._shown.label)
            )

    def _showing(self) -> tuple[ReviewedMark, Score, str, Writing] | None:
        """What there is to show: the selected mark and what else its words depend on."""
        document, mark_id = self._document, self._selection.mark
        if document is None or not mark_id:
            return None
        mark = document.mark(mark_id)
        section = section_name(document, mark.mark.span.start)
        return mark, document.score, section, self._writing

    def _show(self) -> None:
        self._as_shown = showing = self._showing()
        shown = showing[0] if showing else None
        same = shown is not None and self._shown is not None and shown.id == self._shown.id
        self._shown = shown
        with laid_out_once(self.readings, self._content, self._body):
            show_if(self._content, shown is not None)
            show_if(self._empty, shown is None)
            if showing is not None:
                self._show_mark(*showing)
        self._fit()
        if not same:
            self.verticalScrollBar().setValue(0)

    def _show_mark(self, shown: ReviewedMark, score: Score, section: str, writing: Writing) -> None:
        mark = shown.mark
        words = (said_phrase(KIND_NAMES[mark.kind]), section, span_text(score, mark.span))
        sure = confidence_text(mark.confidence)
        self._place.setText(
            " · ".join(filter(None, (*words, said_phrase(STATE_NAMES[shown.state]), sure)))
        )
        self.label_field.setText(shown.label)
        for field, text in (
            (self.sentence_field, shown.sentence),
            (self.comment_field, shown.comment),
        ):
            if field.toPlainText() != text:
                field.setPlainText(text)
        self.reopen_button.setEnabled(shown.state != "open")
        self.accept_button.setEnabled(shown.state not in ("accepted", "edited"))
        self.reject_button.setEnabled(shown.state != "rejected")
        self.readings.show_mark(shown)
        self._show_facts(mark, score, writing)

    def _show_facts(self, mark: Mark, score: Score, writing: Writing) -> None:
        """What the mark rests on, each sentence once; one that has notes can light them."""
        if self._explained == (mark, score, writing):
            return
        self._explained = (mark, score, writing)
        stated: dict[str, tuple[str, ...]] = {}
        for line in fact_lines(mark, score):
            stated[in_words(line, writing)] = ()
        for fact in mark.evidence:
            stated[fact.statement] = (*stated.get(fact.statement, ()), *fact.elements)
        rows = [Evidence(statement, elements) for statement, elements in stated.items()]
        show_if(self._facts_heading, bool(rows))
        self._lit = rows
        self._have_lines(len(rows))
        for row, (text, button) in zip(rows, self._lines, strict=False):
            (button if row.elements else text).setText(row.statement)
            show_if(text, not row.elements)
            show_if(button, bool(row.elements))

    def _have_lines(self, count: int) -> None:
        """Have so many lines stand in the column; the others wait aside, in no layout."""
        while len(self._lines) < count:
            text, button = plain_label(), LinesButton()
            button.setToolTip(said("Light the notes"))
            button.clicked.connect(partial(self._light, len(self._lines)))
            for widget in (text, button):
                widget.hide()  # or Qt shows what is laid out anew
            self._lines.append((text, button))
        for line in self._lines[self._standing : count]:
            for widget in line:
                self._facts.addWidget(widget)
        for line in self._lines[count : self._standing]:
            for widget in line:
                widget.hide()
                self._facts.removeWidget(widget)
        self._standing = count

    def _light(self, at: int) -> None:
        if self._shown and at < len(self._lit):
            span = self._shown.mark.span
            self.selection_requested.emit(Selection(self._shown.id, self._lit[at].elements, span))
