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

#: Ems of a degree, the smaller where there is little room; how far it may stand above its note, and
#: below, where under the words it would be the next staff's; in which steps, and how far aside; and
#: how far from words and chord symbols, as part of which it would be read; in staff spaces.
_TEXTS: Final = (1.5, 1.25, 1.05)
_NEAR: Final = 6.5
_UNDER: Final = 3.5
_STEP: Final = 0.25
_ASIDE: Final = (0.0, -0.4, 0.4, -0.8, 0.8)
_APART: Final = 0.45


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
    texts = (shape_box(shape) for shape in page.shapes if shape.role in ("harm", "syl"))
    by = _APART * STAFF_SPACE
    space.take((x - by, y - by / 2, w + 2 * by, h + by) for x, y, w, h in texts)
    strokes: list[Toned] = []
    for head, text in wanted:
        if not text or not head[2]:
            continue
        for size in _TEXTS:
            label = set_text(text, size * STAFF_SPACE, "semibold")
            box = _place(space, head, label.width, label.height)
            if box is not None:
                space.take([box])
                y = box[1] - label.top
                strokes += [Toned("accent", shape) for shape in label.shapes(box[0], y)]
                break
    return Overlay(page.index, (), (), tuple(strokes))


def _place(space: FreeSpace, head: Box, width: float, height: float) -> Box | None:
    """The nearest free place over or under a note; farther aside a label would be another's."""
    x, y, head_width, head_height = head
    left = x + (head_width - width) / 2
    for step in range(int(_NEAR / _STEP)):
        away = step * _STEP * STAFF_SPACE
        below = [y + head_height + away] if step * _STEP <= _UNDER else []
        for top in (y - away - height, *below):
            for aside in _ASIDE:
                box = (left + aside * STAFF_SPACE, top, width, height)
                if space.is_free(box):
                    return box
    return None


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
