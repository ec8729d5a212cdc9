"""What the reading process does. Each job yields its results as they come."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.marks import Analysis, Corrections, Settings
from analysis.pipeline import analyse
from analysis.reading import read_score
from analysis.score import Score
from analysis.sources import Source, source_of
from app.worker.messages import Step

#: One note under a chord symbol, enough to load what reading needs.
_ONE_NOTE = b"""<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>-</part-name>
</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>
</attributes><harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type>
</note></measure></part></score-partwise>"""


def warm() -> None:
    """Read and analyse one note, so that everything is loaded when it matters."""
    analyse(read_score(source_of(_ONE_NOTE, "warm")))


def read_and_analyse(
    source: Source, corrections: Corrections
) -> Iterator[Score | Analysis | Step]:
    """The score, then what can be said about it."""
    yield Step("Reading the notes")
    score = read_score(source)
    yield score
    yield Step("Analysing")
    yield analyse(score, Settings(), corrections)


def analyse_again(
    score: Score, corrections: Corrections, previous: Analysis
) -> Iterator[Analysis | Step]:
    """What can be said after corrections."""
    yield Step("Analysing")
    yield analyse(score, Settings(), corrections, previous)
