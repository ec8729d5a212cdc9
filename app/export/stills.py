"""Stills: pictures of single marks, each an excerpt engraved for the frame, to lie over a video.

A still shows the measures of one mark with clef, key and meter, the numerals and functions of its
chords, and the mark itself set off: in the accent's tone, with the frame, bracket or line that its
kind has. A repeat shows both passages. Everything stays in the title-safe
area; labels have capitals of at least 2.5 % of the frame's height. The same document and frame give
the same bytes.

Beside the pictures stands ``manifest.json``, a list in their order with file, mark, kind, span in
quarter notes, printed numbers of the measures shown, size in pixels and height of the smallest
text.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from analysis.sources import Source
from app.engraving.labels import LAYERS_OF, Layer
from app.engraving.layouts import STAFF_HEIGHT
from app.engraving.pages import Box
from app.export.excerpts import (
    MOST_MEASURES,
    Excerpt,
    Passage,
    Space,
    engrave_excerpt,
    is_readable,
    meant_marks,
    passages_of,
)
from app.export.frames import FULL_HD, Frame, Piece
from app.export.manifests import MANIFEST, Progress, file_stem, manifest_bytes, manifest_row
from app.export.pictures import paint_picture, png_bytes, write_file
from app.export.talking_points import talking_points
from app.review.document import Document, ReviewedMark

#: Border of a plate around what is on it, and space between two passages, against the frame's
#: shorter side.
_PADDING: Final = 0.042
_BETWEEN: Final = 0.05
#: Highest staff, likewise.
_STAFF: Final = 0.15
#: By how much passages side by side must be larger than above each other.
_CLEARLY: Final = 1.15
#: Least height of lyrics and chord symbols where two passages share a frame, against the labels'.
_OF_TWO: Final = 0.75
_HARMONY: Final[frozenset[Layer]] = frozenset({"numerals", "functions"})


@dataclass(frozen=True, slots=True)
class Still:
    """The excerpts of a still, and whether they stand side by side."""

    excerpts: tuple[Excerpt, ...]
    beside: bool


def write_stills(
    document: Document,
    source: Source,
    folder: Path,
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
) -> list[Path]:
    """A still of each talking point, and the manifest.

    Parameters
    ----------
    document, source
        The review and its source.
    folder
        Where to; it is made where it is missing.
    frame
        Size, ink and backing.
    progress
        Told of each picture; what it raises ends the work between two files.

    Returns
    -------
    list of Path
        The pictures in their order, the manifest last.

    Raises
    ------
    ExportError
        If a file cannot be written.
    EngravingError
        If an excerpt cannot be engraved.
    """
    points = talking_points(document)
    rows, written = [], []
    for number, reviewed in enumerate(points, start=1):
        path = folder / f"{file_stem(document, reviewed, number)}.png"
        if progress is not None:
            progress(number - 1, len(points), path.name)
        still = engrave_still(document, source, reviewed, frame)
        pieces, plate = compose_still(still, frame)
        write_file(path, png_bytes(paint_picture(frame, pieces, [plate])))
        written.append(path)
        shown = [(excerpt.passage.first, excerpt.passage.last) for excerpt in still.excerpts]
        height = min(excerpt.text_height for excerpt in still.excerpts)
        more = {"text_height": round(height, 1)}
        rows.append(manifest_row(document, reviewed, path.name, frame, shown, more))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]


def engrave_still(
    document: Document, source: Source, reviewed: ReviewedMark, frame: Frame
) -> Still:
    """The passages of a still: one, or the two that a repeat compares, then at one scale."""
    padding, between = _lengths(frame)
    _, _, width, height = frame.title_safe
    staff = _STAFF * min(frame.width, frame.height)
    whole = Space(width - 2 * padding, height - 2 * padding, staff, frame.least_text)
    layers = _HARMONY | frozenset(LAYERS_OF[reviewed.mark.kind])
    meant = meant_marks(document, reviewed)

    def engraved(passages: Sequence[Passage], space: Space) -> tuple[Excerpt, ...]:
        alone = len(passages) == 1
        return tuple(
            engrave_excerpt(
                document, source, reviewed, passage, space, layers, meant, context=alone
            )
            for passage in passages
        )

    passages = passages_of(document, reviewed)
    if len(passages) == 1:
        return Still(engraved(passages, whole), False)
    return _compared(document, reviewed, whole, between, engraved)


def _compared(
    document: Document,
    reviewed: ReviewedMark,
    whole: Space,
    between: float,
    engraved: Callable[[Sequence[Passage], Space], tuple[Excerpt, ...]],
) -> Still:
    """Two passages at one scale, as many measures of them as can be read in one line each.

    They stand one above the other, where they are compared best, or side by side where that makes
    them clearly larger. What is compared is the chords; directions are left out.
    """
    smaller = replace(whole, printed=_OF_TWO)
    over = replace(smaller, height=(whole.height - between) / 2)
    side = replace(smaller, width=(whole.width - between) / 2)
    for most in range(MOST_MEASURES, 0, -1):
        passages = [
            replace(passage, directions=False) for passage in passages_of(document, reviewed, most)
        ]
        stacked = engraved(passages, over)
        if most == 1 or _can_be_read(stacked, over):
            break
    abreast = engraved(passages, side)
    larger = _least_scale(abreast) > _CLEARLY * _least_scale(stacked)
    beside = _can_be_read(abreast, side) and larger
    space, found = (side, abreast) if beside else (over, stacked)
    common = replace(space, staff=_least_scale(found) * STAFF_HEIGHT)
    return Still(engraved(passages, common), beside)


def _can_be_read(excerpts: Sequence[Excerpt], space: Space) -> bool:
    return all(is_readable(excerpt, space) for excerpt in excerpts)


def compose_still(still: Still, frame: Frame) -> tuple[list[Piece], Box]:
    """Place the excerpts in the middle of the frame; the pieces and the plate under them."""
    padding, between = _lengths(frame)
    excerpts = still.excerpts
    gaps = between * (len(excerpts) - 1)
    # Side by side their staves are level; above each other their left ends are.
    rises = [_rise(excerpt) if still.beside else 0.0 for excerpt in excerpts]
    if still.beside:
        width = sum(excerpt.width for excerpt in excerpts) + gaps
        below = (e.height - rise for e, rise in zip(excerpts, rises, strict=True))
        height = max(rises) + max(below)
    else:
        width = max(excerpt.width for excerpt in excerpts)
        height = sum(excerpt.height for excerpt in excerpts) + gaps
    left, top = (frame.width - width) / 2, (frame.height - height) / 2
    pieces, x, y = [], left, top
    for excerpt, rise in zip(excerpts, rises, strict=True):
        down = max(rises) - rise
        box_x, box_y, _, _ = excerpt.box
        scale = excerpt.scale
        pieces.append(Piece(excerpt.strokes, scale, x - box_x * scale, y + down - box_y * scale))
        if still.beside:
            x += excerpt.width + between
        else:
            y += excerpt.height + between
    plate = (left - padding, top - padding, width + 2 * padding, height + 2 * padding)
    return pieces, plate


def _rise(excerpt: Excerpt) -> float:
    """Height of what stands above the first staff, in pixels."""
    return (excerpt.page.systems[0].measures[0].box[1] - excerpt.box[1]) * excerpt.scale


def _least_scale(excerpts: Sequence[Excerpt]) -> float:
    return min(excerpt.scale for excerpt in excerpts)


def _lengths(frame: Frame) -> tuple[float, float]:
    shorter = min(frame.width, frame.height)
    return _PADDING * shorter, _BETWEEN * shorter
