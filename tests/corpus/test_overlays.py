"""Overlays and pictures over an open corpus: nothing collides, nothing fails.

The scores are those that the music21 package carries. Where they have no chord symbols, four chords
are written into every measure, which is more than any of them would get.
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import music21
import pytest

from analysis.errors import ReadingError
from analysis.marks import Analysis, Mark
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Score
from analysis.timebase import Span
from app.engraving.engraver import engrave
from app.engraving.labels import PLAIN
from app.engraving.layouts import Layout
from app.engraving.overlay import lay_out, room
from app.export.cards import write_cards
from app.export.frames import Frame
from app.export.stills import write_stills
from app.review.document import Document, SourceInfo
from tests.app.collisions import find_collisions
from tests.app.reviews import crowd

CORPUS = Path(music21.__file__).parent / "corpus"
NUMERALS = ("V⁶₅/vi", "I", "viiø⁷", "♭VII⁷")


def _scores(count: int, seed: int) -> list[Path]:
    found = sorted(path for end in ("mxl", "xml", "musicxml") for path in CORPUS.rglob(f"*.{end}"))
    return random.Random(seed).sample(found, count)


def _chords(score: Score) -> list[Mark]:
    marks = []
    for measure in score.measures:
        for at, numeral in enumerate(NUMERALS):
            start = measure.onset + measure.length * Fraction(at, 4)
            span = Span(start, start + measure.length / 4)
            name = f"chord {measure.index} {at}"
            marks.append(Mark(name, "chord", span, (), (), numeral, "A chord of the measure."))
    return marks


def _check(path: Path, folder: Path) -> None:
    try:
        source = read_source(path)
        score = read_score(source)
    except ReadingError:
        return
    marks = (*crowd(score), *_chords(score))
    info = SourceInfo(source.name, str(path), source.digest)
    document = Document(info, score, Analysis(), own_marks=marks)
    shown = list(document.shown_marks())
    above, below = room(PLAIN)
    for page in engrave(source, Layout(room_above=above, room_below=below)):
        assert find_collisions(page, lay_out(page, shown, score)) == []
    chosen = tuple(mark.id for mark in marks[:: max(1, len(marks) // 4)])
    document = replace(document, order=chosen)
    frame = Frame(426, 240)
    for kind, write in (("stills", write_stills), ("cards", write_cards)):
        assert len(write(document, source, folder / kind, frame)) == len(chosen) + 1


@pytest.mark.parametrize("path", _scores(2, 7), ids=lambda path: path.stem)
def test_some_scores(path: Path, tmp_path: Path) -> None:
    _check(path, tmp_path)


@pytest.mark.full
@pytest.mark.parametrize("path", _scores(100, 8), ids=lambda path: path.stem)
def test_a_hundred_scores(path: Path, tmp_path: Path) -> None:
    _check(path, tmp_path)
