"""Pages with their chord symbols set again, where the user reads other names of notes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from analysis.vocabulary.note_names import Naming
from app.engraving.metrics import Face
from app.engraving.musictext import set_chord_symbol
from app.engraving.pages import Page, Shape, TextShape

_FACE: Final[Face] = "medium"


def with_symbols(page: Page, symbols: Mapping[str, str], naming: Naming) -> Page:
    """The page with these chord symbols, by element id, in the place of the printed ones."""
    shapes: list[Shape] = []
    done: set[str] = set()
    for shape in page.shapes:
        if shape.role != "harm" or shape.element not in symbols:
            shapes.append(shape)
        elif shape.element not in done and isinstance(shape, TextShape):
            # The first letter is the root's: it stands where the symbol begins, in its full size.
            done.add(shape.element)
            face = next((face for face in _FACES if face == shape.face), _FACE)
            text = set_chord_symbol(symbols[shape.element], shape.size, face, naming)
            shapes += text.shapes(shape.x, shape.y, element=shape.element, role="harm")
    return replace(page, shapes=tuple(shapes))


_FACES: Final[tuple[Face, ...]] = ("regular", "italic", "medium", "semibold", "bold")
