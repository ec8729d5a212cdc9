"""Carrying a review over to a transcription that has changed since.

The task: the score was corrected and exported again. Each decision must find the place it was made
about, wherever that is now, and whoever made it must be told what moved, what changed under a
decision, and what has no place any more.

Method: the music that the review keeps is laid beside the music as it is now
(`app.review.alignments`). First the corrections are carried, since the analysis must follow them
(`plan_carrying`); once it has, each decision's mark is moved, and joined to the mark that the new
analysis makes at that place (`carry_over`):

- it says the same: the decision stands, about the new mark;
- it says something else: an accepted or edited mark is kept as it was, and the new claim is
  another reading of it (`Document.marks`); a rejection concerned the old claim, so the new one
  is open;
- it says nothing: an accepted or edited mark is kept as it was.

A decision whose measures, notes or part are gone is kept as a `Leftover` with its music. Leftovers
are tried again each time, so they find their place when their music returns. Nothing is dropped.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from analysis.marks import Analysis, Corrections, Mark, mark_id
from analysis.pitch import Pitch, PitchName
from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.wording import name_text
from app.review.alignments import Alignment, align
from app.review.carried_corrections import CarriedCorrections, carry_corrections
from app.review.carry_reports import CarryReport, Entry, number_now, statements
from app.review.document import Decision, Leftover, SourceInfo
from app.review.moved_marks import MovedMark, move_mark
from app.review.selection import Selection
from app.review.skeletons import skeleton_of
from app.review.storage import StoredReview

#: Kinds of mark whose label may name notes or keys; elsewhere a single letter means another thing.
_NAMES_NOTES: Final = ("key", "line", "pedal", "passage", "shape", "query")
_NO_MUSIC: Final = (
    "The review was saved by an earlier version, which kept no music with it: decisions stand at "
    "the measure and beat where they stood."
)


@dataclass(frozen=True, slots=True)
class Origin:
    """What is carried from one earlier transcription, and how that lies beside the new one."""

    left: Leftover
    alignment: Alignment
    corrections: CarriedCorrections


@dataclass(frozen=True, slots=True)
class Plan:
    """A carrying of which the corrections are done; the analysis must follow `corrections`."""

    review: StoredReview
    origins: tuple[Origin, ...]

    @property
    def corrections(self) -> Corrections:
        """The corrections as they hold now."""
        return self.origins[-1].corrections.placed


@dataclass(frozen=True, slots=True)
class Carried:
    """The review of the new transcription, and what there is to tell."""

    review: StoredReview
    report: CarryReport


def plan_carrying(review: StoredReview, score: Score) -> Plan:
    """Lay the music of a review beside a score, and carry its corrections over."""
    now = skeleton_of(score)
    current = Leftover(
        review.source, review.skeleton, review.decisions, review.own_marks, review.corrections
    )
    origins: list[Origin] = []
    for left in (current, *review.leftovers):
        alignment = align(left.skeleton or now, now)
        onto = origins[-1].corrections.placed if origins else Corrections()
        carried = carry_corrections(left.corrections, alignment, onto, back=bool(origins))
        origins.append(Origin(left, alignment, carried))
    return Plan(review, tuple(origins))


def carry_over(plan: Plan, source: SourceInfo, score: Score, analysis: Analysis) -> Carried:
    """Carry decisions, hand-made marks and their order over.

    Parameters
    ----------
    source, score, analysis
        The new transcription, and what is found in it under the plan's corrections.
    """
    review = plan.review
    carrier = _Carrier(_Claims(analysis))
    leftovers: list[Leftover] = []
    for at, origin in enumerate(plan.origins):
        left = carrier.carry(origin, back=at > 0)
        if left is not None:
            leftovers.append(left)
    alignment = plan.origins[0].alignment
    carrier.carry_ordered(review.ordered, alignment)
    carried = StoredReview(
        source=source,
        skeleton=skeleton_of(score),
        decisions=carrier.decisions,
        own_marks=tuple(carrier.own_marks.values()),
        corrections=plan.corrections,
        order=tuple(carrier.ids[one] for one in review.order if one in carrier.ids),
        ordered=tuple(carrier.ordered),
        section_colours=review.section_colours,
        leftovers=tuple(leftovers),
    )
    told = [_NO_MUSIC] if review.skeleton is None else list(statements(alignment))
    entries = sorted(carrier.entries, key=_place)
    return Carried(carried, CarryReport(tuple(told), carrier.kept, tuple(entries)))


def _place(entry: Entry) -> Offset:
    return entry.selection.span.start if entry.selection.span else Offset(0)


class _Claims:
    """The marks of the new analysis, found by place and by element."""

    def __init__(self, analysis: Analysis) -> None:
        self.by_id = {mark.id: mark for mark in analysis.marks}
        self._by_start: defaultdict[tuple[str, Offset], list[Mark]] = defaultdict(list)
        self._by_element: defaultdict[tuple[str, str], list[Mark]] = defaultdict(list)
        for mark in analysis.marks:
            self._by_start[mark.kind, mark.span.start].append(mark)
            for element in mark.elements:
                self._by_element[mark.kind, element].append(mark)

    def like(self, mark: Mark, label: str, taken: Mapping[str, object]) -> Mark | None:
        """The claim that is most like a moved mark and has no decision yet.

        At the same place it may say anything; elsewhere it must say the same of most of the same
        elements.
        """
        wanted = set(mark.elements)
        fitting = {
            claim.id: claim
            for claim in self._by_start[mark.kind, mark.span.start]
            if claim.parts == mark.parts
        }
        for element in mark.elements:
            for claim in self._by_element[mark.kind, element]:
                shared = len(wanted & set(claim.elements))
                if claim.label == label and 2 * shared >= len(wanted | set(claim.elements)):
                    fitting[claim.id] = claim
        free = [claim for claim in fitting.values() if claim.id not in taken]
        return max(
            free,
            key=lambda claim: (
                claim.label == label,
                len(wanted & set(claim.elements)),
                claim.span == mark.span,
                claim.confidence,
            ),
            default=None,
        )


@dataclass(slots=True)
class _Carrier:
    """Collects what is placed, origin by origin."""

    claims: _Claims
    decisions: dict[str, Decision] = field(default_factory=dict)
    own_marks: dict[str, Mark] = field(default_factory=dict)
    #: Ids of then, of the current review, to ids of now.
    ids: dict[str, str] = field(default_factory=dict)
    ordered: list[Mark] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    kept: int = 0
    #: Digest of the transcription that is being carried over.
    digest: str = ""

    def carry(self, origin: Origin, *, back: bool) -> Leftover | None:
        """Place what has a place; what has none is left over."""
        left, alignment = origin.left, origin.alignment
        self.digest = left.source.digest
        self.entries += origin.corrections.entries
        self.kept += origin.corrections.kept
        own_left = tuple(mark for mark in left.own_marks if not self._own(mark, alignment, back))
        unplaced = {mark.id for mark in own_left}
        own = {mark.id for mark in left.own_marks} - unplaced
        decisions_left: dict[str, Decision] = {}
        for mark_id_then, decision in left.decisions.items():
            if mark_id_then in own:
                now = self.ids[mark_id_then]
                self.decisions[now] = replace(decision, mark=self.own_marks[now])
            elif mark_id_then in unplaced or not self._decision(
                mark_id_then, decision, alignment, back
            ):
                decisions_left[mark_id_then] = decision
        rest = replace(
            left,
            decisions=decisions_left,
            own_marks=own_left,
            corrections=origin.corrections.left,
        )
        nothing = not (decisions_left or own_left or rest.corrections != Corrections())
        return None if nothing else rest

    def carry_ordered(self, marks: tuple[Mark, ...], alignment: Alignment) -> None:
        """Find marks again about which nothing was decided but their order."""
        for mark in marks:
            moved = move_mark(mark, alignment)
            claim = self.claims.like(moved.mark, mark.label, {}) if moved.mark else None
            if claim is not None:
                self.ids.setdefault(mark.id, claim.id)
                self.ordered.append(claim)

    def _own(self, mark: Mark, alignment: Alignment, back: bool) -> bool:
        """Place a hand-made mark."""
        moved = move_mark(mark, alignment)
        if moved.mark is None or (back and mark.id in self.own_marks):
            self._tell_unplaced(mark.id, mark, mark.label, moved.reason, alignment, back)
            return False
        self.ids[mark.id] = mark.id
        self.own_marks[mark.id] = moved.mark
        self._tell(mark, moved, mark.label, alignment, "Made by hand; kept as it is.", back)
        return True

    def _decision(self, old_id: str, decision: Decision, alignment: Alignment, back: bool) -> bool:
        """Place a decision."""
        old = decision.mark
        if old is None:
            if not back:
                reason = "It does not say what it was about."
                left = self.digest, old_id
                self.entries.append(Entry("unplaced", old_id, reason, "", "", left=left))
            return False
        name = old.label if decision.label is None else decision.label
        moved = move_mark(old, alignment)
        if moved.mark is None:
            self._tell_unplaced(old_id, old, name, moved.reason, alignment, back)
            return False
        label = _label_now(old, alignment)
        claim = self.claims.like(moved.mark, label, self.decisions)
        keeps = decision.state in ("accepted", "edited")
        if claim is not None and (claim.label == label or decision.state == "open"):
            self._place(old_id, claim, decision)
            same = claim.label == label
            verdict = "The mark says the same."
            if not same:
                verdict = f"The analysis now says “{claim.label}”."
            self._tell(old, replace(moved, mark=claim), name, alignment, verdict, back, same=same)
            return True
        if not keeps and claim is None:
            if decision.state == "open":
                reason = "The analysis no longer says so."
                self._tell_unplaced(old_id, old, name, reason, alignment, back)
                return False
            self._place(old_id, self._renamed(old_id, moved.mark), decision)
            self.kept += 1  # a rejected claim is no longer made: nothing to tell
            return True
        kept = self._renamed(old_id, moved.mark)
        self._place(old_id, kept, decision)
        if claim is None:
            verdict = "The analysis no longer says so; yours is kept."
        elif keeps:
            verdict = f"The analysis now says “{claim.label}”; yours is kept, with that beside it."
        else:
            verdict = f"You rejected it; the analysis now says “{claim.label}”, which is open."
        shown = claim if claim is not None and not keeps else kept
        self._tell(old, replace(moved, mark=shown), name, alignment, verdict, back, same=False)
        return True

    def _place(self, old_id: str, mark: Mark, decision: Decision) -> None:
        self.ids.setdefault(old_id, mark.id)
        self.decisions[mark.id] = replace(decision, mark=mark)

    def _renamed(self, old_id: str, mark: Mark) -> Mark:
        """The mark under an id that no other has; that of then may be another mark's now."""
        name, number = mark_id(f"kept {mark.kind}", old_id, mark.span.start), 1
        while name in self.decisions or name in self.claims.by_id:
            number += 1
            name = mark_id(f"kept {mark.kind}", old_id, mark.span.start, number)
        return replace(mark, id=name)

    def _tell(
        self,
        old: Mark,
        moved: MovedMark,
        name: str,
        alignment: Alignment,
        verdict: str,
        back: bool,
        *,
        same: bool = True,
    ) -> None:
        """Say what became of a mark that has a place."""
        assert moved.mark is not None
        mark = moved.mark
        was, now = alignment.number_at(old.span.start), number_now(alignment, mark.span)
        place = Selection(mark.id, mark.elements, mark.span)
        if back:
            self.entries.append(Entry("returned", name, "Back in its place.", was, now, place))
        elif moved.changes or not same:
            sentence = " ".join((*moved.changes, verdict))
            self.entries.append(Entry("changed", name, sentence, was, now, place))
        elif was != now:
            sentence = f"From measure {was} to measure {now}."
            self.entries.append(Entry("moved", name, sentence, was, now, place))
        else:
            self.kept += 1

    def _tell_unplaced(
        self, old_id: str, old: Mark, name: str, reason: str, alignment: Alignment, back: bool
    ) -> None:
        if not back:
            at = alignment.near(old.span.start)
            was, place = alignment.number_at(old.span.start), Selection(span=Span(at, at + 1))
            left = self.digest, old_id
            self.entries.append(Entry("unplaced", name, reason, was, "", place, left))


def _label_now(mark: Mark, alignment: Alignment) -> str:
    """What a mark that says the same would be labelled now: numbers and notes moved along."""
    label = re.sub(
        r"\bm\. ([^\s,]+)", lambda found: f"m. {alignment.number_now(found[1])}", mark.label
    )
    interval = alignment.interval
    if not interval.fifths or mark.kind not in _NAMES_NOTES:
        return label

    def moved(found: re.Match[str]) -> str:
        if not found[2]:
            return name_text(PitchName.parse(found[1]) + interval.fifths)
        pitch = interval.of(Pitch.parse(found[0]))
        return f"{name_text(pitch.name)}{pitch.octave}"

    return re.sub(r"(?<!\w)([A-G][♯♭]*)(\d?)(?!\w)", moved, label)
