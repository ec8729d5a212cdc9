"""Engraving: a source becomes pages of shapes, one after the other. Verovio is called here alone.

`engrave` loads the source into verovio, which lays out all pages at once, and then yields page
after page, so that the first can be shown while the others are drawn. The same source and layout
give the same pages. Verovio is native code and may crash or hang on broken input: run this in a
process that may die.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files
from statistics import median_low
from typing import Any, Final

import verovio
from lxml import etree

from analysis.errors import EngravingError
from analysis.reading.sources import Source
from app.engraving import bounds
from app.engraving.bounds import to_box
from app.engraving.copies import Copy, copy_for
from app.engraving.drawings import Drawing, MeasureDrawing
from app.engraving.excerpts import Side
from app.engraving.half_ties import half_ties
from app.engraving.layouts import MOST_SPREAD, STAFF_SPACE, Layout
from app.engraving.pages import Box, MeasureBox, Page, PathShape, Shape, StaffBox, System
from app.engraving.svg_shapes import compile_svg

#: Half a staff space, the unit in which verovio counts distances.
_HALF_SPACE: Final = STAFF_SPACE / 2
#: How much of what fills a page goes between two staves, against what goes between systems.
_STAFF_SPREAD: Final = 0.2
#: Verovio's usual size of lyrics, in half staff spaces.
_LYRIC_SIZE: Final = 4.5
#: The music font, the same as that of `app.engraving.metrics`.
_MUSIC_FONT: Final = "Bravura"
#: Verovio's own fonts.
_RESOURCES: Final = str(files("verovio") / "data")


def engrave(source: Source, layout: Layout) -> Iterator[Page]:
    """The pages of a source, each as soon as it is ready.

    Parameters
    ----------
    source
        The score; its ``musicxml`` copy is engraved.
    layout
        What to show and how large the page is.

    Raises
    ------
    EngravingError
        If verovio cannot load or draw it, or the layout asks for what the score has not.
    """
    verovio.enableLog(verovio.LOG_OFF)
    try:
        copy = copy_for(source.musicxml, layout)
    except (ValueError, etree.XMLSyntaxError) as error:
        raise EngravingError(
            f"“{source.name}” cannot be engraved like this: {error}.", str(error)
        ) from error
    # Verovio keeps this for each thread, and its import has told the importing one alone.
    verovio.setDefaultResourcePath(_RESOURCES)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_options(layout))
    if not toolkit.loadData(copy.musicxml):
        raise EngravingError(
            f"“{source.name}” cannot be engraved; its notation may be damaged. "
            "Export it again from your notation editor.",
            f"verovio {toolkit.getVersion()} does not load it",
        )
    count = toolkit.getPageCount()
    if not count:
        raise EngravingError(f"“{source.name}” has nothing to engrave.")
    for index in range(count):
        try:
            drawing = compile_svg(toolkit.renderToSVG(index + 1), copy.sources, layout.text)
        except ValueError as error:
            raise EngravingError(
                f"Page {index + 1} of “{source.name}” cannot be engraved.", str(error)
            ) from error
        _grow(drawing, layout)
        yield _page(index, drawing, copy)


def _options(layout: Layout) -> dict[str, Any]:
    """Verovio's options for a layout. It counts spaces in half staff spaces, at most 48 of them."""
    between = round((layout.room_above + layout.room_below) / _HALF_SPACE) + 4
    return {
        "xmlIdChecksum": True,
        "font": _MUSIC_FONT,
        "smuflTextFont": "none",
        "svgFormatRaw": True,
        "svgViewBox": True,
        "footer": "none",
        "header": "auto" if layout.title else "none",
        "scale": 100,
        "pageWidth": round(layout.page_width),
        "pageHeight": round(layout.page_height),
        "pageMarginLeft": round(layout.margin),
        "pageMarginRight": round(layout.margin),
        "pageMarginTop": min(500, round(layout.margin + layout.room_above)),
        "pageMarginBottom": min(500, round(layout.margin + layout.room_below)),
        # Parts that rest for a while would be hidden, and their elements with them.
        "condense": "none",
        "breaks": "none" if layout.one_system else "auto",
        "adjustPageWidth": layout.one_system,
        "adjustPageHeight": layout.one_system or layout.fit_height,
        "justifyVertically": layout.fill_height,
        "justificationMaxVertical": MOST_SPREAD,
        "justificationStaff": _STAFF_SPREAD,
        "spacingSystem": min(48, between),
        "spacingStaff": min(48, round(layout.staff_gap / _HALF_SPACE)),
        "spacingLinear": layout.stretch,
        # Words, chord symbols and lyrics all take their size from this.
        "lyricSize": _LYRIC_SIZE * layout.text,
        "lyricWordSpace": 1.8,
        "topMarginHarm": 1.5,
        "bottomMarginHarm": 1.5,
        "defaultBottomMargin": 1.2,
    }


