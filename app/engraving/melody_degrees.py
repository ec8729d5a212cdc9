"""Degrees of the scale beside the notes of the melody: a layer of its own, for the window.

Each note's degree stands as near above or below its head as there is room; where there is none it
is left out. Nothing here can be selected, so what lies under a degree is still what a click means.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from analysis.marks import MelodyFact
from analysis.timebase import Offset, Span
from app.engraving.bounds import shape_box
from app.engraving.callouts import FreeSpace, ink_pieces
from app.engraving.labels import Overlay, Toned
from app.engraving.layouts import STAFF_SPACE
from app.engraving.musictext import set_text
from app.engraving.pages import Box, Page

#: Em of a degree, and how far it may stand from its note, in staff spaces.
_TEXT: Final = 1.5
_NEAR: Final = 3.4


def lay_out_degrees(
    page: Page, facts: Iterable[MelodyFact], words: Callable[[str], str], taken: Sequence[Box]
) -> Overlay:
    """The degrees of the melody's notes on a page.

    Parameters
    ----------
    facts
        Of the whole piece or more than the page.
    words
        How a degree such as ``b3`` is written.
    taken
        Boxes of other labels.
    """
    wanted = [(page.boxes[one.note], words(one.degree)) for one in facts if one.note in page.boxes]
    if not wanted:
        return Overlay(page.index)
    space = FreeSpace(ink_pieces(page))
    space.stay_within(page.width, page.height)
    space.take(taken)
    space.take(shape_box(shape) for shape in page.shapes if shape.role == "harm")
    strokes: list[Toned] = []
    for head, text in wanted:
        if not text or not head[2]:
            continue
        label = set_text(text, _TEXT * STAFF_SPACE, "semibold")
        box = space.place_near(head, label.width, label.height)
        if box is None or _distance(head, box) > _NEAR * STAFF_SPACE:
            continue
        space.take([box])
        strokes += [Toned("accent", shape) for shape in label.shapes(box[0], box[1] - label.top)]
    return Overlay(page.index, (), (), tuple(strokes))


def _distance(one: Box, other: Box) -> float:
    across = max(other[0] - one[0] - one[2], one[0] - other[0] - other[2], 0.0)
    down = max(other[1] - one[1] - one[3], one[1] - other[1] - other[3], 0.0)
    return max(across, down)


def degrees_within(
    melody: Sequence[MelodyFact], part: str, start: Offset, spans: Sequence[Span]
) -> dict[Offset, MelodyFact]:
    """Facts of a part's notes that begin in some stretches, by their time from a start.

    The melody is in order of time; the stretches are counted from the start, too.
    """
    found = {}
    for span in spans:
        low, high = (
            bisect_left(melody, start + at, key=lambda fact: fact.span.start)
            for at in (span.start, span.end)
        )
        for fact in melody[low:high]:
            if fact.part == part:
                found[fact.span.start - start] = fact
    return found
