"""What plain music21 says of a score: the baseline of the accuracy bench.

Key by its own key analysis over chords and melody, chords from the written symbols or from
``chordify``, numerals by ``romanNumeralFromChord``; nothing is tuned. Its option to prefer applied
dominants is left out: on every fifth reference score it costs 8 points of numeral and gives applied
dominants at 7/13.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import music21

from tests.bench.agreement import Heard

_TRIADS = {"major": "maj", "minor": "min", "diminished": "dim", "augmented": "aug"}
_SEVENTHS = {10: "m7", 11: "M7", 9: "d7"}


def read_plainly(path: Path) -> Sequence[Heard]:
    """One stretch for each chord, in order of time, all in the one key that music21 finds."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score: Any = music21.converter.parse(path)
        symbols = list(score.flatten().getElementsByClass("ChordSymbol"))
        symbols = [symbol for symbol in symbols if not isinstance(symbol, music21.harmony.NoChord)]
        if symbols:
            chords = [(float(one.getOffsetInHierarchy(score)), one) for one in symbols]
            key = key_of(score, symbols)
        else:
            chordified = score.chordify()
            key = chordified.analyze("key")
            chords = [
                (float(one.getOffsetInHierarchy(chordified)), one)
                for one in chordified.recurse().getElementsByClass("Chord")
            ]
        ends = [*(onset for onset, _ in chords[1:]), float(score.duration.quarterLength)]
        return [
            _heard(onset, end, chord, key)
            for (onset, chord), end in zip(chords, ends[: len(chords)], strict=True)
        ]


def key_of(score: Any, symbols: list[Any]) -> Any:
    """Key of the melody together with the tones of the symbols, each as long as it holds."""
    together: Any = music21.stream.Stream()
    for note in score.flatten().getElementsByClass("Note"):
        together.insert(
            note.offset, music21.note.Note(note.pitch, quarterLength=note.quarterLength)
        )
    onsets = [float(symbol.getOffsetInHierarchy(score)) for symbol in symbols]
    ends = [*onsets[1:], float(score.duration.quarterLength)]
    for symbol, onset, end in zip(symbols, onsets, ends, strict=True):
        length = max(end - onset, 0.0)
        together.insert(onset, music21.chord.Chord(symbol.pitches, quarterLength=length))
    return together.analyze("key")


def _heard(onset: float, end: float, chord: Any, key: Any) -> Heard:
    minor = key.mode == "minor"
    try:
        numeral = music21.roman.romanNumeralFromChord(music21.chord.Chord(chord.pitches), key)
        root, applied = numeral.root().pitchClass, numeral.secondaryRomanNumeral
        fifth = chord.seventh
        seventh = (fifth.pitchClass - root) % 12 if fifth is not None else 0
        return Heard(
            onset,
            end,
            key.tonic.pitchClass,
            minor,
            root,
            _TRIADS.get(chord.quality, ""),
            _SEVENTHS.get(seventh, ""),
            chord.inversion(),
            applied.root().pitchClass if applied is not None else None,
        )
    except (music21.exceptions21.Music21Exception, AttributeError, IndexError, ValueError):
        return Heard(onset, end, key.tonic.pitchClass, minor, None, "", "", 0, None)
