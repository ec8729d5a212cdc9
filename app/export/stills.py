"""Stills as files: one picture for each talking point, and their list.

Beside the pictures stands ``manifest.json``, a list in their order with file, mark, kind, span in
quarter notes, printed numbers of the measures shown, size in pixels, height of the smallest text,
and what would be hard to read. The same document and frame give the same bytes.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path

from analysis.sources import Source
from app.export.file_names import PATTERN, named_points
from app.export.folders import write_file
from app.export.frames import FULL_HD, Frame
from app.export.manifests import MANIFEST, Progress, manifest_bytes, manifest_row
from app.export.passages import SUITING, Contents
from app.export.picture_files import PNG, Ending, write_picture
from app.export.still_layouts import lay_out_still
from app.review.document import Document


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
    points = named_points(document, pattern, chosen)
    rows, written = [], []
    for number, (reviewed, name) in enumerate(points):
        path = folder / f"{name}.{endings[0]}"
        if progress is not None:
            progress(number, len(points), path.name)
        picture = lay_out_still(document, source, reviewed, frame, contents)
        written += write_picture(folder, name, picture, endings, reviewed.sentence)
        rows.append(manifest_row(document, reviewed, path.name, picture, {}))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]
