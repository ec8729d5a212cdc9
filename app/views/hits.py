"""What lies under a point of the score, and what it means to click it."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.timebase import Offset
from app.interface_words import said
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.views.places import element_text, place_text
from app.views.selections import selection_of_element, selection_of_mark


@dataclass(frozen=True, slots=True)
class Hit:
    """Ids of the mark and the element at a point, and its time; empty where there is none."""

    mark: str = ""
    element: str = ""
    offset: Offset | None = None

    def selection(self, document: Document) -> Selection:
        """What a click there selects: a mark before an element, else the measure."""
        if self.mark:
            return selection_of_mark(document.mark(self.mark))
        if self.element:
            return selection_of_element(document, self.element)
        if self.offset is None:
            return NOTHING
        return Selection(span=document.score.measure_at(self.offset).span)

    def tip(self, document: Document) -> str:
        """What is said about the place; nothing beside the music."""
        if self.mark:
            reviewed = document.mark(self.mark)
            place = place_text(document.score, reviewed.mark.span.start)
            return said("{place}: {sentence}", place=place, sentence=reviewed.sentence)
        return element_text(document, self.element) if self.element else ""
