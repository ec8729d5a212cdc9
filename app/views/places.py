"""Places and elements in words, for lists, tips and titles; free of any window."""

from __future__ import annotations

from analysis.marks import ChordFact, MelodyFact
from analysis.score import ChordSymbol, Note, Score
from analysis.timebase import Fraction, Offset, Span
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import FUNCTION_WORD, key_text, name_text
from app.interface_words import said, said_phrase
from app.review.document import Document
from app.review.section_edits import sections_of
from app.review.selection import Selection
from app.views.signs import STATE_NAMES


def beat_text(beat: Fraction) -> str:
    """A beat as people write it: ``2``, ``2½``, ``1⅓``; otherwise as a plain fraction."""
    whole, rest = divmod(beat, 1)
    signs = {
        Fraction(1, 2): "½",
        Fraction(1, 4): "¼",
        Fraction(3, 4): "¾",
        Fraction(1, 3): "⅓",
        Fraction(2, 3): "⅔",
    }
    if not rest:
        return str(whole)
    return f"{whole}{signs[rest]}" if rest in signs else f"{whole} {rest}"


def place_text(score: Score, offset: Offset) -> str:
    """Measure and beat, such as ``m. 12 b. 3``; the first beat goes without saying."""
    if not score.measures:
        return ""
    measure = score.measure_at(offset)
    beat = score.beat_at(offset)
    number = measure.number or measure.index + 1
    if beat == 1:
        return said("m. {measure}", measure=number)
    return said("m. {measure} b. {beat}", measure=number, beat=beat_text(beat))


def span_text(score: Score, span: Span) -> str:
    """Where a span lies: one place if it is within a measure, else its first and last measure."""
    start = place_text(score, span.start)
    if not score.measures or span.duration <= 0:
        return start
    first = score.measure_at(span.start)
    # The last measure is the one that holds the moment before the end.
    last = score.measure_at(max(span.start, span.end - Fraction(1, 1024)))
    if first.index == last.index:
        return start
    number = last.number or last.index + 1
    if span.start == first.onset:
        return f"{start}–{number}"
    return f"{start} – {said('m. {measure}', measure=number)}"  # “b. 3–8” would count beats


def section_name(document: Document, offset: Offset) -> str:
    """Name of the section at an offset; empty where there is none."""
    for section in sections_of(document):
        if offset in section.span:
            return section.name or section.label
    return ""


def selection_text(document: Document, selection: Selection) -> str:
    """What is selected, in words: a mark, notes, or a stretch with its section."""
    if selection.mark:
        reviewed = document.mark(selection.mark)
        place = span_text(document.score, reviewed.mark.span)
        return said(
            "{label}, {place}: {sentence} {state}.",
            label=reviewed.label,
            place=place,
            sentence=reviewed.sentence,
            state=said_phrase(STATE_NAMES[reviewed.state]),
        )
    if selection.elements:
        return "; ".join(element_text(document, element) for element in selection.elements)
    if selection.span is None:
        return ""
    section = section_name(document, selection.span.start)
    return ", ".join(filter(None, (span_text(document.score, selection.span), section)))


def element_text(document: Document, element: str) -> str:
    """An element in words: a note's pitch, role and chord, or a chord symbol's numeral."""
    for part in document.score.parts:
        for note in part.notes:
            if note.id == element:
                return _note_text(document, note)
    for symbol in document.score.chord_symbols:
        if symbol.id == element:
            return _symbol_text(document, symbol)
    return ""


def _note_text(document: Document, note: Note) -> str:
    head = f"{name_text(note.pitch.name)}{note.pitch.octave}" if note.pitch else said("unpitched")
    words = [head, document.score.part(note.part).name, place_text(document.score, note.onset)]
    fact = next((fact for fact in document.analysis.melody if fact.note == note.id), None)
    if fact:
        words.append(_melody_text(fact))
    chord = _chord_at(document, note.onset)
    if chord and chord.numeral:
        words.append(said("over {numeral}", numeral=label_of(chord.numeral.text)))
    return " · ".join(filter(None, words))


def _melody_text(fact: MelodyFact) -> str:
    degree = said("{degree} of the key", degree=fact.degree) if fact.degree else ""
    return ", ".join(filter(None, (fact.role, degree)))


def _symbol_text(document: Document, symbol: ChordSymbol) -> str:
    fact = next((fact for fact in document.analysis.chords if fact.symbol == symbol.id), None)
    words = [place_text(document.score, symbol.onset)]
    if fact and fact.numeral:
        numeral, key = label_of(fact.numeral.text), key_text(fact.key)
        words.insert(0, said("{numeral} in {key}", numeral=numeral, key=key))
        if fact.function:
            words.insert(1, FUNCTION_WORD[fact.function])
    return " · ".join(words)


def _chord_at(document: Document, offset: Offset) -> ChordFact | None:
    return next((fact for fact in document.analysis.chords if offset in fact.span), None)
