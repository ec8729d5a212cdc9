"""Stills as files: a picture for each talking point, several where it takes more, and their list.

Beside the pictures stands ``manifest.json``, a list in their order with file, mark, kind, span in
quarter notes, printed numbers of the measures shown, size in pixels, height of the smallest text,
and what would be hard to read. The same document and frame give the same bytes.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path

from analysis.sources import Source
from app.export.file_names import PATTERN, named_points
from app.export.frames import FULL_HD, Frame
from app.export.manifests import Progress, about_mark
from app.export.passages import SUITING, Contents
from app.export.picture_files import PNG, Drawn, Ending, Wanted, numbered, write_pictures
from app.export.still_layouts import lay_out_stills
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
    folder
        Where to; it is made where it is missing.
    frame
        Size, ink, backing and theme.
    progress
        Told of each picture; what it raises ends the work between two files.
    contents
        Parts, layers and what else is shown.
    endings
        Kinds of file to write each picture as; the manifest names the first.
    pattern, chosen
        How pictures are named, and the ids of the marks that are wanted; see `named_points`.

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

    def wanted(reviewed: ReviewedMark, name: str) -> Wanted:
        def draw() -> Iterator[Drawn]:
            return numbered(lay_out_stills(document, source, reviewed, frame, contents))

        return Wanted(name, reviewed.sentence, about_mark(reviewed), draw)

    points = [wanted(*point) for point in named_points(document, pattern, chosen)]
    return write_pictures(document, folder, points, endings, progress)
