"""From a place, an element or a fact to what is then selected; the same for all views."""

from __future__ import annotations

from analysis.marks import ChordFact, Section
from analysis.score import Note
from analysis.timebase import Offset, Span
from app.review.document import Document, ReviewedMark
from app.review.selection import Selection


def selection_at(document: Document, offset: Offset) -> Selection:
    """The chord at an offset as a selection, with its mark where it has one."""
    for fact in document.analysis.chords:
        if offset in fact.span:
            return selection_of_chord(document, fact)
    return Selection(span=document.score.measure_at(offset).span)


def selection_of_chord(document: Document, fact: ChordFact) -> Selection:
    """The mark of a chord, or the chord itself where no mark is shown."""
    for reviewed in document.marks():
        mark = reviewed.mark
        if mark.kind == "chord" and mark.span.start == fact.span.start:
            return selection_of_mark(reviewed)
    elements = fact.elements or ((fact.symbol,) if fact.symbol else ())
    return Selection(elements=elements, span=fact.span)


def selection_of_section(document: Document, section: Section) -> Selection:
    """The mark of a section, or its span."""
    for reviewed in document.marks():
        if reviewed.mark.kind == "section" and reviewed.mark.span.start == section.span.start:
            return selection_of_mark(reviewed)
    return Selection(span=section.span)


def selection_of_mark(reviewed: ReviewedMark) -> Selection:
    """A mark with the elements it points at and its place."""
    mark = reviewed.mark
    return Selection(mark.id, mark.elements, mark.span)


def selection_of_element(document: Document, element: str) -> Selection:
    """The most telling mark at an element: the one that points at the fewest elements with it."""
    pointing = [
        reviewed for reviewed in document.shown_marks() if element in reviewed.mark.elements
    ]
    if pointing:
        return selection_of_mark(min(pointing, key=lambda reviewed: len(reviewed.mark.elements)))
    return Selection(elements=(element,), span=element_span(document, element))


def with_element(document: Document, selection: Selection, element: str) -> Selection:
    """The selected elements with one more, or without it where it was selected; no mark."""
    held = [] if selection.mark else list(selection.elements)
    if element in held:
        held.remove(element)
    else:
        held.append(element)
    spans = [span for one in held if (span := element_span(document, one))]
    if not spans:
        return Selection()
    whole = Span(min(span.start for span in spans), max(span.end for span in spans))
    order = {note.id: at for at, note in enumerate(_in_order(document))}
    held.sort(key=lambda one: order.get(one, -1))
    return Selection(elements=tuple(held), span=whole)


def _in_order(document: Document) -> list[Note]:
    notes = [note for part in document.score.parts for note in part.notes]
    return sorted(notes, key=lambda note: note.onset)


def element_span(document: Document, element: str) -> Span | None:
    """When an element sounds; None for an unknown one."""
    for part in document.score.parts:
        for note in part.notes:
            if note.id == element:
                return Span(note.onset, note.end)
    for symbol in document.score.chord_symbols:
        if symbol.id == element:
            return symbol.span
    return None
