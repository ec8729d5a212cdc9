"""The annotated score laid out for paper: pages of music with all marks, a legend, a foot.

A sheet is A4 upright in tenths of a millimetre. Music is as large as it can be with its pages well
filled; what room is left goes between the systems, but for the last page, which ends where it ends.
Systems that are higher than a sheet are made smaller with their page. Each foot has the title, the
number of the sheet and of how many, and what to keep in mind about rights. The legend stands under
the last system where it has room, else on a sheet of its own. Nothing here needs Qt.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.reading.sources import Source
from app.engraving import bounds
from app.engraving.bounds import shape_edges
from app.engraving.corrected_symbols import corrected_symbols
from app.engraving.engraver import engrave
from app.engraving.labels import PLAIN, Toned
from app.engraving.layouts import Layout
from app.engraving.musictext import break_lines, set_text
from app.engraving.overlay import lay_out, room
from app.engraving.pages import Page, PathShape, Shape
from app.export.cautions import READINGS, RIGHTS
from app.export.legends import lay_out_legend
from app.review.document import Document, ReviewedMark

#: Size of a sheet and its margin, in tenths of a millimetre.
WIDTH: Final = 2100.0
HEIGHT: Final = 2970.0
MARGIN: Final = 110.0
#: Sizes of the music against the engraver's page units, the best first: a staff is 5.6, 5.2, 4.7,
#: 4.4 or 4.0 mm high.
_SCALES: Final = (0.78, 0.72, 0.66, 0.61, 0.56)
#: How far pages but the last must be filled, before they are spread, for a size to be taken.
_FILLED: Final = 0.75
#: Height of the foot with the space above it.
_FOOT: Final = 120.0
_FOOT_EM: Final = 24.0
#: Role of a page's title, space under it, and least space above it, in page units.
_HEAD: Final = "pgHead"
_UNDER_HEAD: Final = 24.0
_LEAST_ABOVE: Final = 40.0
#: Space above a legend.
_ABOVE_LEGEND: Final = 90.0


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: a page of music (None for a legend alone) and what is painted over it.

    ``scale`` is that of the page and of ``marks``; ``around`` is in the sheet's own units.
    """

    page: Page | None
    scale: float
    marks: tuple[Toned, ...]
    around: tuple[Toned, ...]


def lay_out_sheets(document: Document, source: Source) -> list[Sheet]:
    """All sheets of a document, in order.

    Raises
    ------
    EngravingError
        If the score cannot be engraved.
    """
    shown = list(document.shown_marks())
    _, below = room(PLAIN)
    usual, pages = _engraved(document, source)
    scales = [min(usual, (HEIGHT - _FOOT) / page.height, WIDTH / page.width) for page in pages]
    _, legend_height = _legend(shown, 0.0)
    last = pages[-1]
    under = _lowest(last, below) * scales[-1] + _ABOVE_LEGEND
    fits = under + legend_height < HEIGHT - _FOOT
    count = len(pages) + (0 if fits else 1)
    sheets = []
    for number, (page, scale) in enumerate(zip(pages, scales, strict=True), start=1):
        foot = _foot(document, number, count)
        if fits and page is last:
            foot += _legend(shown, under)[0]
        marks = lay_out(page, shown, document.score, PLAIN).strokes
        sheets.append(Sheet(_with_head_above(page, marks), scale, marks, foot))
    if not fits:
        legend, _ = _legend(shown, MARGIN)
        sheets.append(Sheet(None, 1.0, (), (*_foot(document, count, count), *legend)))
    return sheets


def _engraved(document: Document, source: Source) -> tuple[float, list[Page]]:
    """The largest size that fills the pages, else the one that fills them best, with its pages."""
    found: list[tuple[float, float, list[Page]]] = []
    for scale in _SCALES:
        pages = list(engrave(source, _layout(document, scale)))
        found.append((_filled(pages), scale, pages))
        if found[-1][0] >= _FILLED:
            break
    _, scale, pages = max(found, key=lambda one: one[:2])
    if len(pages) > 1:
        # Breaks are made before pages are spread, so both have the same measures on each page.
        spread = engrave(source, replace(_layout(document, scale), fill_height=True))
        pages = [*list(spread)[:-1], pages[-1]]
    return scale, [_numbered_by_us(page) for page in pages]


def _layout(document: Document, scale: float) -> Layout:
    above, below = room(PLAIN)
    return Layout(
        page_width=WIDTH / scale,
        page_height=(HEIGHT - _FOOT) / scale,
        margin=MARGIN / scale,
        title=True,
        naming=document.naming,
        symbols=corrected_symbols(document),
        room_above=above,
        room_below=below,
    )


def _filled(pages: Sequence[Page]) -> float:
    """Share of its height that the emptiest page fills with music; the last does not count."""
    _, below = room(PLAIN)
    return min((_lowest(page, below) / page.height for page in pages[:-1]), default=1.0)


def _numbered_by_us(page: Page) -> Page:
    """A page without the engraver's own head, but for the title on the first."""
    if not page.index:
        return page
    return replace(page, shapes=tuple(s for s in page.shapes if s.role != _HEAD))


def _with_head_above(page: Page, marks: Sequence[Toned]) -> Page:
    """A page whose title stands above all marks: the engraver does not know of brackets."""
    heads = {at for at, shape in enumerate(page.shapes) if shape.role == _HEAD}
    if not heads or not marks:
        return page
    _, top, _, bottom = bounds.union(shape_edges(page.shapes[at]) for at in heads)
    highest = min(shape_edges(stroke.shape)[1] for stroke in marks)
    up = min(max(0.0, bottom + _UNDER_HEAD - highest), max(0.0, top - _LEAST_ABOVE))
    if not up:
        return page
    shapes = tuple(
        _raised(shape, up) if at in heads else shape for at, shape in enumerate(page.shapes)
    )
    return replace(page, shapes=shapes)


def _raised(shape: Shape, up: float) -> Shape:
    if isinstance(shape, PathShape):
        ys = (y - up if at % 2 else y for at, y in enumerate(shape.points))
        return shape._replace(points=tuple(ys))
    return shape._replace(y=shape.y - up)


def _legend(shown: list[ReviewedMark], top: float) -> tuple[tuple[Toned, ...], float]:
    """The legend with what marks are under it, and their height."""
    width = WIDTH - 2 * MARGIN
    strokes, height = lay_out_legend(shown, MARGIN, top, width)
    baseline = top + height + 1.5 * _FOOT_EM
    for line in break_lines(READINGS, _FOOT_EM * 1.1, width):
        strokes += tuple(Toned("soft", shape) for shape in line.shapes(MARGIN, baseline))
        baseline += 1.35 * _FOOT_EM
    return strokes, baseline - top


def _lowest(page: Page, below: float) -> float:
    """Where a page's last system ends with its labels, in page units."""
    return max(system.box[1] + system.box[3] for system in page.systems) + below


def _foot(document: Document, number: int, count: int) -> tuple[Toned, ...]:
    """Title and number on one line, what to know about rights on the next."""
    upper, lower = HEIGHT - 78.0, HEIGHT - 46.0
    title = set_text(document.score.title or document.source.name, _FOOT_EM * 1.2, "medium")
    place = set_text(f"{number} / {count}", _FOOT_EM * 1.2, "medium")
    rights = set_text(RIGHTS, _FOOT_EM)
    shapes = [
        *title.shapes(MARGIN, upper),
        *place.shapes(WIDTH - MARGIN - place.width, upper),
        *rights.shapes(MARGIN, lower),
    ]
    return tuple(Toned("soft", shape) for shape in shapes)
