"""What lies under a point of the timeline, and what it means to click it. No window needed."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.timebase import Offset
from app.interface_words import said, said_phrase
from app.review.document import Document
from app.review.section_edits import sections_of
from app.review.selection import Selection
from app.views.places import element_text, place_text, span_text
from app.views.selections import selection_at, selection_of_mark, selection_of_section
from app.views.signs import KIND_NAMES
from app.views.timeline_layout import GROUPS, LANE, Columns, LaneSign
from app.views.timeline_scale import Scale

#: Pixels beside a border that still mean it.
REACH = 5.0


@dataclass(frozen=True, slots=True)
class TimelinePlaces:
    """All places of one state of the timeline; x and y are pixels of its content."""

    document: Document
    columns: Columns
    scale: Scale
    signs: tuple[LaneSign, ...]
    head: float

    def border_at(self, x: float, y: float) -> int | None:
        """Index of the section whose upper border is there; the first has none."""
        if not self.columns.sections - REACH <= x < self.columns.rails or y < self.head:
            return None
        run = self.scale.run_at(y)
        for index, section in enumerate(sections_of(self.document)):
            start = section.span.start
            inside = run.written.start < start < run.written.end
            if index and inside and abs(self.scale.y_in(run, start) - y) <= REACH:
                return index
        return None

    def sign_at(self, x: float, y: float) -> LaneSign | None:
        """The sign at a point, or else the one whose stretch is."""
        em = self.columns.em
        run = self.scale.run_at(y)
        in_lane = [
            sign
            for sign in self.signs
            if abs(self.columns.lane(sign.group, sign.row) - x) < LANE / 2 * em
        ]
        near = [
            (abs(self.scale.y_in(run, sign.start) + 0.5 * em - y), at)
            for at, sign in enumerate(in_lane)
            if sign.start in run.written
        ]
        if near and min(near)[0] < 0.8 * em:
            return in_lane[min(near)[1]]
        offset = self.scale.offset(y)
        over = [sign for sign in in_lane if any(offset in span for span in sign.stretches)]
        return over[0] if over else None

    def selection(self, x: float, y: float) -> Selection | None:
        """What a click there selects; None for nothing."""
        if y < self.head or y >= self.scale.bottom:
            return None
        document, offset = self.document, self.scale.offset(y)
        if x >= self.columns.lanes:
            sign = self.sign_at(x, y)
            return selection_of_mark(sign.mark) if sign else None
        if self.columns.rails <= x < self.columns.rhythm:
            return selection_at(document, offset)
        if self.columns.keys <= x < self.columns.rails:
            for reviewed in document.marks():
                if reviewed.mark.kind == "key" and offset in reviewed.mark.span:
                    return selection_of_mark(reviewed)
        elif self.columns.sections <= x < self.columns.keys:
            for section in sections_of(document):
                if offset in section.span:
                    return selection_of_section(document, section)
        return Selection(span=document.score.measure_at(self._inside(offset)).span)

    def tip(self, x: float, y: float) -> str:
        """What is said about a point."""
        columns, document = self.columns, self.document
        if y < self.head:
            return self._heading_tip(x)
        if y >= self.scale.bottom:
            return ""
        offset = self._inside(self.scale.offset(y))
        if x >= columns.lanes:
            sign = self.sign_at(x, y)
            if sign:
                place = span_text(document.score, sign.mark.mark.span)
                return said("{place}: {sentence}", place=place, sentence=sign.mark.sentence)
        elif x >= columns.rails:
            for fact in document.analysis.chords:
                if offset in fact.span and fact.numeral:
                    return element_text(document, fact.symbol)
        elif x >= columns.sections:
            for section in sections_of(document):
                if offset in section.span:
                    name = section.name or section.label
                    return f"{name}, {span_text(document.score, section.span)}"
        return place_text(document.score, offset)

    def _heading_tip(self, x: float) -> str:
        columns = self.columns
        for at, (group, lanes) in enumerate(columns.lanes_of):
            left = columns.group(at)
            if left <= x < left + lanes * LANE * columns.em:
                kinds = ", ".join(said_phrase(KIND_NAMES[kind]) for kind in GROUPS[group])
                return said("{group}: {kinds}", group=said_phrase(group), kinds=kinds)
        if columns.rhythm <= x < columns.lanes:
            return said("Harmonic rhythm: chord changes in each measure")
        return ""

    def _inside(self, offset: Offset) -> Offset:
        """The offset, or the last moment of the piece for its end."""
        return min(offset, self.document.score.end - Offset(1, 1024))
