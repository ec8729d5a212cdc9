"""Which measures of which parts a picture shows, and what of them.

A picture of a mark shows the measures that the mark is about, and of a repeat those of both
passages; pictures of stretches, sections and pages show what they name. Free of Qt and verovio.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from analysis.errors import ExportError
from analysis.marks import ChordFact, KeyRegion, Repeat
from analysis.timebase import Offset, Span
from analysis.vocabulary.note_names import Naming
from app.engraving.corrected_symbols import Symbols, corrected_symbols
from app.engraving.labels import LAYERS_OF, Layer
from app.review.document import Document, ReviewedMark

#: Most measures of the excerpt of a mark.
MOST_MEASURES: Final = 4
#: What is shown around every mark.
HARMONY: Final[frozenset[Layer]] = frozenset({"numerals", "functions"})


@dataclass(frozen=True, slots=True)
class Contents:
    """What the user wants on pictures.

    Parameters
    ----------
    layers
        Layers of marks; None for those that suit the picture.
    parts
        Ids of parts; None for those that suit it.
    measure_numbers, chord_symbols, lyrics
        Whether they are shown.
    """

    layers: frozenset[Layer] | None = None
    parts: tuple[str, ...] | None = None
    measure_numbers: bool = False
    chord_symbols: bool = True
    lyrics: bool = True


#: Whatever suits.
SUITING: Final = Contents()


@dataclass(frozen=True, slots=True)
class Passage:
    """Which measures of which parts to show, by index, both ends counted in.

    Directions are rehearsal marks, words, dynamics and tempos. ``text`` is the size of all words
    and chord symbols against the usual, ``naming`` has the letters of chord symbols, ``symbols``
    those that the user has set otherwise.
    """

    first: int
    last: int
    parts: tuple[str, ...] | None
    lyrics: bool = True
    directions: bool = True
    chord_symbols: bool = True
    measure_numbers: bool = False
    text: float = 1.0
    naming: Naming = "english"
    symbols: Symbols = ()

    @property
    def indexes(self) -> range:
        """Indexes of its measures."""
        return range(self.first, self.last + 1)


def passages_of(
    document: Document,
    reviewed: ReviewedMark,
    most: int = MOST_MEASURES,
    contents: Contents = SUITING,
) -> list[Passage]:
    """What a picture of a mark shows: one passage, or the two that a repeat compares.

    ``most`` is how many measures a passage may have. Of a longer one the beginning is shown, of a
    repeat the measures from the first difference on.
    """
    fact = reviewed.mark.fact
    parts = contents.parts or parts_for(document, reviewed)
    stretches = [(reviewed.mark.span, reviewed.mark.span.start)]
    if isinstance(fact, Repeat):
        first_at, later_at = fact.first.start, fact.later.start
        if fact.differences:
            first_at, later_at = fact.differences[0].first_at, fact.differences[0].later_at
        stretches = [(fact.first, first_at), (fact.later, later_at)]
    if reviewed.mark.kind == "echo":
        # Nobody hears an echo without what is echoed.
        span = Span(_first_heard(document, reviewed), reviewed.mark.span.end)
        stretches = [(span, span.start)]
    if isinstance(fact, KeyRegion) and reviewed.mark.span.start > 0:
        # A change is seen where the old key still sounds.
        measures = document.score.measures
        before = measures[max(document.score.measure_at(fact.span.start).index - 1, 0)].onset
        stretches = [(Span(before, fact.span.end), before)]
    return [_stretch(document, span, at, most, parts, contents) for span, at in stretches]


def _first_heard(document: Document, reviewed: ReviewedMark) -> Offset:
    """Where the first of the notes begins that a mark rests on."""
    named = {element for one in reviewed.mark.evidence for element in one.elements}
    notes = (note for part in document.score.parts for note in part.notes if note.id in named)
    return min((note.onset for note in notes), default=reviewed.mark.span.start)


def passage_over(document: Document, span: Span, contents: Contents = SUITING) -> Passage:
    """All measures that a stretch of time touches."""
    parts = contents.parts or _told_parts(document)
    return _stretch(document, span, span.start, len(document.score.measures), parts, contents)


def section_spans(document: Document) -> list[tuple[str, Span]]:
    """Name and stretch of each section, in order; the whole piece where there is none."""
    found = [
        (section.name or section.label, section.span) for section in document.analysis.sections
    ]
    measures = document.score.measures
    whole = Span(measures[0].onset, measures[-1].span.end)
    return found or [(document.score.title or "Whole", whole)]


def measures_named(document: Document, text: str) -> Span:
    """The stretch of measures by their printed numbers: ``5`` or ``5-8``.

    Where a number stands in the score more than once, its first measure is meant.

    Raises
    ------
    ExportError
        If the score has no such measures.
    """
    measures = document.score.measures
    numbers = [measure.number for measure in measures]
    if text in numbers:
        found = measures[numbers.index(text)]
        return found.span
    first, _, last = text.replace("–", "-").partition("-")
    for number in (first.strip(), last.strip()):
        if number not in numbers:
            known = f"{numbers[0]} to {numbers[-1]}"
            raise ExportError(f"There is no measure {number or text}; the score has {known}.")
    start, end = measures[numbers.index(first.strip())], measures[numbers.index(last.strip())]
    if end.onset < start.onset:
        raise ExportError(f"Measures {text} run backwards; write the earlier one first.")
    return Span(start.onset, end.span.end)


def section_named(document: Document, name: str) -> Span:
    """The stretch of a section by its name, whatever its capitals; the first of that name.

    Raises
    ------
    ExportError
        If the score has no such section.
    """
    sections = section_spans(document)
    for known, span in sections:
        if known.casefold() == name.strip().casefold():
            return span
    names = ", ".join(known for known, _ in sections)
    raise ExportError(f"There is no section “{name}”; the score has {names}.")


def parts_for(document: Document, reviewed: ReviewedMark) -> tuple[str, ...] | None:
    """The mark's own parts, the one that carries the chord symbols, and for a chord the lowest."""
    score = document.score
    shown = set(reviewed.mark.parts)
    shown.update(_leading(document))
    if isinstance(reviewed.mark.fact, ChordFact):
        pitched = [part for part in score.parts if not part.percussion and part.notes]
        shown.update(part.id for part in pitched[-1:])
    return tuple(part.id for part in score.parts if part.id in shown) or None


