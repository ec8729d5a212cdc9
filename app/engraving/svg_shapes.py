"""Verovio's drawing of a page, compiled into shapes keyed by source element.

Qt's own SVG reader skips the nested drawing and cannot place the nested text, and a picture knows
no notes. The subset of SVG that verovio writes is small: groups with a class and an id, ``use`` of
music signs, paths of absolute moves, lines and cubic curves, rectangles, polygons, polylines,
ellipses and text in nested ``tspan``. Each becomes one shape with absolute coordinates, in page
units.

Conventions: paths that follow one another in one group with one line width become one shape (a
staff's five lines). Chord symbols are set anew from the source, on the place that a stand-in of the
same width has kept. Colours of the source are not taken over: the painter owns the ink, so that a
page can be dark or light.
"""

from __future__ import annotations

from functools import cache
from typing import Final
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from analysis.vocabulary.note_names import Naming
from app.engraving import bounds
from app.engraving.bounds import Edges
from app.engraving.drawings import Drawing, MeasureDrawing, Sources, SystemDrawing
from app.engraving.musictext import SetText, set_chord_symbol
from app.engraving.pages import Shape
from app.engraving.svg_paths import (
    NUMBER,
    ellipse_shape,
    line_points,
    lines_shape,
    path_shape,
    pen_of,
    points_of,
    polygon_shape,
    polyline_shape,
    rectangle_shape,
    sign_shape,
    turned_shape,
)
from app.engraving.svg_texts import Style, text_shapes

#: Em and face of chord symbols, in page units.
SYMBOL_SIZE: Final = 42.0
SYMBOL_FACE: Final = "medium"
_SVG: Final = "{http://www.w3.org/2000/svg}"
_GROUP, _USE, _PATH, _TEXT = (f"{_SVG}{tag}" for tag in ("g", "use", "path", "text"))
_DRAWN: Final = {
    _PATH: path_shape,
    f"{_SVG}rect": rectangle_shape,
    f"{_SVG}polygon": polygon_shape,
    f"{_SVG}polyline": polyline_shape,
    f"{_SVG}ellipse": ellipse_shape,
}
_LANG: Final = "{http://www.w3.org/XML/1998/namespace}lang"
#: Verovio's style sheet, which sets letters by the class of the group.
_STYLES: Final = {
    **dict.fromkeys(("ending", "fing", "reh", "tempo"), Style(bold=True)),
    **dict.fromkeys(("dir", "dynam", "mNum"), Style(italic=True)),
    "label": Style(),
}
_NOTE_LIKE: Final = frozenset({"note", "rest", "mRest", "space", "mSpace", "multiRest"})
_SIGNATURES: Final = frozenset({"clef", "keySig", "meterSig"})
#: Groups that say something about an element, a measure or a system when they end.
_KEPT: Final = _NOTE_LIKE | _SIGNATURES | {"staff", "system"}
_NOWHERE: Final[Edges] = (0.0, 0.0, 0.0, 0.0)


@cache
def set_symbol(text: str, size: float = 1.0, naming: Naming = "english") -> SetText:
    """A chord symbol as it is set on every page, in its usual size or against it."""
    return set_chord_symbol(text, size * SYMBOL_SIZE, SYMBOL_FACE, naming)


def compile_svg(svg: str, sources: Sources, text: float = 1.0) -> Drawing:
    """The drawing of one page.

    Parameters
    ----------
    svg
        What verovio rendered, at scale 100.
    sources
        The ids to key it by.
    text
        Size of chord symbols against the usual; verovio has set all other text in its size.

    Raises
    ------
    ValueError
        If the text is no drawing of the form described above.
    """
    try:
        root = ElementTree.fromstring(svg)
    except ElementTree.ParseError as error:
        raise ValueError(f"the drawing is no XML: {error}") from error
    size = NUMBER.findall(root.get("viewBox", ""))
    drawing = root.find(f"{_SVG}svg")
    if drawing is None or len(size) != 4:
        raise ValueError("the drawing has no inner drawing or no size")
    compiler = _Compiler(sources, text)
    for group in drawing:
        x, y = [float(number) for number in NUMBER.findall(group.get("transform", ""))] or (0, 0)
        compiler.x, compiler.y = x, y
        compiler.group(group, "", "", Style())
    width, height = float(size[2]), float(size[3])
    return Drawing(width, height, compiler.shapes, compiler.named, compiler.systems)