def _grow(drawing: Drawing, layout: Layout) -> None:
    """Make a page larger that its content leaves: a very long line, or too many staves."""
    _, _, right, bottom = bounds.union(system.edges for system in drawing.systems)
    if layout.one_system or right > drawing.width:
        drawing.width = max(drawing.width, right + layout.margin)
    if bottom > drawing.height:
        drawing.height = bottom + layout.margin + layout.room_below


def _page(index: int, drawing: Drawing, copy: Copy) -> Page:
    _tie_over(drawing, copy)
    boxes = {element: to_box(edges) for element, edges in drawing.edges.items()}
    systems = tuple(
        System(
            to_box(system.edges),
            tuple(_measure_box(measure, drawing, copy, boxes) for measure in system.measures),
        )
        for system in drawing.systems
    )
    shapes = tuple(shape for shape in drawing.shapes if not _is_speck(shape))
    return Page(index, drawing.width, drawing.height, shapes, systems, boxes)


def _is_speck(shape: Shape) -> bool:
    """Whether a shape is the line of a held syllable for which there was no room."""
    if shape.role != "syl" or not isinstance(shape, PathShape):
        return False
    left, _, right, _ = bounds.path_edges(shape)
    return right - left < STAFF_SPACE / 4


def _tie_over(drawing: Drawing, copy: Copy) -> None:
    """Add the halves of ties that an excerpt cuts, where their notes are on this page."""
    measures = [measure for system in drawing.systems for measure in system.measures]
    sides: tuple[tuple[Side, slice], ...] = (("before", slice(0, 1)), ("after", slice(-1, None)))
    for side, place in sides:
        cut = [element for element, its_side in copy.cut_ties if its_side == side]
        heads = {element: drawing.edges[element] for element in cut if element in drawing.edges}
        for measure in measures[place]:
            drawing.shapes += half_ties(heads, measure, side)


def _measure_box(
    measure: MeasureDrawing, drawing: Drawing, copy: Copy, boxes: dict[str, Box]
) -> MeasureBox:
    """The measure's box; adds its parts' and its invisible elements' boxes to ``boxes``."""
    at = copy.measures[measure.element]
    edges = bounds.union(measure.staves)
    staves = tuple(StaffBox(n, to_box(e)) for n, e in enumerate(measure.staves, 1))
    own: dict[str, list[bounds.Edges]] = {}
    for ids, staff in zip(copy.staff_measures, measure.staves, strict=False):
        if at < len(ids):
            own.setdefault(ids[at], []).append(staff)
    boxes.update({element: to_box(bounds.union(parts)) for element, parts in own.items()})
    onsets = _onsets(measure, edges, copy, copy.lengths.get(at, 0.0))
    box = MeasureBox(at, copy.firsts[at], to_box(edges), staves, onsets)
    for element in measure.blanks:
        boxes[element] = (box.x_at(copy.offsets.get(element, 0.0)), box.box[1], 0.0, box.box[3])
    return box


def _onsets(
    measure: MeasureDrawing, edges: bounds.Edges, copy: Copy, length: float
) -> tuple[tuple[float, float], ...]:
    """Where each time of the measure stands, from the notes that begin there."""
    columns: dict[float, list[float]] = {}
    for element, left in measure.columns:
        if element in copy.offsets:
            columns.setdefault(copy.offsets[element], []).append(left)
    if 0.0 not in columns:
        middle = (edges[0] + edges[2]) / 2
        signs = [right for right in measure.signatures if right < middle]
        columns[0.0] = [max(signs, default=edges[0]) + STAFF_SPACE]
    found: list[tuple[float, float]] = []
    for offset in sorted(columns):
        x = median_low(columns[offset])
        if offset < length and (not found or x > found[-1][1]):
            found.append((offset, x))
    if length > 0:
        found.append((length, edges[2]))
    return tuple(found)
