"""Brackets above a system: over phrases that return, figures taken up, loops and passages.

A phrase and its returns share a letter; a return with other chords has the letter with a stroke for
each new harmony (a, a′, a″). Brackets that overlap in time lie in lanes above each other, the
longest farthest from the music; where there are more lanes than the room was asked for, they are
set closer, so that nothing leaves the room.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from analysis.marks import Repeat
from analysis.timebase import Span
from app.engraving.labels import LAYERS_OF, Area, Label, Overlay, Style, Toned
from app.engraving.lanes import stack
from app.engraving.layouts import STAFF_SPACE
from app.engraving.musictext import set_text
from app.engraving.palettes import Tone
from app.engraving.signs import bracket
from app.engraving.timed_systems import TimedSystem
from app.review.document import ReviewedMark

#: Height of a lane and em of its text, in staff spaces, and for how many lanes room is asked.
LANE: Final = 1.9
TEXT: Final = 1.5
LANES: Final = 2
_LETTERS: Final = "abcdefghijklmnopqrstuvwxyz"
_STROKE: Final = "′"


@dataclass(frozen=True, slots=True)
class Stretch:
    """One bracket: the stretch of the score under it, and what it says."""

    reviewed: ReviewedMark
    span: Span
    text: str


def room_for_brackets(style: Style) -> float:
    """Height of the lanes that room is asked for."""
    return style.size(LANE) * LANES if "phrases" in style.layers else 0.0


def find_stretches(marks: Iterable[ReviewedMark]) -> list[Stretch]:
    """All brackets of a piece, longest first; each passage once."""
    shown = [m for m in marks if "phrases" in LAYERS_OF[m.mark.kind]]
    repeats = [(m, m.mark.fact) for m in shown if isinstance(m.mark.fact, Repeat)]
    names = _phrase_names([fact for _, fact in repeats])
    found: dict[tuple[Span, str], Stretch] = {}
    for m, fact in repeats:
        # A passage that several marks share belongs to the mark that is about it.
        found[fact.later, ""] = Stretch(m, fact.later, names[fact.later])
    for m, fact in repeats:
        found.setdefault((fact.first, ""), Stretch(m, fact.first, names[fact.first]))
    for m in shown:
        if not isinstance(m.mark.fact, Repeat):
            found[m.mark.span, m.id] = Stretch(m, m.mark.span, m.label)
    return sorted(found.values(), key=lambda s: (-s.span.duration, s.span, s.reviewed.id))


def _phrase_names(repeats: Sequence[Repeat]) -> dict[Span, str]:
    """A letter for each family of passages, strokes for the harmonies that are new in it."""
    families: dict[Span, set[Span]] = {}
    for repeat in repeats:
        family = families.get(repeat.first, {repeat.first})
        family |= families.get(repeat.later, {repeat.later})
        for span in family:
            families[span] = family
    changed = {repeat.later for repeat in repeats if repeat.reharmonised}
    names: dict[Span, str] = {}
    letters = 0
    for span in sorted(families):
        if span in names:
            continue
        letter = _LETTERS[letters % len(_LETTERS)]
        letters += 1
        strokes = 0
        for passage in sorted(families[span]):
            strokes += passage in changed
            names[passage] = letter + (_STROKE * strokes if passage in changed else "")
    return names


def lay_out_brackets(
    system: TimedSystem, stretches: Sequence[Stretch], style: Style, bottom: float
) -> tuple[Overlay, float]:
    """The brackets over a system, in lanes above ``bottom``, and the upper edge of the lanes."""
    shown = [(one, ends) for one in stretches if (ends := system.stretch(one.span)) is not None]
    if not shown:
        return Overlay(0), bottom
    # The shortest lie nearest to the music.
    shown.reverse()
    rows = stack((float(one.span.start), float(one.span.end)) for one, _ in shown)
    lane = style.size(LANE) * min(1.0, LANES / (max(rows) + 1))
    labels: list[Label] = []
    areas: list[Area] = []
    strokes: list[Toned] = []
    for (one, ends), row in zip(shown, rows, strict=True):
        middle = bottom - lane * (row + 0.5)
        opened = (one.span.start < system.span.start, one.span.end > system.span.end)
        box, drawn = _lay_out_one(one, ends, middle, lane, style, opened)
        mark = one.reviewed.id
        left, right = ends
        areas.append(Area(mark, "phrases", (left, middle - lane / 4, right - left, lane / 2)))
        if box is not None:
            labels.append(Label(mark, "phrases", one.text, box))
        strokes += drawn
    return Overlay(0, tuple(labels), tuple(areas), tuple(strokes)), bottom - lane * (max(rows) + 1)


def _lay_out_one(
    one: Stretch,
    ends: tuple[float, float],
    middle: float,
    lane: float,
    style: Style,
    opened: tuple[bool, bool],
) -> tuple[tuple[float, float, float, float] | None, list[Toned]]:
    """Box of the text, None where the bracket is too short for it, and the strokes."""
    mark, state = one.reviewed.id, one.reviewed.state if style.states else None
    tone: Tone = "ink"
    em = lane * TEXT / LANE
    text = set_text(one.text, em, "medium")
    drop = lane * 0.38
    start = ends[0] + 0.8 * STAFF_SPACE * em / style.size(TEXT)
    room = ends[1] - start - 0.6 * STAFF_SPACE
    strokes: list[Toned] = []
    gap = box = None
    if text.width and text.width <= room:
        baseline = middle - (text.top + text.bottom) / 2
        strokes += [Toned(tone, shape) for shape in text.shapes(start, baseline, element=mark)]
        box = text.box(start, baseline)
        gap = (start - em * 0.25, start + text.width + em * 0.25)
    lines = bracket(mark, ends, middle, gap, drop, state, opened=opened)
    strokes += [Toned(tone, shape) for shape in lines]
    return box, strokes
