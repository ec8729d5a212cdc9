"""Where things stand on the timeline: arithmetic without a window.

From left to right stand measure numbers, sections, keys, the three rails of the functions, the
harmonic rhythm, and lanes of marks in groups: harmony, melody, form, lines, doubts. A group has as
many lanes side by side as its marks need so that none covers another. All lengths are in pixels;
`em` is the height of the text.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from analysis.marks import ChordFact, MarkKind, Repeat
from analysis.score import Measure
from analysis.timebase import Fraction, Offset, Span
from app.engraving.lanes import stack
from app.interface_words import Phrase, phrase
from app.review.document import Document, ReviewedMark
from app.views.timeline_scale import Run, Scale

#: Kinds that the fixed columns show.
COLUMN_KINDS: Final[tuple[MarkKind, ...]] = ("section", "key", "chord")
#: All others, in groups from left to right.
GROUPS: Final[dict[Phrase, tuple[MarkKind, ...]]] = {
    phrase("Harmony"): ("cadence", "rhythm", "loop"),
    phrase("Melody"): ("melody", "mixed third", "passage", "shape"),
    phrase("Form"): ("repeat", "echo"),
    phrase("Lines"): ("line", "pedal"),
    phrase("Doubts"): ("query",),
}
_GROUP_OF: Final = {kind: group for group, kinds in GROUPS.items() for kind in kinds}
FUNCTIONS: Final = ("T", "S", "D")
#: Width of a lane in ems, and how many lanes a group may have.
LANE: Final = 1.15
MOST_LANES: Final = 3
#: Least and greatest width of the sections, in ems; longer names go on in another line.
NAMES: Final = (6.2, 8.6)
#: Chord changes in a measure that fill the column of the harmonic rhythm.
BUSIEST: Final = 4


#: The marks in lanes, pixels a quarter note, and the height of the text.
LaneMarks = tuple[tuple[ReviewedMark, ...], float, float]


@dataclass(frozen=True, slots=True)
class Columns:
    """Left edges of the columns and the width of all.

    ``lanes_of`` are the names of the groups that are shown with how many lanes each has; ``names``
    is the width that the names of the sections need.
    """

    em: float
    lanes_of: tuple[tuple[Phrase, int], ...]
    names: float = 0.0

    @property
    def numbers_end(self) -> float:
        """Right edge of the measure numbers."""
        return 2.0 * self.em

    @property
    def sections(self) -> float:
        """Left edge of the sections."""
        return 2.6 * self.em

    @property
    def keys(self) -> float:
        """Left edge of the keys."""
        least, most = NAMES
        return self.sections + min(max(self.names + 1.4 * self.em, least * self.em), most * self.em)

    @property
    def rails(self) -> float:
        """Left edge of the functions."""
        return self.keys + 4.5 * self.em

    @property
    def rhythm(self) -> float:
        """Left edge of the harmonic rhythm."""
        return self.rails + 4.3 * self.em

    @property
    def lanes(self) -> float:
        """Left edge of the first lane."""
        return self.rhythm + 1.9 * self.em

    @property
    def width(self) -> float:
        """Width of all columns."""
        return self.group(len(self.lanes_of)) + 0.4 * self.em

    def rail(self, function: str) -> float:
        """Middle of the rail of a function."""
        return self.rails + (0.75 + 1.35 * FUNCTIONS.index(function)) * self.em

    def group(self, index: int) -> float:
        """Left edge of a group of lanes."""
        lanes = sum(count for _, count in self.lanes_of[:index])
        return self.lanes + (lanes * LANE + 0.35 * index) * self.em

    def lane(self, group: str, row: int) -> float:
        """Middle of a lane of a group."""
        index = next(at for at, (name, _) in enumerate(self.lanes_of) if name == group)
        return self.group(index) + (0.5 + row) * LANE * self.em


@dataclass(frozen=True, slots=True)
class LaneSign:
    """A mark in a lane: its group and row, and the stretches it speaks of, the first its own."""

    mark: ReviewedMark
    group: Phrase
    row: int
    stretches: tuple[Span, ...]

    @property
    def start(self) -> Offset:
        """Where its sign stands."""
        return self.mark.mark.span.start


def lane_signs(document: Document, rate: float, em: float) -> tuple[LaneSign, ...]:
    """All signs, none over another where lanes are enough; of a repeat both passages are shown."""
    return signs_of(lane_marks(document), rate, em)


def lane_marks(document: Document) -> tuple[ReviewedMark, ...]:
    """The marks that are shown in lanes."""
    shown = document.shown_marks()
    return tuple(reviewed for reviewed in shown if reviewed.mark.kind not in COLUMN_KINDS)


def signs_of(shown: Iterable[ReviewedMark], rate: float, em: float) -> tuple[LaneSign, ...]:
    """The signs of such marks."""
    rows: dict[Phrase, list[tuple[ReviewedMark, tuple[Span, ...]]]] = {}
    for reviewed in shown:
        rows.setdefault(_GROUP_OF[reviewed.mark.kind], []).append((reviewed, _stretches(reviewed)))
    least = 1.3 * em / rate
    signs = []
    for group, marks in rows.items():
        # Long ones first, so that they keep a lane to themselves from end to end.
        marks.sort(key=lambda one: (-one[1][0].duration, one[1][0].start))
        spans = [
            (float(own[0].start), max(float(own[0].end), float(own[0].start) + least))
            for _, own in marks
        ]
        for (reviewed, own), row in zip(marks, stack(spans), strict=True):
            signs.append(LaneSign(reviewed, group, min(row, MOST_LANES - 1), own))
    return tuple(sorted(signs, key=lambda sign: (sign.start, sign.mark.id)))


def signs_again(
    signs: tuple[LaneSign, ...], before: LaneMarks, now: LaneMarks
) -> tuple[LaneSign, ...]:
    """The signs of other marks, of which those before are known; most decisions move none."""
    shown = {one.id: one for one in now[0]}
    same_marks = len(before[0]) == len(now[0]) and all(
        one.mark is other.mark for one, other in zip(before[0], now[0], strict=True)
    )
    if before[1:] != now[1:] or not same_marks:
        return signs_of(*now)
    return tuple(
        sign if sign.mark is shown[sign.mark.id] else replace(sign, mark=shown[sign.mark.id])
        for sign in signs
    )


def lanes_of(signs: tuple[LaneSign, ...]) -> tuple[tuple[Phrase, int], ...]:
    """The groups that have marks, with how many lanes each needs, in order."""
    return tuple(
        (group, 1 + max(sign.row for sign in signs if sign.group == group))
        for group in GROUPS
        if any(sign.group == group for sign in signs)
    )


def _stretches(reviewed: ReviewedMark) -> tuple[Span, ...]:
    fact = reviewed.mark.fact
    if isinstance(fact, Repeat):
        return (fact.later, fact.first) if fact.later == reviewed.mark.span else (
            reviewed.mark.span, fact.first, fact.later,
        )  # fmt: skip
    return (reviewed.mark.span,)


def number_step(measures: tuple[Measure, ...], rate: float, em: float) -> int:
    """Every how many measures a number has room: a power of two."""
    if not measures:
        return 1
    typical = float(sorted(measure.length for measure in measures)[len(measures) // 2])
    step = 1
    while step * typical * rate < 1.5 * em and step < 1024:
        step *= 2
    return step


def function_path(
    document: Document, run: Run, scale: Scale
) -> Iterator[tuple[ChordFact, str, float]]:
    """Chords of a run that have a function, with it and the height of their onset."""
    for fact in document.analysis.chords:
        if fact.function in FUNCTIONS and fact.span.start in run.written:
            yield fact, fact.function, scale.y_in(run, fact.span.start)


def changes_in(document: Document, measures: tuple[Measure, ...]) -> list[int]:
    """How many chords begin in each of some measures that follow each other."""
    starts = [fact.span.start for fact in document.analysis.chords]
    return [
        bisect_left(starts, measure.span.end) - bisect_left(starts, measure.onset)
        for measure in measures
    ]


def broken(text: str, width: float, width_of: Callable[[str], float]) -> list[str]:
    """A text in lines of at most a width, broken at spaces and after hyphens; words stay whole."""
    lines = [""]
    for word in re.findall(r"[^\s-]+-?|-", text):
        joint = "" if not lines[-1] or lines[-1].endswith("-") else " "
        if lines[-1] and width_of(lines[-1] + joint + word) > width:
            lines.append(word)
        else:
            lines[-1] += joint + word
    return lines


def measures_span(document: Document, one: Offset, other: Offset) -> Span:
    """The whole measures from one offset to another, in either order."""
    first = document.score.measure_at(min(one, other))
    last = document.score.measure_at(max(one, other))
    return Span(first.span.start, last.span.end)


def visible_measures(document: Document, start: Offset, end: Offset) -> tuple[Measure, ...]:
    """The measures that any part of a stretch falls in."""
    measures = document.score.measures
    first = bisect_left(measures, start, key=lambda measure: measure.span.end)
    last = bisect_left(measures, end, key=lambda measure: measure.onset)
    return measures[first : last + 1]


def snapped(document: Document, offset: Offset, *, beats: bool) -> Offset:
    """The barline nearest to an offset, or with ``beats`` the nearest beat."""
    measure = document.score.measure_at(offset)
    if not beats:
        middle = measure.onset + measure.length / 2
        return measure.span.end if offset >= middle else measure.onset
    beat = measure.meter.beat
    # Beats of a pickup are counted back from its barline.
    into = measure.span.end - offset
    steps = Fraction(round(into / beat))
    return max(measure.onset, min(measure.span.end - steps * beat, measure.span.end))


def looks_alike(one: Document | None, other: Document | None) -> bool:
    """Whether two documents look alike on the timeline but for the signs of their marks."""
    if one is None or other is None:
        return False
    same = one.score is other.score and one.analysis is other.analysis
    return (
        same
        and one.corrections == other.corrections
        and one.section_colours == other.section_colours
    )
