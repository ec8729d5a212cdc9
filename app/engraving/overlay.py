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

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Final, TypeVar, cast

from analysis.marks import Mark
from analysis.score import Score
from analysis.timebase import Span
from app.engraving.brackets import (
    Stretch,
    find_stretches,
    lay_out_brackets,
    room_for_brackets,
)
from app.engraving.callouts import FreeSpace
from app.engraving.labels import LAYERS_OF, PLAIN, Overlay, Room, Style, Toned, join
from app.engraving.lane_labels import (
    CLEAR,
    lay_out_below,
    lay_out_sections,
    room_below,
    room_for_sections,
)
from app.engraving.note_signs import free_space, lay_out_note_signs, stands_at_notes
from app.engraving.pages import Page
from app.engraving.signs import frame
from app.engraving.timed_systems import timed_systems
from app.review.document import ReviewedMark

Made = TypeVar("Made")

#: So many forms of a part are kept: as it is, and as either decision on a mark would make it.
_FORMS: Final = 3


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
    marks = list(marks)
    return join(page.index, PageLayout(page, score, style).parts(marks, find_stretches(marks)))


class PageLayout:
    """The overlay of one page part by part; what shows the same marks as before is kept.

    Parameters
    ----------
    page, score, style
        As for `lay_out`.
    """

    def __init__(self, page: Page, score: Score, style: Style = PLAIN) -> None:
        self._page, self._style = page, style
        self._systems = [(system, system.span) for system in timed_systems(page, score)]
        self._space: FreeSpace | None = None
        #: Of each part its last forms, each with what it was laid out from, the latest first.
        self._kept: dict[str, list[tuple[object, object]]] = {}
        self._on_page: dict[str, tuple[Mark, bool]] = {}
        kinds = LAYERS_OF.items()
        self._kinds = {kind for kind, layers in kinds if style.layers.intersection(layers)}
        self._kinds_at_notes = {kind for kind in self._kinds if stands_at_notes(kind)}

    def parts(
        self, marks: Sequence[ReviewedMark], stretches: Sequence[Stretch]
    ) -> tuple[Overlay, ...]:
        """The parts in painting order; the very same objects where nothing has changed.

        ``stretches`` are the brackets of the whole piece (`find_stretches`).
        """
        page, style = self._page, self._style
        layers = style.layers
        shown = [m for m in marks if m.mark.kind in self._kinds]
        found: list[Overlay] = []
        for at, (system, own) in enumerate(self._systems):
            start, end = own.start, own.end
            here = [
                m
                for m in shown
                if m.mark.span.start < end
                and (m.mark.span.end > start or m.mark.span.start >= start)
            ]
            below = partial(lay_out_below, system, page, here, style)
            found.append(self._part(f"{at} below", here, below))
            bottom = system.top - style.size(CLEAR)
            over = [s for s in stretches if "phrases" in layers and s.span.overlaps(own)]
            brackets = partial(lay_out_brackets, system, over, style, bottom)
            above, bottom = self._part(f"{at} brackets", over, brackets)
            found.append(above)
            if "sections" in layers:
                names = partial(lay_out_sections, system, page, here, style, bottom)
                named = [m for m in here if m.mark.kind == "section"]
                found.append(self._part(f"{at} sections", (named, bottom), names))
        systems = [system for system, _ in self._systems]
        at_notes = [m for m in shown if m.mark.kind in self._kinds_at_notes]
        beside = [m for m in at_notes if self._is_on_page(m.mark)]
        taken = [box for part in found for box in part.boxes] if beside else []
        if beside and self._space is None:
            self._space = free_space(page)
        notes = partial(lay_out_note_signs, page, systems, beside, style, taken, self._space)
        found.append(self._part("notes", (beside, taken), notes))
        return tuple(found)

    def shows(self, reviewed: ReviewedMark) -> bool:
        """Whether a mark may be shown on the page, but for brackets of the whole piece."""
        concerned = any(_concerns(reviewed, own) for _, own in self._systems)
        return concerned or self._is_on_page(reviewed.mark)

    def _is_on_page(self, mark: Mark) -> bool:
        """Whether any of a mark's notes is on the page, or nobody says where they are."""
        known = self._on_page.get(mark.id)
        if known is None or known[0] is not mark:
            boxes, elements = self._page.boxes, mark.elements
            there = not elements or any(element in boxes for element in elements)
            known = self._on_page[mark.id] = (mark, there)
        return known[1]

    def _part(self, name: str, inputs: object, lay_out_part: Callable[[], Made]) -> Made:
        """What was laid out before from equal inputs, or what is laid out now."""
        forms = self._kept.setdefault(name, [])
        at = next((at for at, (given, _) in enumerate(forms) if given == inputs), None)
        forms.insert(0, (inputs, lay_out_part()) if at is None else forms.pop(at))
        del forms[_FORMS:]
        return cast("Made", forms[0][1])


def _concerns(reviewed: ReviewedMark, own: Span) -> bool:
    """Whether a mark has its place, or a part of it, in a system."""
    start, end = reviewed.mark.span.start, reviewed.mark.span.end
    return start < own.end and (end > own.start or start >= own.start)


def selection(overlay: Overlay, mark: str) -> tuple[Toned, ...]:
    """Frames around all that shows a mark, to be painted over the overlay while it is selected."""
    return tuple(Toned("accent", frame(mark, box, 5.0)) for box in overlay.boxes_of(mark))
