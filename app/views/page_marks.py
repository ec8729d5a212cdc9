"""The marks over each page of the score: laid out when first seen, kept until they change."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from analysis.marks import Section
from analysis.timebase import Span
from app.engraving.brackets import find_stretches, room_for_brackets
from app.engraving.labels import LAYERS, Layer, Overlay, Style, join
from app.engraving.lane_labels import room_below, room_for_sections
from app.engraving.melody_degrees import lay_out_degrees
from app.engraving.overlay import lay_out
from app.engraving.overlay import selection as selected_frames
from app.engraving.overlay_painting import paint_overlay
from app.engraving.pages import Page, Shape
from app.engraving.painting import Ink, PagePainter, paint_shapes
from app.engraving.palettes import Palette, Tone
from app.engraving.timed_systems import timed_systems
from app.review.document import Document, ReviewedMark
from app.review.selection import Selection
from app.views.looks import LIGHT, Look
from app.views.page_column import cuts_of, span_boxes
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


class PageMarks:
    """Overlays of the pages of one engraving, by page index."""

    def __init__(self) -> None:
        self._document: Document | None = None
        self._shown: tuple[ReviewedMark, ...] = ()
        self._style = Style()
        self._degrees: Callable[[str], str] | None = None
        self._palette = palette_of(LIGHT)
        self._wash = QColor(LIGHT.wash)
        self._overlays: dict[int, Overlay] = {}
        self._runs: dict[int, list[tuple[Tone, PagePainter]]] = {}
        self._shapes: dict[int, dict[str, list[Shape]]] = {}

    def show_pages(self) -> None:
        """Forget what was laid out for other pages."""
        self._shapes.clear()
        self._forget()

    def show_document(self, document: Document | None) -> None:
        """Show the marks of a document; where the same marks are shown, all is kept."""
        melody = self._document.analysis.melody if self._document else ()
        degrees = self._degrees is not None and document is not None
        other = degrees and document is not None and document.analysis.melody is not melody
        self._document = document
        shown = tuple(document.shown_marks()) if document else ()
        if other or shown != self._shown:
            self._shown = shown
            self._forget()

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

    def cuts(self, pages: Sequence[Page]) -> dict[int, tuple[tuple[float, float], ...]]:
        """What to show of each page: nothing that is kept free for marks which are not there."""
        if self._document is None:
            return {}
        below = room_below(self._style)
        stretches = [one.span for one in find_stretches(self._shown)]
        stretches = stretches if "phrases" in self._style.layers else []
        # Those that the score writes are printed already.
        sections = [
            m.mark.span.start
            for m in self._shown
            if isinstance(m.mark.fact, Section) and not m.mark.fact.written
        ]
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
        if page.index not in self._overlays:
            overlay = lay_out(page, self._shown, self._document.score, self._style)
            if self._degrees is not None:
                taken = [label.box for label in overlay.labels]
                facts = self._document.analysis.melody
                degrees = lay_out_degrees(page, facts, self._degrees, taken)
                overlay = join(page.index, (overlay, degrees))
            self._overlays[page.index] = overlay
        return self._overlays[page.index]

    def paint_ground(self, painter: QPainter, page: Page, span: Span | None) -> None:
        """The ground of the selected place, below the notes."""
        if self._document is None or span is None:
            return
        long = len(visible_measures(self._document, span.start, span.end)) > LONG
        for x, y, width, height in span_boxes(self._document.score, page, span):
            # A long stretch is shown along its upper edge, since a wash over all shows nothing.
            painter.fillRect(QRectF(x, y, width, EDGE if long else height), self._wash)

    def paint(
        self, painter: QPainter, page: Page, selection: Selection, hovered: str, exposed: QRectF
    ) -> None:
        """Paint the marks of a page, what is selected and what is under the pointer."""
        overlay = self.overlay(page)
        if page.index not in self._runs:
            self._runs[page.index] = [
                (tone, PagePainter(Page(page.index, page.width, page.height, shapes, (), {})))
                for tone, shapes in _runs(overlay)
            ]
        for tone, run in self._runs[page.index]:
            run.paint(painter, Ink(self._palette.colour(tone)), exposed)
        if selection.mark:
            paint_overlay(painter, selected_frames(overlay, selection.mark), self._palette)
        accent = QColor(self._palette.accent)
        for element in selection.elements:
            paint_shapes(painter, self.shapes_of(page, element), accent)
        if hovered in page.boxes:
            x, y, width, height = page.boxes[hovered]
            painter.setPen(QPen(accent, 3.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            box = QRectF(x, y, width, height).adjusted(-6, -6, 6, 6)
            painter.drawRoundedRect(box, 6.0, 6.0)

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

    def _forget(self) -> None:
        self._overlays.clear()
        self._runs.clear()


def _runs(overlay: Overlay) -> list[tuple[Tone, tuple[Shape, ...]]]:
    """Shapes of one tone after another, in painting order."""
    return [
        (tone, tuple(stroke.shape for stroke in run))
        for tone, run in groupby(overlay.strokes, key=lambda stroke: stroke.tone)
    ]


def palette_of(look: Look) -> Palette:
    """The colours of marks on the paper of a look."""
    return Palette(look.paper, look.ink, look.quiet, look.accent, look.foreign, look.line)
