"""The marks over each page of the score: laid out when first seen, kept until they change.

A decision changes one mark among hundreds. So the overlay of a page is kept in parts, a few for
each system; only the parts that show a changed mark are laid out and made ready for painting anew,
and what they cover is told, so that only this is painted again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from analysis.marks import Section
from analysis.timebase import Offset, Span
from app.engraving.bounds import shape_edges, to_box
from app.engraving.brackets import Stretch, find_stretches, room_for_brackets
from app.engraving.labels import LAYERS, LAYERS_OF, Layer, Overlay, Style, join
from app.engraving.lane_labels import room_below, room_for_sections
from app.engraving.melody_degrees import lay_out_degrees
from app.engraving.overlay import PageLayout
from app.engraving.overlay import selection as selected_frames
from app.engraving.overlay_painting import paint_overlay
from app.engraving.pages import Box, Page, Shape
from app.engraving.painting import paint_shapes
from app.engraving.palettes import Palette
from app.engraving.timed_systems import timed_systems
from app.review.document import Document, ReviewedMark, State
from app.review.edits import Decide
from app.review.selection import Selection
from app.views.looks import LIGHT, Look
from app.views.page_column import cuts_of, span_boxes
from app.views.page_parts import PagePart
from app.views.timeline_layout import visible_measures

Layers = frozenset[Layer]
ALL_LAYERS: Layers = frozenset(LAYERS)
#: How far beside a label a click still means it, in page units.
SLACK: Final = 6.0
#: More measures than this are a long stretch; height of its edge in page units.
LONG: Final = 8
EDGE: Final = 10.0
#: Room around each system and its marks, in page units.
BREATH: Final = 34.0
#: What is likely to be decided about an open mark.
_DECISIONS: Final[tuple[State, ...]] = ("accepted", "rejected")


@dataclass(slots=True)
class _Laid:
    """A page laid out: its parts, all of them as one overlay, and each made ready for painting."""

    layout: PageLayout
    #: Ids of the marks that the page may show.
    marks: set[str]
    parts: tuple[Overlay, ...] = ()
    whole: Overlay | None = None
    ready: dict[int, PagePart] = field(default_factory=dict)
    #: Parts as a likely decision would make them.
    ahead: dict[int, PagePart] = field(default_factory=dict)


class PageMarks:
    """Overlays of the pages of one engraving, by page index."""

    def __init__(self) -> None:
        self._document: Document | None = None
        self._shown: dict[str, ReviewedMark] = {}
        #: Where sections begin that the score does not write.
        self._sections: list[Offset] = []
        self._stretches: list[Stretch] = []
        self._style = Style()
        self._degrees: Callable[[str], str] | None = None
        self._palette = palette_of(LIGHT)
        self._wash = QColor(LIGHT.wash)
        self._laid: dict[int, _Laid] = {}
        self._cuts: tuple[object, dict[int, tuple[tuple[float, float], ...]]] = (None, {})
        self._shapes: dict[int, dict[str, list[Shape]]] = {}

    def show_pages(self) -> None:
        """Forget what was laid out for other pages."""
        self._shapes.clear()
        self._forget()

    def let_go(self, page: Page) -> None:
        """Forget what was laid out for one page."""
        self._shapes.pop(page.index, None)
        self._laid.pop(page.index, None)

    def show_document(
        self, document: Document | None, pages: Sequence[Page] = ()
    ) -> list[tuple[Page, Box]] | None:
        """Show the marks of a document.

        Parameters
        ----------
        pages
            Those in view.

        Returns
        -------
        list of (Page, Box) or None
            What has to be painted again of the pages in view; None for all.
        """
        before, self._document = self._document, document
        shown = {one.mark.id: one for one in document.shown_marks()} if document else {}
        was, self._shown = self._shown, shown
        if before is None or document is None or before.score is not document.score:
            self._find_stretches()
            self._forget()
            return None
        melody = before.analysis.melody is not document.analysis.melody
        if self._degrees is not None and melody:
            self._find_stretches()
            self._forget()
            return None
        changed = _differing(shown, was) + _differing(was, shown)
        stale = self._touched(changed, was)
        layers = {layer for one in changed for layer in LAYERS_OF[one.mark.kind]}
        if layers & {"phrases", "sections"}:
            self._find_stretches()
        if "phrases" in layers:
            stale = set(self._laid)
        return self._lay_out_again(stale, pages)

    def set_layers(self, layers: Layers) -> None:
        """Show these layers only."""
        self._style = Style(layers=layers)
        self._forget()

    def set_degrees(self, words: Callable[[str], str] | None) -> None:
        """Show the melody's degrees of the scale, written so; None for not."""
        self._degrees = words
        self._forget()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._palette = palette_of(look)
        self._wash = QColor(look.wash)
        for laid in self._laid.values():
            laid.ready.clear()
            laid.ahead.clear()

    def cuts(self, pages: Sequence[Page]) -> dict[int, tuple[tuple[float, float], ...]]:
        """What to show of each page: nothing that is kept free for marks which are not there."""
        if self._document is None:
            return {}
        stretches = self._stretches if "phrases" in self._style.layers else []
        sections = self._sections
        spans = [one.span for one in stretches]
        given = (tuple(map(id, pages)), self._document.score.measures, spans, sections, self._style)
        if self._cuts[0] != given:
            self._cuts = (given, self._find_cuts(pages, spans, sections))
        return self._cuts[1]

    def _find_cuts(
        self, pages: Sequence[Page], stretches: Sequence[Span], sections: Sequence[Offset]
    ) -> dict[int, tuple[tuple[float, float], ...]]:
        assert self._document
        below = room_below(self._style)
        found = {}
        for page in pages:
            rooms = []
            for system in timed_systems(page, self._document.score):
                span, above = system.span, 0.0
                if any(start in span for start in sections):
                    above += room_for_sections(self._style)
                if any(span.overlaps(stretch) for stretch in stretches):
                    above += room_for_brackets(self._style)
                rooms.append((above, below))
            found[page.index] = cuts_of(page, rooms, BREATH) if rooms else ()
        return found

    def overlay(self, page: Page) -> Overlay:
        """What lies over a page; nothing while there is no document."""
        if self._document is None:
            return Overlay(page.index)
        laid = self._laid_out(page)
        if laid.whole is None:
            laid.whole = join(page.index, laid.parts)
        return laid.whole

    def prepare(self, page: Page) -> bool:
        """Lay a page out before it is seen; False where that was done."""
        if self._document is None or (page.index in self._laid and self._laid[page.index].parts):
            return False
        self.parts(page)
        return True

    def parts(self, page: Page) -> tuple[PagePart, ...]:
        """The marks of a page in painting order; the same objects where nothing has changed."""
        if self._document is None:
            return ()
        laid = self._laid_out(page)
        # A part that is made ready is held there, so that an id means one of them alone.
        laid.ready = self._ready(laid, laid.parts)
        return tuple(laid.ready.values())

    def _ready(self, laid: _Laid, parts: Sequence[Overlay]) -> dict[int, PagePart]:
        """Parts made ready for painting; the same objects where they are so already."""
        known = laid.ahead | laid.ready
        return {id(one): known.get(id(one)) or PagePart(one, self._palette) for one in parts}

    def expect_decision(self, page: Page, mark: str) -> None:
        """Lay a page out ahead as accepting or rejecting a mark would change it."""
        document, laid = self._document, self._laid.get(page.index)
        if document is None or laid is None or mark not in laid.marks & self._shown.keys():
            return
        if self._degrees is not None or "phrases" in LAYERS_OF[self._shown[mark].mark.kind]:
            return  # what they change does not stay on the page
        laid.ahead = {}
        for state in _DECISIONS:
            after = Decide((mark,), state).apply(document).shown_marks()
            here = [one for one in after if one.id in laid.marks]
            laid.ahead |= self._ready(laid, laid.layout.parts(here, self._stretches))

    def paint_ground(self, painter: QPainter, page: Page, span: Span | None) -> None:
        """The ground of the selected place, below the notes."""
        if self._document is None or span is None:
            return
        long = len(visible_measures(self._document, span.start, span.end)) > LONG
        for x, y, width, height in span_boxes(self._document.score, page, span):
            # A long stretch is shown along its upper edge, since a wash over all shows nothing.
            painter.fillRect(QRectF(x, y, width, EDGE if long else height), self._wash)

    def paint_over(self, painter: QPainter, page: Page, selection: Selection, hovered: str) -> None:
        """Paint what is selected and what is under the pointer, over the marks of a page."""
        if selection.mark:
            frames = selected_frames(self.overlay(page), selection.mark)
            paint_overlay(painter, frames, self._palette)
        accent = QColor(self._palette.accent)
        for element in selection.elements:
            paint_shapes(painter, self.shapes_of(page, element), accent)
        if hovered in page.boxes:
            x, y, width, height = page.boxes[hovered]
            painter.setPen(QPen(accent, 3.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            box = QRectF(x, y, width, height).adjusted(-6, -6, 6, 6)
            painter.drawRoundedRect(box, 6.0, 6.0)

    def boxes_of(self, page: Page, selection: Selection, hovered: str = "") -> list[Box]:
        """What is painted of a page for a selection and under the pointer."""
        if self._document is None:
            return []
        boxes = []
        if selection.span is not None:
            boxes += list(span_boxes(self._document.score, page, selection.span))
        if selection.mark:
            boxes += self.overlay(page).boxes_of(selection.mark)
        shapes = (
            shape for element in selection.elements for shape in self.shapes_of(page, element)
        )
        boxes += [to_box(shape_edges(shape)) for shape in shapes]
        if hovered in page.boxes:
            boxes.append(page.boxes[hovered])
        return boxes

    def mark_at(self, page: Page, x: float, y: float) -> str:
        """Id of the mark at a point of a page; empty where none is."""
        return self.overlay(page).mark_at(x, y, SLACK) or ""

    def shapes_of(self, page: Page, element: str) -> list[Shape]:
        """The shapes that draw an element."""
        if page.index not in self._shapes:
            found: dict[str, list[Shape]] = {}
            for shape in page.shapes:
                found.setdefault(shape.element, []).append(shape)
            self._shapes[page.index] = found
        return self._shapes[page.index].get(element, [])

    def _find_stretches(self) -> None:
        self._stretches = find_stretches(self._shown.values())
        facts = ((one.mark.span.start, one.mark.fact) for one in self._shown.values())
        # Those that the score writes are printed already.
        self._sections = [
            start for start, fact in facts if isinstance(fact, Section) and not fact.written
        ]

    def _forget(self) -> None:
        self._laid.clear()

    def _laid_out(self, page: Page) -> _Laid:
        """A page with its parts, laid out where they are not."""
        assert self._document
        if page.index not in self._laid:
            layout = PageLayout(page, self._document.score, self._style)
            marks = {at for at, one in self._shown.items() if layout.shows(one)}
            self._laid[page.index] = _Laid(layout, marks)
        laid = self._laid[page.index]
        if not laid.parts:
            here = [one for at, one in self._shown.items() if at in laid.marks]
            laid.parts = laid.layout.parts(here, self._stretches)
            if self._degrees is not None:
                taken = [label.box for part in laid.parts for label in part.labels]
                facts = self._document.analysis.melody
                degrees = lay_out_degrees(page, facts, self._degrees, taken)
                laid.parts = (*laid.parts, degrees)
            laid.whole = None
        return laid

    def _touched(
        self, changed: Sequence[ReviewedMark], was: Mapping[str, ReviewedMark]
    ) -> set[int]:
        """Indexes of the pages laid out that show any of some marks, which were so before."""
        touched = set()
        # Where a mark stands does not depend on what is decided about it.
        known = {one.id for one in changed if one.id in was and was[one.id].mark is one.mark}
        new = [one for one in changed if one.id not in known]
        for at, laid in self._laid.items():
            here = known & laid.marks | {one.id for one in new if laid.layout.shows(one)}
            if here:
                laid.marks |= here
                touched.add(at)
        return touched

    def _lay_out_again(self, stale: set[int], pages: Sequence[Page]) -> list[tuple[Page, Box]]:
        """Lay pages out anew and say what has changed of those in view."""
        for at in stale:
            self._laid[at].parts = ()
        changes: list[tuple[Page, Box]] = []
        for page in pages:
            if page.index in stale:
                before = set(self._laid[page.index].ready.values())
                for part in before.symmetric_difference(self.parts(page)):
                    rect = part.box
                    changes.append((page, (rect.x(), rect.y(), rect.width(), rect.height())))
        return [(page, box) for page, box in changes if box[2]]


def _differing(
    some: Mapping[str, ReviewedMark], others: Mapping[str, ReviewedMark]
) -> list[ReviewedMark]:
    """Those of some marks that are otherwise, or not at all, among others."""
    # Most are the very same objects, and this is asked at each decision.
    unlike = [(one, others.get(at)) for at, one in some.items() if others.get(at) is not one]
    return [
        one
        for one, other in unlike
        if other is None
        or not (
            (one.mark is other.mark or one.mark == other.mark)
            and (one.decision is other.decision or one.decision == other.decision)
        )
    ]


def palette_of(look: Look) -> Palette:
    """The colours of marks on the paper of a look."""
    return Palette(look.paper, look.ink, look.quiet, look.accent, look.foreign, look.line)
