"""Pieces of music21's package with analyses by people in RomanText.

Bach's chorales (riemenschneider 001 to 020 without 006, 011, 014, 015 and 017, whose measures do
not line up with the score) and Monteverdi's madrigals, of which those are taken whose analysis is
as long as the score; in the others measures were left out or counted otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import music21

from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from tests.bench.agreement import Analysed, Heard
from tests.bench.inferred_pieces import CHORALES, Label, Stretch, chorale_paths, read_romantext

#: Quarter notes by which the ends of score and analysis may differ: a last note written longer.
_ALIGNED: Final = 4.0
#: One madrigal of so many is read unless all are asked for.
_EVERY: Final = 4


def read_chorales() -> Iterator[Analysed]:
    """The fifteen chorales, in order of number."""
    for number in CHORALES:
        score, analysis = chorale_paths(number)
        yield Analysed(f"bach-{number:03d}", score, _heard(read_romantext(analysis)))


def read_madrigals(every: bool = False) -> Iterator[Analysed]:
    """The madrigals that line up, in order of book and number; a part of them by default."""
    corpus = Path(music21.__file__).parent / "corpus" / "monteverdi"
    paths = sorted(corpus.glob("*.rntxt"))
    for path in paths if every else paths[::_EVERY]:
        score = path.with_suffix(".mxl")
        chords = read_romantext(path)
        end = float(read_score(read_source(score)).end)
        if abs(end - max(chord.end for chord in chords)) <= _ALIGNED:
            yield Analysed(path.stem, score, _heard(chords))


def _heard(chords: Sequence[Stretch]) -> list[Heard]:
    """The numerals as the bench compares them; what has no third has no triad."""
    return [
        _of_label(chord.onset, chord.end, chord.label)
        for chord in chords
        if chord.label is not None
    ]


def _of_label(onset: float, end: float, label: Label) -> Heard:
    def sound(fifths: int) -> int:
        return (label.tonic + fifths) * 7 % 12

    return Heard(
        onset,
        end,
        sound(0),
        label.mode == 1,
        sound(label.root),
        "" if label.triad == "other" else label.triad,
        label.seventh,
        label.inversion,
        None if label.target is None else sound(label.target),
    )
