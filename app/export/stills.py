"""Stills as files: a picture for each talking point, several where it takes more, and their list.

Beside the pictures stands ``manifest.json``, a list in their order with file, mark, kind, span in
quarter notes, printed numbers of the measures shown, size in pixels, height of the smallest text,
and what would be hard to read. The same document and frame give the same bytes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from analysis.reading.sources import Source
from analysis.timebase import Span
from app.export.file_names import PATTERN, named_points, safe_name, without_clashes
from app.export.frames import FULL_HD, Frame
from app.export.manifests import Progress, about_mark, about_span
from app.export.passages import SUITING, Contents
from app.export.picture_files import PNG, Drawn, Ending, Wanted, numbered, write_pictures
from app.export.still_layouts import lay_out_stills, lay_out_stretches, lay_out_whole
from app.review.document import Document, ReviewedMark


def write_stills(
    document: Document,
    source: Source,
    folder: Path,
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
    contents: Contents = SUITING,
    endings: Sequence[Ending] = PNG,
    pattern: str = PATTERN,
    chosen: Collection[str] | None = None,
) -> list[Path]:
    """A still of each talking point, and the manifest.

    Parameters
    ----------
    document, source
        The review and its source.
    folder, endings, progress
        As for `app.export.picture_files.write_pictures`.
    frame, contents
        Size, ink, backing and theme; parts, layers and what else is shown.
    pattern, chosen
        How pictures are named, and the ids of the marks that are wanted; see `named_points`.

    Returns
    -------
    list of Path
        The pictures in their order, the manifest last.

    Raises
    ------
    ExportError, EngravingError
        If a file cannot be written, or an excerpt not be engraved.
    """

    def wanted(reviewed: ReviewedMark, name: str) -> Wanted:
        def draw() -> Iterator[Drawn]:
            return numbered(lay_out_stills(document, source, reviewed, frame, contents))

        return Wanted(name, reviewed.sentence, about_mark(reviewed), draw)

    points = [wanted(*point) for point in named_points(document, pattern, chosen)]
    return write_pictures(document, folder, points, endings, progress)


class Place(NamedTuple):
    """A stretch of the score to make a still of: its file's name, its title, its time."""

    name: str
    title: str
    span: Span


def write_places(
    document: Document,
    source: Source,
    folder: Path,
    places: Sequence[Place],
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
    contents: Contents = SUITING,
    endings: Sequence[Ending] = PNG,
    *,
    whole: bool = False,
) -> list[Path]:
    """Stills of stretches of the score, and the manifest; as `write_stills`.

    Each takes as many pictures as make its text large enough, or one where it shall be ``whole``.
    """
    lay_out = lay_out_whole if whole else lay_out_stretches

    def wanted(place: Place, name: str) -> Wanted:
        def draw() -> Iterator[Drawn]:
            return numbered(lay_out(document, source, place.span, frame, contents))

        return Wanted(
            name, place.title, {"label": place.title, "span": about_span(place.span)}, draw
        )

    names = without_clashes(safe_name(place.name) for place in places)
    stretches = [wanted(place, name) for place, name in zip(places, names, strict=True)]
    return write_pictures(document, folder, stretches, endings, progress)