def spoken_part(reviewed: ReviewedMark, parts: tuple[str, ...] | None) -> tuple[str, ...] | None:
    """The mark's own part, else the first of those shown, where one alone has room."""
    own = [part for part in (parts or ()) if part in reviewed.mark.parts]
    return tuple(own[:1]) or (parts[:1] if parts else None)


def leading_part(document: Document) -> tuple[str, ...]:
    """The part that is sung, else the one that carries the chord symbols, else the first."""
    return tuple(_leading(document)[:1])


def meant_marks(document: Document, reviewed: ReviewedMark) -> frozenset[str]:
    """The mark, and for a repeat the chords in which its passages differ."""
    fact = reviewed.mark.fact
    if not isinstance(fact, Repeat):
        return frozenset({reviewed.id})
    places = {at for change in fact.differences for at in (change.first_at, change.later_at)}
    chords = (m for m in document.shown_marks() if m.mark.kind == "chord")
    changed = {chord.id for chord in chords if chord.mark.span.start in places}
    return frozenset({reviewed.id} | changed)


def layers_for(reviewed: ReviewedMark, contents: Contents = SUITING) -> frozenset[Layer]:
    """The layers of a picture of a mark: its own, and the harmony unless others are chosen."""
    own = frozenset(LAYERS_OF[reviewed.mark.kind])
    return own | (HARMONY if contents.layers is None else contents.layers)


def marks_around(document: Document, reviewed: ReviewedMark) -> Iterator[ReviewedMark]:
    """The mark and all chords and keys; everything else would speak of something else."""
    yield reviewed
    for other in document.shown_marks():
        if other.mark.kind in ("chord", "key") and other.id != reviewed.id:
            yield other


def _leading(document: Document) -> list[str]:
    """The part that is sung, else the one that carries the chord symbols, else the first."""
    score = document.score
    sung = [part.id for part in score.parts if any(note.lyrics for note in part.notes)]
    symbols = [symbol.part for symbol in score.chord_symbols]
    return sung[:1] or symbols[:1] or [part.id for part in score.parts[:1]]


def _told_parts(document: Document) -> tuple[str, ...]:
    """The leading part and the lowest."""
    pitched = [part.id for part in document.score.parts if not part.percussion and part.notes]
    shown = {*_leading(document), *pitched[-1:]}
    return tuple(part.id for part in document.score.parts if part.id in shown)


def _stretch(
    document: Document,
    span: Span,
    at: Offset,
    most: int,
    parts: tuple[str, ...] | None,
    contents: Contents,
) -> Passage:
    """Up to ``most`` measures of a span, with the one at an offset in it and as near its head."""
    score = document.score
    known = {part.id for part in score.parts}
    if parts is not None and not known.intersection(parts):
        names = ", ".join(part.id for part in score.parts)
        raise ExportError(f"The score has no part {' or '.join(parts)}; it has {names}.")
    start = score.measure_at(span.start).index
    end = max(start, score.measure_at(_just_before(span)).index)
    first = max(start, min(score.measure_at(at).index, end - most + 1))
    return Passage(
        first,
        min(end, first + most - 1),
        parts,
        lyrics=contents.lyrics,
        chord_symbols=contents.chord_symbols,
        measure_numbers=contents.measure_numbers,
        naming=document.naming,
        symbols=corrected_symbols(document),
    )


def _just_before(span: Span) -> Offset:
    return max(span.start, span.end - Offset(1, 1024))
