"""What lies over a page: labels, the places one can point at, and toned shapes to paint.

An overlay is a value in page units like the page itself, free of Qt, so that layout can be tested
by arithmetic and the same overlay can be painted on a screen, a still or a print.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from analysis.marks import MarkKind
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import Box, Shape
from app.engraving.palettes import Tone

Layer = Literal[
    "numerals", "functions", "keys", "cadences", "sections", "phrases", "melody", "lines", "remarks"
]
LAYERS: Final[tuple[Layer, ...]] = (
    "numerals", "functions", "keys", "cadences", "sections", "phrases", "melody", "lines", "remarks"
)  # fmt: skip
#: The layers that show a kind of mark.
LAYERS_OF: Final[dict[MarkKind, tuple[Layer, ...]]] = {
    "key": ("keys",),
    "section": ("sections",),
    "chord": ("numerals", "functions"),
    "cadence": ("cadences",),
    "melody": ("melody",),
    "mixed third": ("melody",),
    "passage": ("phrases",),
    "echo": ("phrases",),
    "repeat": ("phrases",),
    "loop": ("phrases",),
    "line": ("lines",),
    "pedal": ("lines",),
    "rhythm": ("remarks",),
    "shape": ("remarks",),
    "query": ("remarks",),
}


@dataclass(frozen=True, slots=True)
class Style:
    """How marks are shown.

    ``scale`` enlarges all text and the lanes that hold it. ``states`` shows by strokes what the
    user decided; pictures for viewers leave that out. ``carried`` names chords that sound on from
    before the page at its beginning, softly, for excerpts. ``smallest`` is how far the text of a
    crowded row may shrink before its labels are led to their places by lines instead. ``arrows``
    lead from dominants to their chords.
    """

    layers: frozenset[Layer] = frozenset(LAYERS)
    scale: float = 1.0
    states: bool = True
    carried: bool = False
    smallest: float = 0.7
    arrows: bool = False

    def size(self, spaces: float) -> float:
        """A length given in staff spaces, enlarged like the text, in page units."""
        return spaces * STAFF_SPACE * self.scale


#: Everything, in its usual size.
PLAIN: Final = Style()


class Toned(NamedTuple):
    """A shape and what it is painted with."""

    tone: Tone
    shape: Shape


class Label(NamedTuple):
    """A text on the page.

    ``box`` is advance width by height of the ink, with room for an underline where states are
    shown.
    """

    mark: str
    layer: Layer
    text: str
    box: Box


class Area(NamedTuple):
    """A place that belongs to a mark besides its label: inside a ring, along a bracket."""

    mark: str
    layer: Layer
    box: Box


class Room(NamedTuple):
    """Height that labels need above and below each system, in page units."""

    above: float
    below: float


@dataclass(frozen=True, slots=True)
class Overlay:
    """Everything that lies over one page."""

    page: int
    labels: tuple[Label, ...] = ()
    areas: tuple[Area, ...] = ()
    strokes: tuple[Toned, ...] = ()

    @property
    def boxes(self) -> tuple[Box, ...]:
        """Boxes of all labels, then of all areas."""
        return (*(label.box for label in self.labels), *(area.box for area in self.areas))

    def mark_at(self, x: float, y: float, slack: float = 0.0) -> str | None:
        """Id of the mark at a place: of a label first, else of the smallest area there.

        ``slack`` widens all boxes, for fingers and small zooms.
        """
        kinds: tuple[Sequence[Label | Area], ...] = (self.labels, self.areas)
        for places in kinds:
            hit = [place for place in places if _holds(place.box, x, y, slack)]
            if hit:
                return min(hit, key=lambda place: place.box[2] * place.box[3]).mark
        return None

    def boxes_of(self, mark: str) -> list[Box]:
        """Boxes of all that shows a mark, labels first."""
        places: list[Label | Area] = [*self.labels, *self.areas]
        return [place.box for place in places if place.mark == mark]


def join(page: int, overlays: Iterable[Overlay]) -> Overlay:
    """One overlay of several, in painting order."""
    parts: Sequence[Overlay] = list(overlays)
    return Overlay(
        page,
        tuple(label for part in parts for label in part.labels),
        tuple(area for part in parts for area in part.areas),
        tuple(stroke for part in parts for stroke in part.strokes),
    )


def _holds(box: Box, x: float, y: float, slack: float) -> bool:
    left, top, width, height = box
    return left - slack <= x <= left + width + slack and top - slack <= y <= top + height + slack
