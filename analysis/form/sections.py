"""Sections of the form: as rehearsal marks name them, or found where none are written.

The task: tile the piece with sections, each with a letter that like ones share and a name.

Conventions. Written marks are kept as printed. What stands before the first mark is a section of
its own, unless it is a mere pickup, which belongs to the first section. Where no mark is written,
boundaries come from `analysis.form.section_boundaries`, letters and likely names from
`analysis.form.section_names`; each such section says why it begins where it does.

References
----------
Common practice, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from analysis.form.section_boundaries import describe_barlines, find_boundaries, read_weights
from analysis.form.section_names import (
    Stretch,
    letters_by_content,
    name_sections,
    share_letters,
)
from analysis.form.self_similarities import Array, SelfSimilarity
from analysis.marks import ChordFact, Evidence, Repeat, Section, Settings
from analysis.score import RehearsalMark, Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.voices import HeldNote, sung_words

#: Most measures whose form is looked for: memory grows with their square, to half a gigabyte.
_MOST_MEASURES: Final = 2000
_TOO_LONG: Final = Evidence(
    f"The form is not looked for in more than {_MOST_MEASURES:,} measures; "
    "rehearsal marks would show it."
)
#: How many reasons are given for a boundary.
_REASONS: Final = 2
_SAID: Final = {
    "return begins": "What begins here comes back, or has been heard before.",
    "return ends": "A passage that is heard twice ends here.",
    "melody returns": "The melody that begins here is heard twice.",
    "chords return": "The chords that begin here come back.",
    "novelty": "Melody and chords are other than before.",
    "gap in melody": "The melody rests before it.",
    "tonic chord": "It begins on the tonic chord.",
    "chord changes": "The chord changes here.",
    "other chords": "Other chords are used than before.",
    "notes": "The melody has more or fewer notes to the measure than before.",
    "register": "The melody lies higher or lower than before.",
    "harmonic rhythm": "The chords change faster or slower than before.",
}


def find_sections(
    score: Score,
    line: Sequence[HeldNote],
    chords: Sequence[ChordFact],
    repeats: Sequence[Repeat],
    settings: Settings = Settings(),
) -> tuple[Section, ...]:
    """The sections of a piece, in order, tiling it.

    Parameters
    ----------
    score
        For its measures and rehearsal marks.
    line
        The melody.
    chords
        Chords in their keys, in order of time.
    repeats
        Passages and returns of the melody; transposed ones tie sections together.
    settings
        Whether written marks may be used.

    In pieces of more than 2,000 measures sections are those that are written, or one.
    """
    named = find_named_sections(score, settings)
    if named is not None:
        return named
    piece = SelfSimilarity(score.measures, tuple(line), tuple(chords))
    written = _written_starts(score) if settings.use_rehearsal_marks else []
    if not written:
        return _found_sections(score, piece, repeats)
    spans = _spans(score, written)
    places = [_measures_in(score, span) for span in spans]
    alike = _Likeness(piece, places, spans, repeats)
    return _written_sections(score, written, letters_by_content(len(spans), alike))


def find_named_sections(
    score: Score, settings: Settings = Settings()
) -> tuple[Section, ...] | None:
    """The sections that rehearsal marks name in words or letters, whatever is heard in them.

    None where no mark names any, unless the piece is so long that the form is not looked for.
    """
    written = _written_starts(score) if settings.use_rehearsal_marks else []
    names = [name for _, name in written]
    if len(score.measures) > _MOST_MEASURES and not written:
        return (Section(score.span, "A", "", False, (_TOO_LONG,)),)
    if len(score.measures) > _MOST_MEASURES or any(re.search(r"[^\W\d_]", name) for name in names):
        return _written_sections(score, written, share_letters(names))
    return None


def _written_sections(
    score: Score, written: Sequence[tuple[Offset, str]], letters: Sequence[str]
) -> tuple[Section, ...]:
    """Sections where rehearsal marks stand, each with its letter."""
    return tuple(
        Section(span, letter, name, bool(name), (_mark_says(name),))
        for span, letter, (_, name) in zip(_spans(score, written), letters, written, strict=True)
    )


def _spans(score: Score, written: Sequence[tuple[Offset, str]]) -> list[Span]:
    starts = [start for start, _ in written]
    return [Span(start, end) for start, end in pairwise([*starts, score.end])]


def _found_sections(
    score: Score, piece: SelfSimilarity, repeats: Sequence[Repeat]
) -> tuple[Section, ...]:
    """Sections of a piece without rehearsal marks."""
    weights = read_weights()
    features = describe_barlines(piece)
    boundaries = find_boundaries(piece, features, weights)
    if len(boundaries) == 1:
        whole = Evidence("Nothing in it marks a new beginning.")
        return (Section(score.span, "A", "", False, (whole,)),)
    reasons = _Reasons(features, weights)
    places = [
        range(begin, end)
        for (begin, _), (end, _) in pairwise([*boundaries, (len(score.measures), 1.0)])
    ]
    spans = [
        Span(score.measures[place.start].onset, score.measures[place.stop - 1].span.end)
        for place in places
    ]
    alike = _Likeness(piece, places, spans, repeats)
    letters = letters_by_content(len(places), alike)
    named = name_sections([_stretch(piece, place) for place in places], letters, alike)
    return tuple(
        Section(
            span=span,
            label=one.letter,
            name=one.name,
            written=False,
            evidence=(*reasons.at(at), Evidence(one.reason)),
            confidence=round(sure if at else boundaries[1][1], 3),
        )
        for span, one, (at, sure) in zip(spans, named, boundaries, strict=True)
    )


class _Likeness:
    """Likeness of two sections by number: laid side by side, or by the returns between them."""

    def __init__(
        self,
        piece: SelfSimilarity,
        places: Sequence[range],
        spans: Sequence[Span],
        repeats: Sequence[Repeat],
    ) -> None:
        self._piece = piece
        self._places = places
        self._durations = [span.duration for span in spans]
        self._covered: dict[tuple[int, int], Offset] = {}
        starts = [span.start for span in spans]
        for repeat in repeats:
            if repeat.transposition % 12 == 0:
                continue
            one, two = (
                range(max(0, bisect_right(starts, span.start) - 1), bisect_left(starts, span.end))
                for span in (repeat.first, repeat.later)
            )
            for later in two:
                much = _shared(repeat.later, spans[later])
                for first in one:
                    covered = self._covered.get((first, later), Offset(0))
                    self._covered[first, later] = covered + much

    def __call__(self, first: int, later: int) -> float:
        side_by_side = self._piece.of_sections(self._places[first], self._places[later])
        covered = self._covered.get((first, later))
        if covered is None:
            return side_by_side
        shorter = min(self._durations[first], self._durations[later])
        return max(side_by_side, min(1.0, float(covered / shorter)))


def _shared(one: Span, two: Span) -> Offset:
    return min(one.end, two.end) - max(one.start, two.start)


def _measures_in(score: Score, span: Span) -> range:
    """Indexes of the measures that begin in a span."""
    inside = [measure.index for measure in score.measures if measure.onset in span]
    return range(inside[0], inside[-1] + 1) if inside else range(0)


def _stretch(piece: SelfSimilarity, place: range) -> Stretch:
    span = Span(piece.measures[place.start].onset, piece.measures[place.stop - 1].span.end)
    low, high = (bisect_left(piece.onsets, float(at)) for at in (span.start, span.end))
    line = piece.line[low:high]
    words = {word.number: word.text.lower().strip(",.;:!?") for word in sung_words(line) if word}
    return Stretch(
        measures=place,
        words=tuple(words.values()),
        silent=float(piece.silent[place.start : place.stop].mean()),
        register=float(np.mean([note.midi for note in line])) if line else 0.0,
    )


class _Reasons:
    """What speaks most for a boundary, in words."""

    def __init__(self, features: Mapping[str, Array], weights: Mapping[str, float]) -> None:
        self._gains = {
            name: weights[name] * (values - np.median(values))
            for name, values in features.items()
            if name in _SAID and weights[name] > 0
        }

    def at(self, measure: int) -> tuple[Evidence, ...]:
        """Statements for the boundary at a measure; none for the beginning of the piece."""
        if measure == 0:
            return ()
        gains = sorted(((float(v[measure]), name) for name, v in self._gains.items()), reverse=True)
        return tuple(Evidence(_SAID[name]) for gain, name in gains[:_REASONS] if gain > 0)


def _written_starts(score: Score) -> list[tuple[Offset, str]]:
    """Where the sections of rehearsal marks begin, with their names."""
    marks = list(_one_each(score.rehearsal_marks))
    if not marks:
        return []
    starts = [(mark.onset, mark.text.strip()) for mark in marks]
    first = score.measures[0]
    pickup = first.pickup or first.length < first.meter.length
    if starts[0][0] <= (first.span.end if pickup else first.onset):
        return [(score.span.start, starts[0][1]), *starts[1:]]
    return [(score.span.start, ""), *starts]


def _one_each(marks: Iterable[RehearsalMark]) -> Iterator[RehearsalMark]:
    """The first mark with a text at each place, in order of time."""
    last: Offset | None = None
    for mark in sorted(marks, key=lambda mark: mark.onset):
        if mark.text.strip() and mark.onset != last:
            last = mark.onset
            yield mark


def _mark_says(name: str) -> Evidence:
    return Evidence(
        f"A rehearsal mark says “{name}”." if name else "It comes before the first rehearsal mark."
    )
