"""Pages under one another: where each stands at a zoom, and what lies where. No window needed.

Pages end below their last system and follow each other without a gap, like one long sheet. Where
nothing stands in the room that was kept free around a system, that room may be cut out: a page is
then shown in strips. Lengths of the column are pixels, lengths on a page are page units; zoom is
pixels a unit.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, NamedTuple

from analysis.score import Score
from analysis.timebase import Fraction, Offset, Span
from app.engraving.pages import Box, MeasureBox, Page, System

#: Pixels a page unit at 100 %: a unit is a tenth of a millimetre, a pixel 1/96 inch.
ACTUAL_SIZE: Final = 96 / 254
#: Pixels around the pages.
GAP: Final = 12.0
#: How far beside an element a click still means it, in page units.
REACH: Final = 12.0


class Strip(NamedTuple):
    """The part of a page from one height to another, in page units."""

    page: Page
    top: float
    bottom: float


@dataclass(frozen=True)
class PageColumn:
    """The pages of one engraving in a viewport of a width.

    ``cuts`` lists for pages by index what is shown of them, from top to bottom; other pages are
    shown whole.
    """

    pages: Sequence[Page]
    zoom: float
    viewport_width: float
    cuts: Mapping[int, Sequence[tuple[float, float]]] = field(default_factory=dict)

    @property
    def width(self) -> float:
        """Width of the widest page with the gaps beside it."""
        widest = max((page.width for page in self.pages), default=0.0)
        return widest * self.zoom + 2 * GAP

    @property
    def height(self) -> float:
        """Height of all strips with the gaps above and below."""
        return self.strips[-1][1][1] + self.strips[-1][1][3] + GAP if self.strips else 2 * GAP

    @cached_property
    def strips(self) -> tuple[tuple[Strip, Box], ...]:
        """Each strip with its box in the column."""
        y = GAP
        found = []
        for page in self.pages:
            width = page.width * self.zoom
            x = max(GAP, (self.viewport_width - width) / 2)
            for top, bottom in self.cuts.get(page.index) or ((0.0, page.height),):
                height = (bottom - top) * self.zoom
                found.append((Strip(page, top, bottom), (x, y, width, height)))
                y += height
        return tuple(found)

    @cached_property
    def _strips_of(self) -> dict[int, list[tuple[Strip, Box]]]:
        """The strips of each page by its index."""
        found: dict[int, list[tuple[Strip, Box]]] = {}
        for strip, box in self.strips:
            found.setdefault(strip.page.index, []).append((strip, box))
        return found

    def visible(self, top: float, bottom: float) -> Iterator[tuple[Strip, Box]]:
        """The strips that a stretch of the column shows."""
        for strip, box in self.strips:
            if box[1] < bottom and box[1] + box[3] > top:
                yield strip, box

    def systems(self, top: float, bottom: float) -> list[System]:
        """The systems whose middle lies in a stretch of the column."""
        found = []
        for strip, (_, strip_top, _, _) in self.visible(top, bottom):
            for system in strip.page.systems:
                middle = system.box[1] + system.box[3] / 2
                if strip.top <= middle < strip.bottom:
                    at = strip_top + (middle - strip.top) * self.zoom
                    if top <= at <= bottom:
                        found.append(system)
        return found

    def to_page(self, x: float, y: float) -> tuple[Page, float, float] | None:
        """The page at a point of the column and the point on it; None between pages."""
        for strip, (left, top, width, height) in self.strips:
            if left <= x < left + width and top <= y < top + height:
                return strip.page, (x - left) / self.zoom, (y - top) / self.zoom + strip.top
        return None

    def to_column(self, page: Page, box: Box) -> Box:
        """The box of the column where a box of a page stands; what is cut out lies at an edge."""
        own = self._strips_of[page.index]
        x, y, width, height = box
        middle = y + height / 2
        strip, (left, top, _, _) = next((one for one in own if middle < one[0].bottom), own[-1])
        zoom = self.zoom
        return (left + x * zoom, top + (y - strip.top) * zoom, width * zoom, height * zoom)


def cuts_of(
    page: Page, rooms: Sequence[tuple[float, float]], gap: float
) -> tuple[tuple[float, float], ...]:
    """What to show of a page if its systems need so much room above and below each.

    Parameters
    ----------
    rooms
        Height above and below, a system each, in page units.
    gap
        Least distance to the edges of a strip.
    """
    cuts: list[tuple[float, float]] = []
    for at, (system, (above, below)) in enumerate(zip(page.systems, rooms, strict=True)):
        _, top, _, height = system.box
        start, end = max(0.0, top - above - gap), min(page.height, top + height + below + gap)
        before = cuts[-1][1] if cuts else 0.0
        cuts.append((max(start, before), max(end, before)))
        if at and start <= before:  # no room to cut out between the two
            cuts[-2:] = [(cuts[-2][0], cuts[-1][1])]
    return tuple(cuts)


def fitting_zoom(pages: Sequence[Page], width: float, height: float) -> float:
    """The zoom at which pages are as wide as a view, or a long system is as high, within reason."""
    widest = max(page.width for page in pages)
    tallest = max(page.height for page in pages)
    if widest > 3 * tallest:
        return min((height - 2 * GAP) / tallest, 1.5 * ACTUAL_SIZE)
    return (width - 2 * GAP) / widest


def element_at(page: Page, x: float, y: float, among: Collection[str]) -> str:
    """The element at a point of a page, the nearest within reach; empty where none is."""
    best, found = REACH, ""
    for element, (left, top, width, height) in page.boxes.items():
        if element not in among:
            continue
        across = max(left - x, x - left - width, 0.0)
        down = max(top - y, y - top - height, 0.0)
        distance = max(across, down)
        if distance < best:
            best, found = distance, element
    return found


def measure_at(page: Page, x: float, y: float) -> MeasureBox | None:
    """The measure at a point of a page; between systems the nearest system's."""
    if not page.systems:
        return None
    system = min(page.systems, key=lambda system: _distance(system, y))
    for measure in system.measures:
        left, _, width, _ = measure.box
        if left <= x < left + width:
            return measure
    return None


