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
from dataclasses import dataclass, field, fields, replace
from typing import Literal

from analysis.marks import (
    DEFAULT_CONFIDENCE,
    Analysis,
    ChordFact,
    Corrections,
    Function,
    Mark,
    Reading,
)
from analysis.score import Score
from analysis.timebase import Fraction, Offset
from analysis.vocabulary.note_names import Naming
from analysis.vocabulary.numerals import OWN, Convention
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
    label of the alternative that was chosen, empty for the first, and ``function`` its function,
    which tells alternatives of one label apart (empty in older reviews); ``mark`` keeps the mark as
    it was when the decision was made, so that a changed analysis can be compared with it. ``time``
    is when its pictures stand in the video, None where the score's tempo says it.
    """

    state: State
    label: str | None = None
    sentence: str | None = None
    reading: str = ""
    function: Function = ""
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
    def reading(self) -> Reading | None:
        """The alternative that was chosen; None for the first, and for one that is not offered."""
        if self.decision is None or not self.decision.reading:
            return None
        alike = [one for one in self.mark.alternatives if one.label == self.decision.reading]
        exact = (one for one in alike if one.function == self.decision.function)
        return next(exact, alike[0] if alike else None)

    @property
    def function(self) -> Function:
        """The function of a chord: the chosen reading's, else as found; empty for other marks."""
        reading, fact = self.reading, self.mark.fact
        if reading is not None:
            return reading.function
        return fact.function if isinstance(fact, ChordFact) else ""

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
    ``leftovers`` holds what belongs to earlier transcriptions, one for each. ``convention`` and
    ``naming`` tell how its marks are worded: as they are kept, or as `app.review.writing.written`
    has worded them for a reader; no review keeps them.
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
    convention: Convention = OWN
    naming: Naming = "english"
    #: What `_by_id` has worked out; a document never changes, and every view asks for its marks.
    _kept_marks: dict[str, ReviewedMark] = field(
        default_factory=dict, init=False, repr=False, hash=False, compare=False
    )
    #: What `shown_marks` has found, by least confidence.
    _kept_shown: dict[float, tuple[ReviewedMark, ...]] = field(
        default_factory=dict, init=False, repr=False, hash=False, compare=False
    )

    def __reduce__(self) -> tuple[type[Document], tuple[object, ...]]:
        """What crosses between processes: what was worked out is worked out again there.

        Early releases of Python 3.11 pay no heed to ``__getstate__`` of such classes.
        """
        return Document, tuple(getattr(self, one.name) for one in fields(self) if one.init)

    def marks(self) -> Iterator[ReviewedMark]:
        """All marks in order of time: found, own, and decided ones that are no longer found."""
        return iter(self._by_id().values())

    def _by_id(self) -> dict[str, ReviewedMark]:
        if not self._kept_marks:
            decisions = self.decisions
            for mark in self._in_order():
                self._kept_marks[mark.id] = ReviewedMark(mark, decisions.get(mark.id))
        return self._kept_marks

    def _in_order(self) -> list[Mark]:
        own = {mark.id: mark for mark in self.own_marks}
        found = {mark.id: mark for mark in self.analysis.marks} | own
        kept: dict[_Place, list[Mark]] = {}
        for mark_id, decision in self.decisions.items():
            if mark_id not in found and (mark := _kept(mark_id, decision)):
                kept.setdefault(_place(mark), []).append(mark)
        if not kept:
            return sorted(found.values(), key=_in_time)
        marks: list[Mark] = []
        for mark in found.values():
            settled = kept.get(_place(mark))
            if settled is None or mark.id in self.decisions or mark.id in own:
                marks.append(mark)
            else:
                settled[0] = _with_reading(settled[0], mark)
        marks.extend(mark for row in kept.values() for mark in row)
        return sorted(marks, key=_in_time)

    def shown_marks(self, least: float = DEFAULT_CONFIDENCE) -> Iterator[ReviewedMark]:
        """Marks to show: not rejected, and decided upon or at least so confident.

        Keys and sections are shown however sure they are, since every numeral is named in a key.
        """
        if least not in self._kept_shown:
            marks = self._by_id().values()
            self._kept_shown[least] = tuple(one for one in marks if _is_shown(one, least))
        return iter(self._kept_shown[least])

    def with_decisions(self, changes: Mapping[str, Decision | None]) -> Document:
        """The document with some decisions set, or taken back where they are None.

        Marks that were folded already are folded anew only where they are decided otherwise.
        """
        decisions = dict(self.decisions)
        for mark_id, decision in changes.items():
            if decision is None:
                decisions.pop(mark_id, None)
            else:
                decisions[mark_id] = decision
        after = replace(self, decisions=decisions)
        if self._kept_marks and self._stays_folded(changes):
            marks = dict(self._kept_marks)
            for mark_id, decision in changes.items():
                marks[mark_id] = ReviewedMark(marks[mark_id].mark, decision)
            object.__setattr__(after, "_kept_marks", marks)
        return after

    def _stays_folded(self, changes: Mapping[str, Decision | None]) -> bool:
        """Whether other decisions about some marks leave all marks and their order as they are.

        That is sure where these are found or made by hand, are shown, and stay decided: a mark that
        is only kept by its decision, or that gives way to such a one, may come and go with it.
        """
        if any(one is None or mark_id not in self._kept_marks for mark_id, one in changes.items()):
            return False
        found = {mark.id for mark in self.analysis.marks if mark.id in changes}
        return found | {mark.id for mark in self.own_marks} >= changes.keys()

    def has_mark(self, mark_id: str) -> bool:
        """Whether `marks` has one of that id."""
        return mark_id in self._by_id()

    def mark(self, mark_id: str) -> ReviewedMark:
        """The mark of that id; KeyError where there is none."""
        return self._by_id()[mark_id]


def _kept(mark_id: str, decision: Decision) -> Mark | None:
    """The mark that a decision keeps alive, whether or not it is still found."""
    mark = decision.mark
    if mark is None or decision.state not in ("accepted", "edited"):
        return None
    return mark if mark.id == mark_id else replace(mark, id=mark_id)


def _is_shown(reviewed: ReviewedMark, least: float) -> bool:
    decision, mark = reviewed.decision, reviewed.mark
    if decision is not None and decision.state != "open":
        return decision.state != "rejected"
    return mark.confidence >= least or mark.kind in ("key", "section")


def _in_time(mark: Mark) -> tuple[Offset, Offset, str, str]:
    """By place, then by what tells marks at one place apart."""
    return mark.span.start, mark.span.end, mark.kind, mark.id


def _place(mark: Mark) -> _Place:
    """Where a mark makes its claim: two marks of one kind here speak about the same thing."""
    return mark.kind, mark.parts, mark.span.start


def _with_reading(kept: Mark, found: Mark) -> Mark:
    """The kept mark with what the new analysis says here as another reading."""
    if found.label == kept.label or any(r.label == found.label for r in kept.alternatives):
        return kept
    reading = Reading(found.label, found.sentence, found.confidence)
    return replace(kept, alternatives=(*kept.alternatives, reading))
