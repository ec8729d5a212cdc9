"""Written chord symbols that the notes under them contradict.

Task
----
Where symbols are written they are believed; yet a slip in a transcription shows when the bass
holds a tone that is none of the chord's, when the other third sounds, or when hardly a tone of the
chord sounds at all. Each such place becomes one doubt with the notes that raise it.

Method
------
A doubt needs two witnesses: a plain contradiction that can be said in a sentence, and the weights
of the chord decoder (`analysis.inference.chord_weights`), which must find some other chord a good
deal likelier over the same notes than any inversion of the written one. A bass that stays through
several symbols is a pedal, and raises none. The melody is not called as a witness, since it may
hold tones foreign to its chord; a lone melody raises no doubt.

References
----------
Which margin is a good deal: measured on analysed scores whose chords were written as symbols, some
of them falsified; common practice otherwise, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from analysis.chords import Chord
from analysis.inference.chord_lattices import used_rows
from analysis.inference.chord_vocabularies import FORM_QUALITY, FORMS, QUALITIES
from analysis.inference.chord_weights import ROOTS, ChordTables, read_model, root_column
from analysis.inference.note_segments import LONGEST, GridSegments
from analysis.marks import Evidence, PlacedChord
from analysis.pitch import PitchName
from analysis.score import Note, Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.note_grid import Floats, NoteGrid, read_grid, sounding_notes
from analysis.vocabulary.wording import chord_text, name_text

#: What is left of the belief in a chord whose symbol the notes contradict.
_DOUBTED: Final = 0.75
#: How much likelier another chord must be, as a difference of log weights.
_MARGIN: Final = 2.0
#: Share of a symbol's span that a contradicting bass or third must sound.
_HELD: Final = 0.5
_THIRD_HELD: Final = 0.3
#: A lowest note above this key number (C4) is no bass.
_BASS_CEILING: Final = 60


@dataclass(frozen=True, slots=True)
class SymbolQuery:
    """One doubt about a written chord symbol.

    ``elements`` are the symbol and the notes that contradict it; ``likelier`` is the chord that
    the notes fit best, to offer instead.
    """

    span: Span
    symbol: str
    elements: tuple[str, ...]
    statement: str
    likelier: Chord
    evidence: tuple[Evidence, ...]
    confidence: float


def check_symbols(
    score: Score, placed: Sequence[PlacedChord], melody_part: str = ""
) -> tuple[SymbolQuery, ...]:
    """Doubts about written symbols, in order of time.

    Parameters
    ----------
    score
        The notes.
    placed
        Chords in their places; those without a symbol or without a chord are passed over.
    melody_part
        Id of the part that carries the melody; where it is empty, the part with words, or the only
        part if it has one voice.
    """
    written = [one for one in placed if one.symbol and one.chord is not None]
    melody = melody_part or _sung_part(score)
    others = sorted(
        (note for note in sounding_notes(score) if note.part != melody), key=lambda note: note.onset
    )
    if not written or not others:
        return ()
    judge: _Judge | None = None
    onsets = [note.onset for note in others]
    longest = max(note.duration for note in others)
    heard = []
    for one in written:
        first, last = (
            bisect_left(onsets, one.span.start - longest),
            bisect_left(onsets, one.span.end),
        )
        heard.append([note for note in others[first:last] if note.end > one.span.start])
    basses = [_bass_of(notes, one.span) for notes, one in zip(heard, written, strict=True)]
    found = []
    for at, one in enumerate(written):
        assert one.chord is not None
        near = [basses[other] for other in (at - 1, at + 1) if 0 <= other < len(basses)]
        witness = _contradiction(one.chord, heard[at], one.span, basses[at], near)
        if witness is None:
            continue
        # Most scores are never in doubt, so the judge is called when there is something to weigh.
        judge = judge or _Judge(read_grid(score), read_model().tables)
        likelier, margin = judge.weigh(one.chord, one.span)
        if margin < _MARGIN:
            continue
        statement, notes = witness
        found.append(
            SymbolQuery(
                one.span,
                one.symbol,
                (one.symbol, *(note.id for note in notes)),
                statement,
                likelier,
                (
                    Evidence(statement, tuple(note.id for note in notes)),
                    Evidence(f"The notes fit {chord_text(likelier)} better."),
                ),
                min(0.95, 0.5 + margin / 20),
            )
        )
    return tuple(found)


def doubted(
    placed: Sequence[PlacedChord], queries: Sequence[SymbolQuery]
) -> tuple[PlacedChord, ...]:
    """The chords, less believed where the notes contradict the symbol."""
    doubts = {query.symbol for query in queries}
    return tuple(
        replace(one, confidence=one.confidence * _DOUBTED) if one.symbol in doubts else one
        for one in placed
    )


def _sung_part(score: Score) -> str:
    """The part with most syllables; an only part of one voice; else the empty string."""
    sung = [(sum(bool(note.lyrics) for note in part.notes), part.id) for part in score.parts]
    count, part = max(sung, default=(0, ""))
    if count:
        return part
    pitched = [part for part in score.parts if not part.percussion and part.notes]
    if len(pitched) == 1:
        places = [note.onset for note in pitched[0].notes if not note.grace]
        return pitched[0].id if len(set(places)) == len(places) else ""
    return ""


def _sounding(note: Note, span: Span) -> Offset:
    """How much of a span a note sounds."""
    return max(min(note.end, span.end) - max(note.onset, span.start), Offset(0))


def _bass_of(notes: Sequence[Note], span: Span) -> tuple[PitchName, list[Note]] | None:
    """The name that is lowest for most of a span, if for `_HELD` of it, and its notes."""
    low = [note for note in notes if note.pitch is not None and note.pitch.midi < _BASS_CEILING]
    if not low:
        return None
    part = min(low, key=lambda note: note.pitch.midi if note.pitch else 127).part
    held: dict[PitchName, list[Note]] = {}
    for note in low:
        if note.part == part and note.pitch is not None:
            held.setdefault(note.pitch.name, []).append(note)
    name = max(held, key=lambda one: sum(_sounding(note, span) for note in held[one]))
    share = sum(_sounding(note, span) for note in held[name]) / span.duration
    return (name, held[name]) if share >= _HELD else None


def _contradiction(
    chord: Chord,
    notes: Sequence[Note],
    span: Span,
    bass: tuple[PitchName, list[Note]] | None,
    near: Sequence[tuple[PitchName, list[Note]] | None],
) -> tuple[str, list[Note]] | None:
    """What in the notes speaks against a chord, as a sentence, and which notes."""
    named = chord_text(chord)
    tones = {*chord.pitch_classes, chord.bass.pc}
    if bass is not None and bass[0].pc not in tones:
        pedal = any(other is not None and other[0].pc == bass[0].pc for other in near)
        if not pedal:
            return f"The symbol says {named}, the bass plays {name_text(bass[0])}.", bass[1]
    for alter in (0, -1):
        own, other = chord.root + (4 if alter == 0 else -3), chord.root + (-3 if alter == 0 else 4)
        # Tensions such as a raised ninth are the other third by sound.
        if not chord.has(3, alter) or other.pc in tones:
            continue
        against = [
            note for note in notes if note.pitch is not None and note.pitch.name.pc == other.pc
        ]
        held = sum((_sounding(note, span) for note in against), Offset(0)) / span.duration
        backed = any(note.pitch is not None and note.pitch.name.pc == own.pc for note in notes)
        if held >= _THIRD_HELD and not backed:
            sounding = next(note.pitch.name for note in against if note.pitch is not None)
            return f"The symbol says {named}, but {name_text(sounding)} sounds.", against
    inside = [note for note in notes if note.pitch is not None and note.pitch.name.pc in tones]
    total = sum((_sounding(note, span) for note in notes), Offset(0))
    share = (
        sum((_sounding(note, span) for note in inside), Offset(0)) / total if total else Offset(1)
    )
    if share < Offset(1, 3):
        outside = [note for note in notes if note not in inside]
        return f"The symbol says {named}, but hardly a tone of it sounds.", outside
    return None


class _Judge:
    """Weighs chords over spans of one score."""

    def __init__(self, grid: NoteGrid, tables: ChordTables) -> None:
        self._grid, self._segments = grid, GridSegments(grid)
        self._notes = used_rows(tables.notes, self._segments.columns)
        self._basses = used_rows(tables.basses, self._segments.columns)
        self._common = _how_common(tables)

    def weigh(self, chord: Chord, span: Span) -> tuple[Chord, float]:
        """The chord that fits a span best, and how much better than the given one it does."""
        scores = self._scores(span)
        own = self._forms_of(chord)
        column = int(root_column(np.array(chord.root.fifths)))
        # The augmented sixths are left out: only a key tells them from a dominant seventh.
        plain = [at for at, (kind, _) in enumerate(FORMS) if QUALITIES[kind].triad]
        by_root = scores[:, plain].max(axis=1)
        best = int(by_root.argmax())
        form = FORMS[plain[int(scores[best, plain].argmax())]]
        # Of enharmonic roots the one nearest to the notes around is meant.
        first = min(bisect_left(self._grid.times, span.start), self._grid.steps - 1)
        fifths = chord.root.fifths + best - column
        root = PitchName(fifths + 12 * round((float(self._grid.centre[first]) - fifths) / 12))
        quality = QUALITIES[form[0]]
        bass = root + quality.tones[form[1]]
        likelier = Chord(root, quality.degrees, bass, quality.kind)
        return likelier, float(by_root[best] - scores[column, own].max())

    def _forms_of(self, chord: Chord) -> list[int]:
        """Forms that a written chord may take: all inversions; both thirds where it has none."""
        fitting = [
            number
            for number, quality in enumerate(QUALITIES)
            if (
                quality.triad == chord.triad
                or (not chord.triad and quality.triad in ("maj", "min"))
            )
            and (quality.seventh == chord.seventh or not chord.triad)
        ]
        fitting = fitting or [
            number for number, quality in enumerate(QUALITIES) if quality.triad == chord.triad
        ]
        return [at for at, (quality, _) in enumerate(FORMS) if quality in fitting]

    def _scores(self, span: Span) -> Floats:
        """Weights of every root and form over a span, shape (ROOTS, forms)."""
        times = self._grid.times
        first = bisect_left(times, span.start)
        last = max(bisect_left(times, span.end), first + 1)
        total = np.zeros((ROOTS, len(FORMS)), np.float32) + self._common
        for start in range(first, min(last, self._grid.steps), LONGEST):
            length = min(LONGEST, last - start, self._grid.steps - start)
            held = self._segments.measure(start, start + 1)
            notes = held.notes[0, length - 1].ravel() @ self._notes
            basses = held.basses[0, length - 1].ravel() @ self._basses
            total += notes.reshape(ROOTS, -1)[:, FORM_QUALITY] + basses.reshape(ROOTS, -1)
        return total


def _how_common(tables: ChordTables) -> Floats:
    """Log weight of each form over all degrees of all keys, shape (forms,)."""
    vocabulary = tables.vocabulary
    odds = np.where(vocabulary.exists, np.exp(tables.weights["numeral"]), 0.0)
    sums = np.bincount(vocabulary.form.ravel(), odds.ravel(), minlength=len(FORMS))
    common: Floats = np.log(np.maximum(sums, 1e-3)).astype(np.float32)
    return common
