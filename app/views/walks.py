"""Going through the score by keyboard: from chord to chord, from note to note, from part to part.

No window needed. Along goes to the next chord or, where a note is selected, to the part's next
note; across goes from a chord down to the notes that sound with it, part by part, and back up.
"""

from __future__ import annotations

from analysis.score import Note, Part
from analysis.timebase import Offset, Span
from app.review.document import Document
from app.review.selection import Selection
from app.views.selections import selection_of_chord


def step_along(document: Document, selection: Selection, step: int) -> Selection:
    """One chord or note on, or back where ``step`` is negative."""
    note = _selected_note(document, selection)
    if note is None:
        return _chord_from(document, selection, step)
    notes = [one for one in document.score.part(note.part).notes if one.onset != note.onset]
    later = [one for one in notes if (one.onset > note.onset) == (step > 0)]
    if not later:
        return selection
    return _of_note(later[0] if step > 0 else later[-1])


def step_across(document: Document, selection: Selection, step: int) -> Selection:
    """One part down, or up where ``step`` is negative; the chords lie above the first part."""
    parts = [part for part in document.score.parts if part.notes]
    start = selection.span.start if selection.span else Offset(0)
    note = _selected_note(document, selection)
    at = [part.id for part in parts].index(note.part) if note else -1
    if at + step < 0:
        return _chord_at(document, start) if note else selection
    if at + step >= len(parts):
        return selection
    found = _sounding(parts[at + step], start)
    return _of_note(found) if found else selection


def _selected_note(document: Document, selection: Selection) -> Note | None:
    if selection.mark or len(selection.elements) != 1:
        return None
    for part in document.score.parts:
        for note in part.notes:
            if note.id == selection.elements[0]:
                return note
    return None


def _sounding(part: Part, offset: Offset) -> Note | None:
    """The note of a part that sounds at an offset, else the next one, else the last."""
    for note in part.notes:
        if note.end > offset:
            return note
    return part.notes[-1] if part.notes else None


def _of_note(note: Note) -> Selection:
    return Selection(elements=(note.id,), span=Span(note.onset, max(note.end, note.onset)))


def _chord_from(document: Document, selection: Selection, step: int) -> Selection:
    facts = document.analysis.chords
    if not facts:
        return selection
    if selection.span is None:
        return selection_of_chord(document, facts[0] if step > 0 else facts[-1])
    start = selection.span.start
    if step > 0:
        found = next((fact for fact in facts if fact.span.start > start), None)
    else:
        found = next((fact for fact in reversed(facts) if fact.span.start < start), None)
    return selection_of_chord(document, found) if found else selection


def _chord_at(document: Document, offset: Offset) -> Selection:
    found = next((fact for fact in document.analysis.chords if offset in fact.span), None)
    return selection_of_chord(document, found) if found else Selection()
