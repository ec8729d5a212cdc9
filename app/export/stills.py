"""Stills: pictures of single marks, each an excerpt engraved for the frame, to lie over a video.

A still shows the measures of one mark with clef, key and meter, the numerals and functions of its
chords, and the mark itself set off: in the accent's tone, with the frame, bracket or line that its
kind has. A repeat shows both passages, one above the other. Everything stays in the title-safe
area; labels have capitals of at least 2.5 % of the frame's height. The same document and frame give
the same bytes.

Beside the pictures stands ``manifest.json``, a list in their order with file, mark, kind, span in
quarter notes, printed numbers of the measures shown, size in pixels and height of the smallest
text.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from analysis.sources import Source
from app.engraving.labels import LAYERS_OF, Layer
from app.engraving.layouts import STAFF_HEIGHT
from app.engraving.pages import Box
from app.export.excerpts import Excerpt, Space, engrave_excerpt, meant_marks, passages_of
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
_HARMONY: Final[frozenset[Layer]] = frozenset({"numerals", "functions"})


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
        excerpts = still_excerpts(document, source, reviewed, frame)
        pieces, plate = compose_still(excerpts, frame)
        write_file(path, png_bytes(paint_picture(frame, pieces, [plate])))
        written.append(path)
        shown = [(excerpt.passage.first, excerpt.passage.last) for excerpt in excerpts]
        height = min(excerpt.text_height for excerpt in excerpts)
        more = {"text_height": round(height, 1)}
        rows.append(manifest_row(document, reviewed, path.name, frame, shown, more))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]


def still_excerpts(
    document: Document, source: Source, reviewed: ReviewedMark, frame: Frame
) -> list[Excerpt]:
    """The passages of a still, engraved at one scale: one, or the two that a repeat compares."""
    passages = passages_of(document, reviewed)
    padding, between = _lengths(frame)
    _, _, width, height = frame.title_safe
    share = (height - 2 * padding - between * (len(passages) - 1)) / len(passages)
    staff = _STAFF * min(frame.width, frame.height)
    space = Space(width - 2 * padding, share, staff, frame.least_text)
    layers = _HARMONY | frozenset(LAYERS_OF[reviewed.mark.kind])
    meant = meant_marks(document, reviewed)
    alone = len(passages) == 1

    def engraved(within: Space) -> list[Excerpt]:
        return [
            engrave_excerpt(
                document, source, reviewed, passage, within, layers, meant, context=alone
            )
            for passage in passages
        ]

    found = engraved(space)
    least = min(excerpt.scale for excerpt in found)
    return found if alone else engraved(replace(space, staff=least * STAFF_HEIGHT))


def compose_still(excerpts: Sequence[Excerpt], frame: Frame) -> tuple[list[Piece], Box]:
    """Place excerpts one above the other in the middle of the frame; the pieces and their plate."""
    padding, between = _lengths(frame)
    width = max(excerpt.width for excerpt in excerpts)
    height = sum(excerpt.height for excerpt in excerpts) + between * (len(excerpts) - 1)
    left, top = (frame.width - width) / 2, (frame.height - height) / 2
    pieces, y = [], top
    for excerpt in excerpts:
        box_x, box_y, _, _ = excerpt.box
        x = left - box_x * excerpt.scale
        pieces.append(Piece(excerpt.strokes, excerpt.scale, x, y - box_y * excerpt.scale))
        y += excerpt.height + between
    plate = (left - padding, top - padding, width + 2 * padding, height + 2 * padding)
    return pieces, plate


def _lengths(frame: Frame) -> tuple[float, float]:
    shorter = min(frame.width, frame.height)
    return _PADDING * shorter, _BETWEEN * shorter
