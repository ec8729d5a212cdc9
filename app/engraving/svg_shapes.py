"""Verovio's drawing of a page, compiled into shapes keyed by source element.

Qt's own SVG reader skips the nested drawing and cannot place the nested text, and a picture knows
no notes. The subset of SVG that verovio writes is small: groups with a class and an id, ``use`` of
music signs, paths of absolute moves, lines and cubic curves, rectangles, polygons, polylines,
ellipses and text in nested ``tspan``. Each becomes one shape with absolute coordinates, in page
units.

Conventions: the drawing's coordinates are tenths of page units. Paths that follow one another in
one group with one line width become one shape (a staff's five lines). Text takes the text font at
`TEXT_SCALE` of its size: verovio reckons with the narrower letters of Times, and Fira Sans at 85 %
has the same height of small letters and on average 94 % of the width; what is wider still is
squeezed into the room that was kept for it. Chord symbols are set anew from the source, on the
place that a stand-in of the same width has kept. Colours of the source are not taken over: the
painter owns the ink, so that a page can be dark or light.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final, NamedTuple
from xml.etree import ElementTree

from app.engraving import bounds, reserved_widths
from app.engraving.bounds import Edges
from app.engraving.metrics import UNITS_PER_EM, Face, sign
from app.engraving.musictext import set_chord_symbol
from app.engraving.pages import GlyphShape, PathShape, Shape, TextShape

TEXT_SCALE: Final = 0.85
#: Em and face of chord symbols, in page units.
SYMBOL_SIZE: Final = 42.0
SYMBOL_FACE: Final = "medium"
_UNIT: Final = 0.1
_SVG: Final = "{http://www.w3.org/2000/svg}"
_HREF: Final = "{http://www.w3.org/1999/xlink}href"
_LANG: Final = "{http://www.w3.org/XML/1998/namespace}lang"
_NUMBER: Final = re.compile(r"-?\d+(?:\.\d+)?")
_USE: Final = re.compile(r"translate\((-?[\d.]+), (-?[\d.]+)\) scale\((-?[\d.]+)")
_BOLD: Final = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC: Final = frozenset({"dir", "dynam", "mNum"})
_NOTE_LIKE: Final = frozenset({"note", "rest", "mRest", "space", "mSpace", "multiRest"})
#: How far a control point of a circle's quarter lies from its end, in radii.
_ARC: Final = 0.5522847498


@dataclass(frozen=True, slots=True)
class Sources:
    """What the compiler must know of the source to name what it finds.

    ``elements`` are the ids of notes, rests and measures; ``harmonies`` and ``words`` map the marks
    that were put on chord symbols and directions to their ids, ``symbols`` a chord symbol's id to
    its text, empty where nothing is to be printed.
    """

    elements: frozenset[str]
    harmonies: Mapping[str, str]
    words: Mapping[str, str]
    symbols: Mapping[str, str]


@dataclass(slots=True)
class MeasureDrawing:
    """What a page shows of one measure, before times are put to it."""

    element: str
    staves: list[Edges] = field(default_factory=list)
    #: Notes and rests that mark a time: element and left edge.
    columns: list[tuple[str, float]] = field(default_factory=list)
    #: Right edges of clefs, key and time signatures.
    signatures: list[float] = field(default_factory=list)
    #: Elements drawn without ink, such as hidden rests.
    blanks: list[str] = field(default_factory=list)


@dataclass(slots=True)
class SystemDrawing:
    """One system: the edges of its ink and its measures."""

    edges: Edges
    measures: list[MeasureDrawing]


@dataclass(slots=True)
class Drawing:
    """A compiled page: its size, shapes in order, the edges of each element, its systems."""

    width: float
    height: float
    shapes: list[Shape]
    edges: dict[str, Edges]
    systems: list[SystemDrawing]


class _Style(NamedTuple):
    bold: bool = False
    italic: bool = False

    @property
    def face(self) -> Face:
        return "bold" if self.bold else "italic" if self.italic else "regular"


class _Run(NamedTuple):
    text: str
    size: float
    style: _Style
    music: bool


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
        width, height = (float(number) for number in root.get("viewBox", "").split()[2:])
        drawing = root.find(f"{_SVG}svg")
        if drawing is None:
            raise ValueError("the drawing has no inner svg")
    except ElementTree.ParseError as error:
        raise ValueError(f"the drawing is no XML: {error}") from error
    compiler = _Compiler(sources)
    for group in drawing:
        at = _NUMBER.findall(group.get("transform", ""))
        compiler.x, compiler.y = (float(at[0]), float(at[1])) if len(at) == 2 else (0.0, 0.0)
        compiler.group(group, "", "", _Style())
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
        self.measure: MeasureDrawing | None = None
        self._tags = {
            f"{_SVG}g": self.group,
            f"{_SVG}use": self.use,
            f"{_SVG}path": self.path,
            f"{_SVG}text": self.text,
            f"{_SVG}rect": self.rect,
            f"{_SVG}polygon": self.polygon,
            f"{_SVG}polyline": self.polygon,
            f"{_SVG}ellipse": self.ellipse,
        }

    def group(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """One group: what it stands for, then everything in it."""
        attributes = node.attrib
        words = attributes.get("class", "").split()
        kind = words[0] if words else ""
        if "placeholder" in words:
            return
        start = len(self.shapes)
        name = attributes.get("id", "")
        if name in self.sources.elements:
            element = name
        if kind in _BOLD:
            style = _Style(bold=True)
        elif kind in _ITALIC:
            style = _Style(italic=True)
        elif kind == "label":
            style = _Style()
        if kind == "system":
            self.systems.append(SystemDrawing((0.0, 0.0, 0.0, 0.0), []))
        elif kind == "measure":
            self.measure = MeasureDrawing(name)
            if self.systems:
                self.systems[-1].measures.append(self.measure)
        elif kind == "harm":
            self.chord_symbol(node, words[1] if len(words) > 1 else "")
            return
        elif (mark := attributes.get(_LANG, "")) in self.sources.words:
            element = self.sources.words[mark]
        for child in node:
            draw = self._tags.get(child.tag)
            if draw is not None:
                draw(child, element, kind or role, style)
        self._close(kind, name, element, start, attributes.get("visibility") == "hidden")

    def _close(self, kind: str, name: str, element: str, start: int, hidden: bool) -> None:
        """Keep what the group that ends says about elements, measures and systems."""
        measure = self.measure
        if kind in _NOTE_LIKE and name in self.sources.elements:
            self._name_note(kind, name, start)
        elif kind == "staff" and measure is not None:
            lines = [
                e
                for s, e in zip(self.shapes[start:], self.edges[start:], strict=True)
                if s.role == "staff"
            ]
            measure.staves.append(bounds.union(lines or self.edges[start:]))
        elif kind in {"clef", "keySig", "meterSig"} and measure is not None:
            measure.signatures += [edges[2] for edges in self.edges[start:]]
        elif kind == "measure":
            self.measure = None
        elif kind == "system":
            self.systems[-1].edges = bounds.union(self.edges[start:])
        elif element and element not in self.sources.elements and start < len(self.edges):
            self.named[element] = bounds.union(self.edges[start:])
        if hidden:
            del self.shapes[start:], self.edges[start:]

    def _name_note(self, kind: str, name: str, start: int) -> None:
        """The box of a note is its heads', that of a rest its sign's."""
        heads = [
            e
            for s, e in zip(self.shapes[start:], self.edges[start:], strict=True)
            if s.role == "notehead"
        ]
        edges = heads or self.edges[start:]
        if not edges:
            if self.measure is not None:
                self.measure.blanks.append(name)
            return
        self.named[name] = bounds.union(edges)
        if self.measure is not None and kind != "mRest":
            self.measure.columns.append((name, self.named[name][0]))

    def add(self, shape: Shape, edges: Edges) -> None:
        """One more shape."""
        self.shapes.append(shape)
        self.edges.append(edges)

    def use(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """A music sign."""
        match = _USE.match(node.get("transform", ""))
        if match is None:
            return
        code = node.get(_HREF, "").lstrip("#").partition("-")[0]
        scale = float(match[3]) * _UNIT
        shape = GlyphShape(
            element,
            role,
            code,
            (float(match[1]) + self.x) * _UNIT,
            (float(match[2]) + self.y) * _UNIT,
            scale,
        )
        self.add(shape, bounds.glyph_edges(shape))

    def _points(self, text: str) -> tuple[float, ...]:
        numbers = [float(number) for number in _NUMBER.findall(text)]
        offsets = (self.x, self.y)
        return tuple((number + offsets[at & 1]) * _UNIT for at, number in enumerate(numbers))

    def path(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """A path; joined to the one before it where it only continues it."""
        attributes = node.attrib
        text = attributes.get("d", "")
        commands = "".join(letter for letter in text if letter in "MLCZz").upper()
        points = self._points(text)
        dash = tuple(
            float(n) * _UNIT for n in _NUMBER.findall(attributes.get("stroke-dasharray", ""))
        )
        filled = "C" in commands and attributes.get("fill") != "none"
        shape = PathShape(
            element,
            role,
            commands,
            points,
            filled,
            float(attributes.get("stroke-width", "0")) * _UNIT,
            dash,
            attributes.get("stroke-linecap", "butt"),
        )
        last = self.shapes[-1] if self.shapes else None
        if (
            isinstance(last, PathShape)
            and not filled
            and (last.element, last.role, last.filled, *last[5:])
            == (element, role, False, *shape[5:])
        ):
            edges = bounds.path_edges(shape)
            self.shapes[-1] = last._replace(
                commands=last.commands + commands, points=last.points + points
            )
            self.edges[-1] = bounds.union([self.edges[-1], edges])
            return
        self.add(shape, bounds.path_edges(shape))

    def rect(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """A rectangle: filled, or a frame."""
        x, y, width, height = (float(node.get(name, "0")) for name in ("x", "y", "width", "height"))
        corners = f"{x},{y} {x + width},{y} {x + width},{y + height} {x},{y + height}"
        self._closed(node, element, role, "MLLLZ", self._points(corners))

    def polygon(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """A polygon, or an open line through points."""
        points = self._points(node.get("points", ""))
        commands = "M" + "L" * (len(points) // 2 - 1)
        if node.tag.endswith("polygon"):
            commands += "Z"
        self._closed(node, element, role, commands, points)

    def ellipse(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """An ellipse as four curves."""
        cx, cy, rx, ry = (float(node.get(name, "0")) for name in ("cx", "cy", "rx", "ry"))
        kx, ky = rx * _ARC, ry * _ARC
        numbers = (
            cx + rx, cy,
            cx + rx, cy + ky, cx + kx, cy + ry, cx, cy + ry,
            cx - kx, cy + ry, cx - rx, cy + ky, cx - rx, cy,
            cx - rx, cy - ky, cx - kx, cy - ry, cx, cy - ry,
            cx + kx, cy - ry, cx + rx, cy - ky, cx + rx, cy,
        )  # fmt: skip
        points = self._points(" ".join(f"{number:.3f}" for number in numbers))
        self._closed(node, element, role, "MCCCCZ", points)

    def _closed(
        self,
        node: ElementTree.Element,
        element: str,
        role: str,
        commands: str,
        points: tuple[float, ...],
    ) -> None:
        attributes = node.attrib
        hollow = attributes.get("fill") == "none" or attributes.get("fill-opacity") == "0"
        shape = PathShape(
            element,
            role,
            commands,
            points,
            not hollow,
            float(attributes.get("stroke-width", "0")) * _UNIT,
            cap=attributes.get("stroke-linecap", "butt"),
        )
        self.add(shape, bounds.path_edges(shape))

    def text(self, node: ElementTree.Element, element: str, role: str, style: _Style) -> None:
        """Text: its runs one after the other, anchored as a whole."""
        runs = list(_runs(node, 0.0, style, False))
        widths = []
        for run in runs:
            if run.music:
                widths.append(
                    sum(sign(f"{ord(c):04X}").advance for c in run.text) * run.size / UNITS_PER_EM
                )
            else:
                room = reserved_widths.width(run.text, run.style.bold, run.style.italic) * run.size
                natural = bounds.text_width(run.text, run.style.face, run.size * TEXT_SCALE)
                widths.append(min(natural, room) if room else natural)
        share = {"middle": 0.5, "end": 1.0}.get(node.get("text-anchor", ""), 0.0)
        x = (float(node.get("x", "0")) + self.x) * _UNIT - share * sum(widths)
        y = (float(node.get("y", "0")) + self.y) * _UNIT
        for run, width in zip(runs, widths, strict=True):
            for shape in _run_shapes(run, element, role, x, y, width):
                self.add(shape, bounds.shape_edges(shape))
            x += width

    def chord_symbol(self, node: ElementTree.Element, mark: str) -> None:
        """The source's chord symbol, where verovio has placed its stand-in."""
        text = next(node.iter(f"{_SVG}text"), None)
        element = self.sources.harmonies.get(mark)
        if text is None or element is None:
            return
        x, y = self._points(f"{text.get('x', '0')} {text.get('y', '0')}")
        symbol = set_chord_symbol(self.sources.symbols[element], SYMBOL_SIZE, SYMBOL_FACE)
        self.named[element] = (x, y + symbol.top, x + symbol.width, y + symbol.bottom)
        for shape in symbol.shapes(x, y, element=element, role="harm"):
            self.add(shape, bounds.shape_edges(shape))


