"""The overlay of a page: every shown mark laid out over the engraved music without collisions.

Method. Each system is laid out by itself from the outside in: the rows under it and the lanes above
it lie outside all of its ink, in room that the engraver keeps free (`room` says how much to ask
for); frames stand around the very notes they mean; and short texts beside notes take the nearest
place that holds nothing else, or none (`app.engraving.callouts`). So no label can touch a note or
another label, whatever the music; what finds no place keeps its frame and its entry in the lists.

Order of the layers, from the bottom of the page up: keys and cadences, functions, numerals, the
music with frames, lines and callouts, brackets over phrases, section names.
"""

from __future__ import annotations

from collections.abc import Iterable

from analysis.score import Score
from app.engraving.brackets import find_stretches, lay_out_brackets, room_for_brackets
from app.engraving.labels import LAYERS_OF, PLAIN, Overlay, Room, Style, Toned, join
from app.engraving.lane_labels import (
    CLEAR,
    lay_out_below,
    lay_out_sections,
    room_below,
    room_for_sections,
)
from app.engraving.note_signs import lay_out_note_signs
from app.engraving.pages import Page
from app.engraving.signs import frame
from app.engraving.timed_systems import timed_systems
from app.review.document import ReviewedMark


def room(style: Style = PLAIN) -> Room:
    """Height to keep free above and below each system, for `app.engraving.layouts.Layout`."""
    above = room_for_brackets(style) + room_for_sections(style)
    return Room(above + style.size(CLEAR) if above else 0.0, room_below(style))


def lay_out(
    page: Page, marks: Iterable[ReviewedMark], score: Score, style: Style = PLAIN
) -> Overlay:
    """The overlay of one page.

    Parameters
    ----------
    page
        Engraved with at least `room(style)` around its systems.
    marks
        All marks to show, of the whole piece: letters of phrases count from its beginning.
    score
        The score that the marks are about, for times.
    style
        Which layers, and how large.
    """
    shown = [m for m in marks if style.layers.intersection(LAYERS_OF[m.mark.kind])]
    stretches = find_stretches(shown) if "phrases" in style.layers else []
    parts = []
    for system in timed_systems(page, score):
        parts.append(lay_out_below(system, page, shown, style))
        bottom = system.top - style.size(CLEAR)
        above, bottom = lay_out_brackets(system, stretches, style, bottom)
        parts.append(above)
        if "sections" in style.layers:
            parts.append(lay_out_sections(system, page, shown, style, bottom))
    laid = join(page.index, parts)
    taken = [label.box for label in laid.labels] + [area.box for area in laid.areas]
    parts.append(lay_out_note_signs(page, shown, style, taken))
    return join(page.index, parts)


def selection(overlay: Overlay, mark: str) -> tuple[Toned, ...]:
    """Frames around all that shows a mark, to be painted over the overlay while it is selected."""
    return tuple(Toned("accent", frame(mark, box, 5.0)) for box in overlay.boxes_of(mark))
