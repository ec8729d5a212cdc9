"""What the reading process does. Each job yields its results as they come.

The score and the last analysis stay in the process, so that after a correction only the correction
goes there and only what it changed comes back.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

from analysis import pipeline
from analysis.marks import Analysis, Corrections, Settings
from analysis.pipeline import analyse, analyse_first
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, source_of
from analysis.score import Score
from analysis.workings import Worked
from app.review.carrying import Carried, carry_over, plan_carrying
from app.review.document import SourceInfo
from app.review.storage import StoredReview
from app.worker.analysis_changes import AnalysisChange, change_between
from app.worker.messages import LAST, Keep, Step
from app.worker.warming import WARM_SCORE


def warm() -> None:
    """Read and analyse one measure, so that everything is loaded when it matters."""
    if hasattr(os, "nice"):
        os.nice(5)  # the first page is waited for, the marks come after it
    analyse(read_score(source_of(WARM_SCORE, "warm")))


def read_and_analyse(
    source: Source, corrections: Corrections, review: StoredReview | None = None
) -> Iterator[Score | Carried | Analysis | Keep | Step]:
    """The score, then what can be said about it.

    Between the two, a review of another transcription comes back as one of this.
    """
    yield Step("Reading the notes")
    score = read_score(source)
    yield score
    plan = None
    if review is not None and review.source.digest != source.digest:
        yield Step("Carrying the review over")
        plan = plan_carrying(review, score)
        corrections = plan.corrections
    yield Step("Analysing")
    worked = analyse_first(score, Settings(), corrections)
    analysis = worked.analysis
    yield Keep(LAST, worked)
    if plan is not None:
        info = SourceInfo(source.name, str(source.path or ""), source.digest)
        yield carry_over(plan, info, score, analysis)
    yield analysis


def analyse_again(last: Worked, corrections: Corrections) -> Iterator[AnalysisChange | Keep | Step]:
    """What else can be said after a correction, against what was said last."""
    yield Step("Analysing again")
    worked = pipeline.analyse_again(last, corrections)
    yield Keep(LAST, worked)
    yield change_between(last.analysis, worked.analysis)