def _runs(node: ElementTree.Element, size: float, style: _Style, music: bool) -> Iterator[_Run]:
    """The pieces of a text with what holds for each."""
    attributes = node.attrib
    if "font-size" in attributes:
        size = float(attributes["font-size"].removesuffix("px")) * _UNIT
    if "font-weight" in attributes:
        style = style._replace(bold=attributes["font-weight"] == "bold")
    if "font-style" in attributes:
        style = style._replace(italic=attributes["font-style"] == "italic")
    music = music or "font-family" in attributes
    if node.text and size:
        yield _Run(node.text, size, style, music)
    for child in node:
        yield from _runs(child, size, style, music)


def _run_shapes(
    run: _Run, element: str, role: str, x: float, y: float, width: float
) -> Iterator[Shape]:
    """One run at its place; music signs one by one."""
    if not run.music:
        natural = bounds.text_width(run.text, run.style.face, run.size * TEXT_SCALE)
        if run.text.strip():
            yield TextShape(
                element,
                role,
                run.text,
                x,
                y,
                run.size * TEXT_SCALE,
                run.style.face,
                width / natural if natural else 1.0,
            )
        return
    scale = run.size / UNITS_PER_EM
    for character in run.text:
        code = f"{ord(character):04X}"
        yield GlyphShape(element, role, code, x, y, scale)
        x += sign(code).advance * scale
