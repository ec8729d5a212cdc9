"""What the reading process does. Each job yields its results as they come."""

from __future__ import annotations

import os
from collections.abc import Iterator

from analysis.marks import Analysis, Corrections, Settings
from analysis.pipeline import analyse
from analysis.reading import read_score
from analysis.score import Score
from analysis.sources import Source, source_of
from app.worker.messages import Step
from app.worker.warming import WARM_SCORE


def warm() -> None:
    """Read and analyse one measure, so that everything is loaded when it matters."""
    if hasattr(os, "nice"):
        os.nice(5)  # the first page is waited for, the marks come after it
    analyse(read_score(source_of(WARM_SCORE, "warm")))


def read_and_analyse(source: Source, corrections: Corrections) -> Iterator[Score | Analysis | Step]:
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