def offset_at(score: Score, page: Page, x: float, y: float) -> Offset | None:
    """The time at a point of a page; None beside the music."""
    measure = measure_at(page, x, y)
    if measure is None or measure.index >= len(score.measures):
        return None
    start = score.measures[measure.index].onset
    for (offset, left), (later, right) in zip(measure.onsets, measure.onsets[1:], strict=False):
        if x < right:
            share = max(0.0, (x - left) / (right - left)) if right > left else 0.0
            return start + Fraction(offset + share * (later - offset)).limit_denominator(64)
    return start


def span_boxes(score: Score, page: Page, span: Span) -> Iterator[Box]:
    """Where a stretch of time lies on a page: one box a system, over all its staves."""
    for system in page.systems:
        left = right = None
        for measure in system.measures:
            if measure.index >= len(score.measures):
                continue
            own = score.measures[measure.index].span
            if not own.overlaps(span) and not (span.duration == 0 and span.start in own):
                continue
            from_start = float(span.start - own.start)
            from_end = float(span.end - own.start)
            whole = measure.box[0], measure.box[0] + measure.box[2]
            begins = whole[0] if from_start <= 0 else measure.x_at(from_start) - REACH
            ends = whole[1] if span.end >= own.end else measure.x_at(from_end) - REACH
            left = begins if left is None else left
            right = max(ends, begins + 2 * REACH)
        if left is not None and right is not None:
            _, top, _, height = system.box
            yield (left, top - REACH, right - left, height + 2 * REACH)


def shown_span(score: Score, systems: Sequence[System]) -> Span | None:
    """The stretch of time that some systems show; None where they show none."""
    indexes = [measure.index for system in systems for measure in system.measures]
    indexes = [index for index in indexes if index < len(score.measures)]
    if not indexes:
        return None
    return Span(score.measures[min(indexes)].onset, score.measures[max(indexes)].span.end)


def page_of(pages: Sequence[Page], score: Score, span: Span) -> Page | None:
    """The page on which a span begins."""
    index = score.measure_at(span.start).index
    for page in pages:
        if any(measure.index == index for system in page.systems for measure in system.measures):
            return page
    return None


def _distance(system: System, y: float) -> float:
    _, top, _, height = system.box
    return max(top - y, y - top - height, 0.0)
