"""The document: a score, what the analysis claims about it, and what the user decided.

A document is a frozen value. Every change makes a new one (see `app.review.edits`), so undo keeps the
old value and nothing has to be inverted. Decisions are keyed by mark id; a mark without a decision is
open. Hand-made marks are marks like any other, listed in `own_marks`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from analysis.marks import DEFAULT_CONFIDENCE, Analysis, Corrections, Mark
from analysis.score import Score

State = Literal["open", "accepted", "edited", "rejected"]


@dataclass(frozen=True, slots=True)
class Decision:
    """What the user decided about one mark.

    ``label`` and ``sentence`` are None where the analysis's own words stand; ``reading`` is the label
    of the alternative that was chosen, empty for the first; ``mark`` keeps the mark as it was when
    the decision was made, so that a changed analysis can be compared with it.
    """

    state: State
    label: str | None = None
    sentence: str | None = None
    reading: str = ""
    comment: str = ""
    mark: Mark | None = None


@dataclass(frozen=True, slots=True)
class SourceInfo:
    """Which file this is a review of: its name, its path when last seen, its SHA-256."""

    name: str
    path: str
    digest: str


@dataclass(frozen=True, slots=True)
class ReviewedMark:
    """A mark as the user sees it: the claim with the decision laid over it."""

    mark: Mark
    decision: Decision | None

    @property
    def id(self) -> str:
        """The mark's id."""
        return self.mark.id

    @property
    def state(self) -> State:
        """Open where nothing was decided."""
        return self.decision.state if self.decision else "open"

    @property
    def label(self) -> str:
        """The user's label, else the chosen reading's, else the mark's."""
        if self.decision and self.decision.label is not None:
            return self.decision.label
        if self.decision and self.decision.reading:
            return self.decision.reading
        return self.mark.label

    @property
    def sentence(self) -> str:
        """The user's sentence, else the mark's."""
        if self.decision and self.decision.sentence is not None:
            return self.decision.sentence
        return self.mark.sentence


@dataclass(frozen=True, slots=True)
class Document:
    """Everything that is open in one window.

    ``order`` lists mark ids in the order the user chose for talking about them; marks not in it
    follow by rank.
    """

    source: SourceInfo
    score: Score
    analysis: Analysis
    decisions: Mapping[str, Decision] = field(default_factory=dict, hash=False)
    own_marks: tuple[Mark, ...] = ()
    corrections: Corrections = Corrections()
    order: tuple[str, ...] = ()
    section_colours: Mapping[str, str] = field(default_factory=dict, hash=False)

    def marks(self) -> Iterator[ReviewedMark]:
        """All marks, found and own, in order of time."""
        found = (*self.analysis.marks, *self.own_marks)
        for mark in sorted(found, key=lambda mark: (mark.span, mark.kind, mark.id)):
            yield ReviewedMark(mark, self.decisions.get(mark.id))

    def shown_marks(self, least: float = DEFAULT_CONFIDENCE) -> Iterator[ReviewedMark]:
        """Marks to show: not rejected, and decided upon or at least so confident."""
        for reviewed in self.marks():
            kept = reviewed.state in ("accepted", "edited")
            if kept or (reviewed.state == "open" and reviewed.mark.confidence >= least):
                yield reviewed

    def mark(self, mark_id: str) -> ReviewedMark:
        """The mark of that id; KeyError where there is none."""
        for mark in (*self.analysis.marks, *self.own_marks):
            if mark.id == mark_id:
                return ReviewedMark(mark, self.decisions.get(mark_id))
        raise KeyError(mark_id)
