"""What the compiler makes of one page before times are put to it, and what it must know first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from analysis.vocabulary.note_names import Naming
from app.engraving.bounds import Edges
from app.engraving.pages import Shape


@dataclass(frozen=True, slots=True)
class Sources:
    """What the compiler must know of the source to name what it finds.

    ``elements`` are the ids of notes, rests and measures; ``harmonies`` and ``words`` map the marks
    that were put on chord symbols and directions to their ids, ``symbols`` a chord symbol's id to
    its text, empty where nothing is to be printed. ``left_out`` are roles that are not drawn,
    ``naming`` has the letters in which chord symbols are set.
    """

    elements: frozenset[str]
    harmonies: Mapping[str, str]
    words: Mapping[str, str]
    symbols: Mapping[str, str]
    left_out: frozenset[str] = frozenset()
    naming: Naming = "english"


@dataclass(slots=True)
class MeasureDrawing:
    """What a page shows of one measure.

    ``columns`` are the notes and rests that mark a time, each with its left edge; ``signatures``
    the right edges of clefs, keys and meters; ``blanks`` elements without ink, as hidden rests.
    """

    element: str
    staves: list[Edges] = field(default_factory=list)
    columns: list[tuple[str, float]] = field(default_factory=list)
    signatures: list[float] = field(default_factory=list)
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
