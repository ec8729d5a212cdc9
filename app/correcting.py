"""Correcting what was found: chords and numerals, keys, sections, parts, and marks by hand.

What is to be typed is typed where it stands, on the score or on the timeline, and checked there;
each correction becomes one edit. A numeral that means another chord than the one that was there is
said again as it was typed, once the analysis has followed, within the same step of the undo list.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from analysis.errors import NotationError
from analysis.marks import Section
from analysis.timebase import Offset, Span
from analysis.vocabulary.roles import find_roles
from app.interface_words import said
from app.review.correction_edits import ClearKey, SetKey, SetMelodyPart, SetRole
from app.review.document import Document
from app.review.edits import Edit, Reword
from app.review.mark_edits import AddMark, RemoveMarks, own_mark
from app.review.section_edits import (
    ColourSection,
    JoinSections,
    RenameSection,
    SetSections,
    SplitSection,
    sections_of,
)
from app.review.selection import NOTHING, Selection
from app.review.writing import Writing, key_words
from app.session import Session
from app.views.hits import Hit
from app.views.mark_dialog import MarkDialog, MarkWords
from app.views.parts_dialog import PartsDialog
from app.views.places import span_text
from app.views.typed_corrections import (
    ChordPlace,
    Typed,
    beat_before,
    clear_for,
    edit_for,
    key_at,
    label_in,
    meaning,
    place_at,
    place_from,
    read_key,
    read_typed,
    scale_text,
)
from app.views.workbench import Workbench


@dataclass(frozen=True, slots=True)
class Stepped:
    """An edit as one of several that are one step to undo."""

    edit: Edit
    drag: str

    @property
    def text(self) -> str:
        """What the edit is called."""
        return self.edit.text

    def apply(self, document: Document) -> Document:
        """Do what the edit does."""
        return self.edit.apply(document)


@dataclass(frozen=True, slots=True)
class _Wish:
    """How a chord is to be named, and commented on, once the analysis has followed it."""

    at: Offset
    typed: Typed
    step: str
    comment: str


class Correcting(QObject):
    """The corrections of one window."""

    #: A line for the status bar.
    told = Signal(str)

    def __init__(self, window: QWidget, session: Session, workbench: Workbench) -> None:
        super().__init__(window)
        self._window = window
        self._session = session
        self._workbench = workbench
        self._wish: _Wish | None = None
        #: How the user writes what is typed.
        self.writing = Writing()

    @property
    def _document(self) -> Document | None:
        return self._session.document

    @property
    def _span(self) -> Span | None:
        """The selected stretch."""
        span = self._session.selection.span
        return span if span is not None and span.duration > 0 else None

    # Chords and numerals

    def type_at(self, hit: Hit) -> None:
        """Type what was clicked twice: a chord, a key, a section, or a mark's words."""
        document = self._document
        if document is None:
            return
        if hit.mark:
            mark = document.mark(hit.mark).mark
            if mark.kind == "chord":
                self._type_chord(place_at(document, mark.span.start), mark.id)
            elif mark.kind == "key":
                self._type_key(mark.span, mark.id)
            elif mark.kind == "section":
                self._type_section(document, mark.span.start)
            else:
                self._workbench.detail.edit()
        elif any(symbol.id == hit.element for symbol in document.score.chord_symbols):
            symbol = next(one for one in document.score.chord_symbols if one.id == hit.element)
            self._type_chord(place_at(document, symbol.onset))
        elif hit.offset is not None:
            self._type_chord(place_from(document, hit.offset))

    def type_selected(self) -> None:
        """Type the words of what is selected."""
        selection = self._session.selection
        if selection.span is not None:
            self.type_at(Hit(mark=selection.mark, offset=selection.span.start))

    def type_chord(self) -> None:
        """Type the chord or numeral at the selected place."""
        document, selection = self._document, self._session.selection
        if document is not None and selection.span is not None:
            self._type_chord(place_at(document, selection.span.start), selection.mark)

    def _type_chord(self, place: ChordPlace, mark: str = "") -> None:
        def check(text: str) -> str:
            if not text.strip():
                return said("The chord that the score has is used again.")
            return meaning(self._read(text, place), place.key, self.writing)

        text = label_in(place, self.writing)
        self._workbench.score.ask_text(
            place.span, mark or (place.mark.id if place.mark else ""), said("Numeral or chord"),
            text, check, lambda typed: self._take_chord(place, typed),
        )  # fmt: skip

    def _take_chord(self, place: ChordPlace, text: str) -> None:
        document = self._document
        if document is None:
            return
        if not text.strip():
            cleared = clear_for(document, place)
            if cleared:
                self._session.perform(cleared)
            return
        typed = self._read(text, place)
        edit = edit_for(place, typed, self.writing)
        if edit is None:
            self.told.emit(said("It says so already"))
            return
        comment = place.mark.comment if place.mark else ""
        if (typed.numeral or comment) and not isinstance(edit, Reword):
            step = f"typed {uuid.uuid4()}"
            self._session.perform(Stepped(edit, step))
            # Not before: an analysis that is known already follows within the step.
            self._wish = _Wish(place.span.start, typed, step, comment)
            self.follow()
        else:
            self._session.perform(edit)

    def _read(self, text: str, place: ChordPlace) -> Typed:
        return read_typed(text, place.key, self.writing.naming, self.writing.convention)

    def follow(self) -> None:
        """Name a typed numeral as it was typed, now that the analysis has followed its chord.

        What was commented on the chord before is kept with the new one.
        """
        document, wish = self._document, self._wish
        if document is None or wish is None or self._session.pending:
            return
        self._wish = None
        place = place_at(document, wish.at)
        edit = edit_for(place, wish.typed, self.writing) if wish.typed.numeral else None
        if isinstance(edit, Reword):
            self._session.perform(Stepped(edit, wish.step))
        if wish.comment and place.mark:
            reword = Reword(place.mark.id, comment=wish.comment)
            self._session.perform(Stepped(reword, wish.step))

    # Keys

    def set_key(self) -> None:
        """Say in which key the selected stretch is heard."""
        document, span = self._document, self._span
        if document is None or span is None:
            self.told.emit(said("Select a stretch first: drag over measures, or on the timeline"))
            return
        selection = self._session.selection
        chosen = document.mark(selection.mark).mark if selection.mark else None
        mark = chosen.id if chosen and chosen.kind == "key" else ""
        self._type_key(span, mark)

    def _type_key(self, span: Span, mark: str) -> None:
        document = self._document
        if document is None:
            return

        def check(text: str) -> str:
            if not text.strip():
                return said("The key is found again.")
            return scale_text(read_key(text, self.writing.naming), self.writing)

        self._workbench.score.ask_text(
            span, mark, said("Key of {place}", place=span_text(document.score, span)),
            key_words(key_at(document, span.start), self.writing), check,
            lambda text: self._take_key(span, text),
        )  # fmt: skip

    def _take_key(self, span: Span, text: str) -> None:
        if text.strip():
            self._session.perform(SetKey(span, read_key(text, self.writing.naming)))
        else:
            self._session.perform(ClearKey(span))

    # Sections

    @property
    def _section(self) -> int | None:
        """Index of the section at the selected place."""
        document, span = self._document, self._session.selection.span
        if document is None or span is None:
            return None
        rows = enumerate(sections_of(document))
        return next((at for at, one in rows if span.start in one.span), None)

    def split_section(self) -> None:
        """Begin a new section at the selected place."""
        document, span = self._document, self._session.selection.span
        if document is not None and span is not None:
            self._session.perform(SplitSection(beat_before(document, span.start)))

    def join_sections(self) -> None:
        """Make one of the section at the selected place and the next."""
        if self._section is not None:
            self._session.perform(JoinSections(self._section))

    def rename_section(self) -> None:
        """Name the section at the selected place."""
        document, span = self._document, self._session.selection.span
        if document is not None and span is not None:
            self._type_section(document, span.start)

    def _type_section(self, document: Document, at: Offset) -> None:
        rows = list(enumerate(sections_of(document)))
        found = next(((i, one) for i, one in rows if at in one.span), None)
        if found is None:
            return
        index, section = found
        self._workbench.timeline.ask_text(
            section.span, said("Name of the section"), section.name or section.label,
            lambda text: _check_section(text, section),
            lambda text: self._session.perform(_renamed(index, section, text)),
        )  # fmt: skip

    def find_sections(self) -> None:
        """Let the analysis find the sections again."""
        self._session.perform(SetSections(None))

    def colour_section(self, colour: str) -> None:
        """Give the section at the selected place, and its like, a colour (``none`` for none)."""
        document = self._document
        if document is not None and self._section is not None:
            label = sections_of(document)[self._section].label
            self._session.perform(ColourSection(label, "" if colour == "none" else colour))

    # Marks by hand and parts

    def new_mark(self) -> None:
        """Make a mark from the selected notes or stretch."""
        document, selection = self._document, self._session.selection
        if document is None or selection.span is None:
            self.told.emit(said("Select notes or a stretch first; Ctrl and a click add notes"))
            return
        dialog = MarkDialog(span_text(document.score, selection.span), self._window)
        dialog.mark_requested.connect(lambda words: self._add_mark(words, selection))
        dialog.open()

    def _add_mark(self, words: MarkWords, selection: Selection) -> None:
        document = self._document
        if document is None or selection.span is None:
            return
        span, elements = selection.span, selection.elements
        parts = tuple(
            part.id
            for part in document.score.parts
            if any(note.id in elements for note in part.notes)
        )
        mark = own_mark(words.kind, span, words.label, words.sentence, parts, elements)
        step = f"added {mark.id}"
        self._session.perform(Stepped(AddMark(mark), step))
        if words.comment:
            self._session.perform(Stepped(Reword(mark.id, comment=words.comment), step))
        self._session.select(Selection(mark.id, elements, span))

    def remove_mark(self) -> None:
        """Take away a mark that was made by hand; one that was found can be rejected."""
        document, mark = self._document, self._session.selection.mark
        if document is None or not mark:
            return
        if any(own.id == mark for own in document.own_marks):
            self._session.perform(RemoveMarks((mark,)))
        else:
            self.told.emit(
                said("Found marks are rejected with R; only marks made by hand are removed")
            )

    def choose_parts(self) -> None:
        """Say which part carries the melody, and what the others do."""
        document = self._document
        if document is None:
            return
        found = {one.part: one.role for one in find_roles(document.score)}
        dialog = PartsDialog(document, found, self._window)
        dialog.melody_requested.connect(lambda part: self._session.perform(SetMelodyPart(part)))
        dialog.role_requested.connect(lambda part, role: self._session.perform(SetRole(part, role)))
        self._session.document_changed.connect(dialog.show_document)
        dialog.open()

    def select_all(self) -> None:
        """Select the whole piece."""
        if self._document is not None:
            self._session.select(replace(NOTHING, span=self._document.score.span))


def _check_section(text: str, section: Section) -> str:
    if not text.strip():
        raise NotationError(said("A section needs a name; type a word, or a letter for its form."))
    form = "" if _is_letter(text) else said("form {letter}", letter=section.label)
    return form or said("A letter tells which sections are alike.")


def _is_letter(text: str) -> bool:
    text = text.strip()
    return len(text) <= 2 and text[:1].isupper() and (len(text) == 1 or text[1] in "′'0123456789")


def _renamed(index: int, section: Section, text: str) -> Edit:
    if _is_letter(text):
        return RenameSection(index, label=text.strip())
    return RenameSection(index, name=text.strip())
