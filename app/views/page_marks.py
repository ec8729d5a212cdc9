"""The marks over each page of the score: laid out when first seen, kept until they change."""

from __future__ import annotations

from itertools import groupby

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.engraving.labels import LAYERS, Layer, Overlay, Style
from app.engraving.overlay import lay_out, selection
from app.engraving.overlay_painting import paint_overlay
from app.engraving.pages import Page, Shape
from app.engraving.painting import Ink, PagePainter
from app.engraving.palettes import Palette, Tone
from app.review.document import Document, ReviewedMark
from app.views.looks import LIGHT, Look

Layers = frozenset[Layer]
ALL_LAYERS: Layers = frozenset(LAYERS)
#: How far beside a label a click still means it, in page units.
SLACK = 6.0


class PageMarks:
    """Overlays of the pages of one engraving, by page index."""

    def __init__(self) -> None:
        self._document: Document | None = None
        self._shown: tuple[ReviewedMark, ...] = ()
        self._style = Style()
        self._palette = _palette(LIGHT)
        self._overlays: dict[int, Overlay] = {}
        self._runs: dict[int, list[tuple[Tone, PagePainter]]] = {}
        self._shapes: dict[int, dict[str, list[Shape]]] = {}

    def show_pages(self) -> None:
        """Forget what was laid out for other pages."""
        self._shapes.clear()
        self._forget()

    def show_document(self, document: Document | None) -> None:
        """Show the marks of a document; where the same marks are shown, all is kept."""
        self._document = document
        shown = tuple(document.shown_marks()) if document else ()
        if shown != self._shown:
            self._shown = shown
            self._forget()

    def set_layers(self, layers: Layers) -> None:
        """Show these layers only."""
        self._style = Style(layers=layers)
        self._forget()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._palette = _palette(look)

    def overlay(self, page: Page) -> Overlay:
        """What lies over a page; nothing while there is no document."""
        if self._document is None:
            return Overlay(page.index)
        if page.index not in self._overlays:
            overlay = lay_out(page, self._shown, self._document.score, self._style)
            self._overlays[page.index] = overlay
        return self._overlays[page.index]

    def paint(self, painter: QPainter, page: Page, selected: str, exposed: QRectF) -> None:
        """Paint the marks of a page, and a frame around the selected one; in page units."""
        overlay = self.overlay(page)
        if page.index not in self._runs:
            self._runs[page.index] = [
                (tone, PagePainter(Page(page.index, page.width, page.height, shapes, (), {})))
                for tone, shapes in _runs(overlay)
            ]
        for tone, run in self._runs[page.index]:
            run.paint(painter, Ink(self._palette.colour(tone)), exposed)
        if selected:
            paint_overlay(painter, selection(overlay, selected), self._palette)

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


def _palette(look: Look) -> Palette:
    return Palette(look.paper, look.ink, look.quiet, look.accent, look.foreign, look.line)