class _Compiler:
    """Walks the groups of one page and gathers shapes with their edges."""

    def __init__(self, sources: Sources, text: float) -> None:
        self.sources = sources
        self.text = text
        self.elements = sources.elements
        self.x = self.y = 0.0
        self.shapes: list[Shape] = []
        self.edges: list[Edges] = []
        self.named: dict[str, Edges] = {}
        self.systems: list[SystemDrawing] = []
        self.measure = MeasureDrawing("")

    def group(self, node: Element, element: str, role: str, style: Style) -> None:
        """One group: what it stands for, then everything in it."""
        attributes = node.attrib
        classes = attributes.get("class", "")
        kind, _, more = classes.partition(" ")
        if (more and "placeholder" in more) or kind in self.sources.left_out:
            return
        name = attributes.get("id", "")
        if name in self.elements:
            element = name
        elif not len(node):
            return
        start = len(self.shapes)
        if kind == "harm":
            self._chord_symbol(node, more)
            return
        if kind == "system":
            self.systems.append(SystemDrawing(_NOWHERE, []))
        elif kind == "measure":
            self.measure = MeasureDrawing(name)
            if self.systems:
                self.systems[-1].measures.append(self.measure)
        elif _LANG in attributes:
            element = self.sources.words.get(attributes[_LANG], element)
        self._children(node, element, kind or role, _STYLES.get(kind, style))
        if "transform" in attributes:
            self._turn(attributes["transform"], start)
        if kind in _KEPT or (element and element not in self.elements):
            self._keep(kind, name, element, start)
        if "visibility" in attributes and attributes["visibility"] == "hidden":
            del self.shapes[start:], self.edges[start:]

    def _children(self, node: Element, element: str, role: str, style: Style) -> None:
        """What is in a group; lines of one width that follow one another become one shape."""
        points: list[float] = []
        pen = ("", "")
        for child in node:
            tag = child.tag
            if tag == _PATH:
                ends = line_points(child.attrib, self.x, self.y)
                if ends:
                    its_pen = pen_of(child.attrib)
                    if points and its_pen != pen:
                        self._draw_lines(points, element, role, pen)
                        points = []
                    pen = its_pen
                    points += ends
                    continue
            if points:
                self._draw_lines(points, element, role, pen)
                points = []
            if tag == _GROUP:
                self.group(child, element, role, style)
            else:
                self._draw(child, element, role, style)
        if points:
            self._draw_lines(points, element, role, pen)

    def _draw_lines(
        self, points: list[float], element: str, role: str, pen: tuple[str, str]
    ) -> None:
        shape = lines_shape(points, element, role, *pen)
        self._add(shape, bounds.path_edges(shape))

    def _draw(self, node: Element, element: str, role: str, style: Style) -> None:
        """One child of a group that is no group."""
        tag = node.tag
        place = (node.attrib, element, role, self.x, self.y)
        if tag == _USE:
            sign = sign_shape(*place)
            if sign is not None:
                self._add(sign, bounds.glyph_edges(sign))
        elif tag == _TEXT:
            for run in text_shapes(node, element, role, style, self.x, self.y):
                self._add(run, bounds.shape_edges(run))
        elif tag in _DRAWN:
            shape = _DRAWN[tag](*place)
            self._add(shape, bounds.path_edges(shape))

    def _add(self, shape: Shape, edges: Edges) -> None:
        """One more shape."""
        self.shapes.append(shape)
        self.edges.append(edges)

    def _turn(self, transform: str, start: int) -> None:
        """Turn what was drawn since a place, as arpeggios and glissandos are."""
        numbers = [float(number) for number in NUMBER.findall(transform)]
        if not transform.startswith("rotate") or len(numbers) != 3:
            return
        angle, x, y = numbers
        centre = points_of(f"{x} {y}", self.x, self.y)
        turned = [turned_shape(shape, angle, centre) for shape in self.shapes[start:]]
        self.shapes[start:] = turned
        self.edges[start:] = [bounds.shape_edges(shape) for shape in turned]

    def _keep(self, kind: str, name: str, element: str, start: int) -> None:
        """Keep what the group that ends says about elements, measures and systems."""
        if kind in _NOTE_LIKE:
            if name in self.elements:
                self._name_note(kind, name, start)
        elif kind == "staff":
            self.measure.staves.append(bounds.union(self._edges_of("staff", start)))
        elif kind in _SIGNATURES:
            self.measure.signatures += [edges[2] for edges in self.edges[start:]]
        elif kind == "system":
            self.systems[-1].edges = bounds.union(self.edges[start:])
        elif element not in self.elements and start < len(self.edges):
            self.named[element] = bounds.union(self.edges[start:])

    def _name_note(self, kind: str, name: str, start: int) -> None:
        """The box of a note is its heads', that of a rest its sign's."""
        edges = self._edges_of("notehead", start)
        if not edges:
            self.measure.blanks.append(name)
            return
        self.named[name] = bounds.union(edges)
        if kind != "mRest":
            self.measure.columns.append((name, self.named[name][0]))

    def _edges_of(self, role: str, start: int) -> list[Edges]:
        """Edges of the shapes of a role since a place; of all where none has it."""
        edges = self.edges[start:]
        shapes = self.shapes[start:]
        return [e for s, e in zip(shapes, edges, strict=True) if s.role == role] or edges

    def _chord_symbol(self, node: Element, mark: str) -> None:
        """The source's chord symbol, where verovio has placed its stand-in."""
        text = node.find(f"{_SVG}text")
        element = self.sources.harmonies.get(mark)
        if text is None or element is None:
            return
        x, y = points_of(f"{text.get('x', '0')} {text.get('y', '0')}", self.x, self.y)
        symbol = set_symbol(self.sources.symbols[element], self.text, self.sources.naming)
        self.named[element] = (x, y + symbol.top, x + symbol.width, y + symbol.bottom)
        for shape in symbol.shapes(x, y, element=element, role="harm"):
            self._add(shape, bounds.shape_edges(shape))
