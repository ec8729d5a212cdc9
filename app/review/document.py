"""The document: a score, what the analysis claims about it, and what the user decided.

A document is a frozen value. Every change makes a new one (see `app.review.edits`), so undo keeps
the old value and nothing has to be inverted. Decisions are keyed by mark id; a mark without a
decision is open. Hand-made marks are marks like any other, listed in `own_marks`.

A decision keeps the mark it was made about. So an accepted or edited mark outlives an analysis that
no longer finds it; where the new analysis says something else at the same place, that is offered as
another reading of the kept mark.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from analysis.marks import DEFAULT_CONFIDENCE, Analysis, Corrections, Mark, Reading
from analysis.score import Score
from analysis.timebase import Fraction, Offset
from app.review.skeletons import Skeleton

State = Literal["open", "accepted", "edited", "rejected"]
#: Kind, parts and start of a mark.
_Place = tuple[str, tuple[str, ...], Offset]


@dataclass(frozen=True, slots=True)
class Time:
    """When something stands in the video: start and length in seconds, the length above 0."""

    start: Fraction
    length: Fraction

    def __post_init__(self) -> None:
        """Refuse what no video has."""
        if self.start < 0 or self.length <= 0:
            raise ValueError("a time begins at 0 or later and lasts longer than 0")

    @property
    def end(self) -> Fraction:
        """When it goes."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Decision:
    """What the user decided about one mark.

    ``label`` and ``sentence`` are None where the analysis's own words stand; ``reading`` is the
    label of the alternative that was chosen, empty for the first; ``mark`` keeps the mark as it was
    when the decision was made, so that a changed analysis can be compared with it. ``time`` is when
    its pictures stand in the video, None where the score's tempo says it.
    """

    state: State
    label: str | None = None
    sentence: str | None = None
    reading: str = ""
    comment: str = ""
    mark: Mark | None = None
    time: Time | None = None


@dataclass(frozen=True, slots=True)
class SourceInfo:
    """Which file this is a review of: its name, its path when last seen, its SHA-256."""

    name: str
    path: str
    digest: str


@dataclass(frozen=True, slots=True)
class Leftover:
    """What found no place when its transcription came back changed.

    It is kept with the music it belonged to, so that it finds its place again where that music
    returns. ``corrections`` holds only those that were left over; ``skeleton`` is None where the
    review was made before files kept one.
    """

    source: SourceInfo
    skeleton: Skeleton | None = None
    decisions: Mapping[str, Decision] = field(default_factory=dict, hash=False)
    own_marks: tuple[Mark, ...] = ()
    corrections: Corrections = Corrections()


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

    @property
    def comment(self) -> str:
        """The user's comment."""
        return self.decision.comment if self.decision else ""


@dataclass(frozen=True, slots=True)
class Document:
    """Everything that is open in one window.

    ``order`` lists mark ids in the order the user chose for talking about them; marks not in it
    follow by rank. ``section_colours`` maps the letter of like sections to ``#rrggbb``.
    ``leftovers`` holds what belongs to earlier transcriptions, one for each.
    """

    source: SourceInfo
    score: Score
    analysis: Analysis
    decisions: Mapping[str, Decision] = field(default_factory=dict, hash=False)
    own_marks: tuple[Mark, ...] = ()
    corrections: Corrections = Corrections()
    order: tuple[str, ...] = ()
    section_colours: Mapping[str, str] = field(default_factory=dict, hash=False)
    leftovers: tuple[Leftover, ...] = ()

    def marks(self) -> Iterator[ReviewedMark]:
        """All marks in order of time: found, own, and decided ones that are no longer found."""
        own = {mark.id: mark for mark in self.own_marks}
        found = {mark.id: mark for mark in self.analysis.marks} | own
        kept: dict[_Place, list[Mark]] = {}
        for mark_id, decision in self.decisions.items():
            if mark_id not in found and (mark := _kept(mark_id, decision)):
                kept.setdefault(_place(mark), []).append(mark)
        marks: list[Mark] = []
        for mark in found.values():
            settled = kept.get(_place(mark))
            if settled is None or mark.id in self.decisions or mark.id in own:
                marks.append(mark)
            else:
                settled[0] = _with_reading(settled[0], mark)
        marks.extend(mark for row in kept.values() for mark in row)
        for mark in sorted(marks, key=lambda mark: (mark.span, mark.kind, mark.id)):
            yield ReviewedMark(mark, self.decisions.get(mark.id))

    def shown_marks(self, least: float = DEFAULT_CONFIDENCE) -> Iterator[ReviewedMark]:
        """Marks to show: not rejected, and decided upon or at least so confident.

        Keys and sections are shown however sure they are, since every numeral is named in a key.
        """
        for reviewed in self.marks():
            kept = reviewed.state in ("accepted", "edited")
            sure = reviewed.mark.confidence >= least or reviewed.mark.kind in ("key", "section")
            if kept or (reviewed.state == "open" and sure):
                yield reviewed

    def has_mark(self, mark_id: str) -> bool:
        """Whether `marks` has one of that id; asked often, so without putting them in order."""
        found = {mark.id: mark for mark in self.analysis.marks}
        if any(mark.id == mark_id for mark in self.own_marks):
            return True
        decision = self.decisions.get(mark_id)
        if decision is not None:
            return mark_id in found or _kept(mark_id, decision) is not None
        return mark_id in found and _place(found[mark_id]) not in self._kept_places(found)

    def _kept_places(self, found: Mapping[str, Mark]) -> set[_Place]:
        """Places of marks that are kept though they are no longer found."""
        own = {mark.id for mark in self.own_marks}
        kept = (
            _kept(mark_id, decision)
            for mark_id, decision in self.decisions.items()
            if mark_id not in found and mark_id not in own
        )
        return {_place(mark) for mark in kept if mark}

    def mark(self, mark_id: str) -> ReviewedMark:
        """The mark of that id; KeyError where there is none."""
        for reviewed in self.marks():
            if reviewed.id == mark_id:
                return reviewed
        raise KeyError(mark_id)


def _kept(mark_id: str, decision: Decision) -> Mark | None:
    """The mark that a decision keeps alive, whether or not it is still found."""
    mark = decision.mark
    if mark is None or decision.state not in ("accepted", "edited"):
        return None
    return mark if mark.id == mark_id else replace(mark, id=mark_id)


def _place(mark: Mark) -> _Place:
    """Where a mark makes its claim: two marks of one kind here speak about the same thing."""
    return mark.kind, mark.parts, mark.span.start


def _with_reading(kept: Mark, found: Mark) -> Mark:
    """The kept mark with what the new analysis says here as another reading."""
    if found.label == kept.label or any(r.label == found.label for r in kept.alternatives):
        return kept
    reading = Reading(found.label, found.sentence, found.confidence)
    return replace(kept, alternatives=(*kept.alternatives, reading))
