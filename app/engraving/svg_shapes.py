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

from collections.abc import Mapping
from typing import Final
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from app.engraving import bounds
from app.engraving.bounds import Edges
from app.engraving.drawings import Drawing, MeasureDrawing, Sources, SystemDrawing
from app.engraving.musictext import set_chord_symbol
from app.engraving.pages import Shape
from app.engraving.svg_paths import (
    NUMBER,
    ellipse_shape,
    line_points,
    lines_shape,
    path_shape,
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
_NOWHERE: Final[Edges] = (0.0, 0.0, 0.0, 0.0)


def compile_svg(svg: str, sources: Sources) -> Drawing:
    """The drawing of one page.

    Parameters
    ----------
    svg
        What verovio rendered, at scale 100.
    sources
        The ids to key it by.

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
    compiler = _Compiler(sources)
    for group in drawing:
        x, y = [float(number) for number in NUMBER.findall(group.get("transform", ""))] or (0, 0)
        compiler.x, compiler.y = x, y
        compiler.group(group, "", "", Style())
    width, height = float(size[2]), float(size[3])
    return Drawing(width, height, compiler.shapes, compiler.named, compiler.systems)


class _Compiler:
    """Walks the groups of one page and gathers shapes with their edges."""

    def __init__(self, sources: Sources) -> None:
        self.sources = sources
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
        if name in self.sources.elements:
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
        style = _STYLES.get(kind, style)
        role = kind or role
        lines: _Lines | None = None
        for child in node:
            if child.tag == _PATH:
                lines = lines or _Lines(self, element, role)
                if lines.take(child.attrib):
                    continue
            if lines:
                lines.finish()
            if child.tag == _GROUP:
                self.group(child, element, role, style)
            else:
                self._draw(child, element, role, style)
        if lines:
            lines.finish()
        if "transform" in attributes:
            self._turn(attributes["transform"], start)
        self._close(kind, name, element, start)
        if attributes.get("visibility") == "hidden":
            del self.shapes[start:], self.edges[start:]

    def _draw(self, node: Element, element: str, role: str, style: Style) -> None:
        """One child of a group that is no group."""
        tag = node.tag
        place = (node.attrib, element, role, self.x, self.y)
        if tag == _USE:
            sign = sign_shape(*place)
            if sign is not None:
                self.add(sign, bounds.glyph_edges(sign))
        elif tag == _TEXT:
            for run in text_shapes(node, element, role, style, self.x, self.y):
                self.add(run, bounds.shape_edges(run))
        elif tag in _DRAWN:
            shape = _DRAWN[tag](*place)
            self.add(shape, bounds.path_edges(shape))

    def add(self, shape: Shape, edges: Edges) -> None:
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

    def _close(self, kind: str, name: str, element: str, start: int) -> None:
        """Keep what the group that ends says about elements, measures and systems."""
        if kind in _NOTE_LIKE:
            if name in self.sources.elements:
                self._name_note(kind, name, start)
        elif kind == "staff":
            self.measure.staves.append(bounds.union(self._edges_of("staff", start)))
        elif kind in _SIGNATURES:
            self.measure.signatures += [edges[2] for edges in self.edges[start:]]
        elif kind == "system":
            self.systems[-1].edges = bounds.union(self.edges[start:])
        elif element not in self.sources.elements and element and start < len(self.edges):
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
        symbol = set_chord_symbol(self.sources.symbols[element], SYMBOL_SIZE, SYMBOL_FACE)
        self.named[element] = (x, y + symbol.top, x + symbol.width, y + symbol.bottom)
        for shape in symbol.shapes(x, y, element=element, role="harm"):
            self.add(shape, bounds.shape_edges(shape))


class _Lines:
    """Straight lines of one width that follow one another in a group, to become one shape."""

    def __init__(self, compiler: _Compiler, element: str, role: str) -> None:
        self.compiler = compiler
        self.element = element
        self.role = role
        self.pen = ("", "")
        self.points: list[float] = []

    def take(self, attributes: Mapping[str, str]) -> bool:
        """Take a path if it is a line; whether it was."""
        points = line_points(attributes, self.compiler.x, self.compiler.y)
        if points is None:
            return False
        pen = (attributes.get("stroke-width", "0"), attributes.get("stroke-linecap", "butt"))
        if pen != self.pen:
            self.finish()
            self.pen = pen
        self.points += points
        return True

    def finish(self) -> None:
        """Hand the lines on."""
        if self.points:
            shape = lines_shape(self.points, self.element, self.role, *self.pen)
            self.compiler.add(shape, bounds.path_edges(shape))
            self.points = []
