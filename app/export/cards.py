"""Caption cards as pictures: one PNG for each talking point, and their list.

Beside the pictures stands ``manifest.json``, as for stills; each entry also has the number of words
and the reading time in seconds, usual and from fast to slow, and the lines of the sentence.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from analysis.sources import Source
from app.export.card_layouts import lay_out_card
from app.export.file_names import PATTERN, named_points
from app.export.folders import write_file
from app.export.frames import FULL_HD, Frame
from app.export.manifests import MANIFEST, Progress, manifest_bytes, manifest_row
from app.export.picture_files import PNG, Ending, write_picture
from app.review.document import Document


def write_cards(
    document: Document,
    source: Source,
    folder: Path,
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
    shown: Mapping[str, float] | None = None,
    endings: Sequence[Ending] = PNG,
    pattern: str = PATTERN,
    chosen: Collection[str] | None = None,
) -> list[Path]:
    """A card of each talking point, and the manifest.

    Parameters
    ----------
    document, source
        The review and its source.
    folder
        Where to; it is made where it is missing.
    frame
        Size, ink and backing.
    progress
        Told of each card; what it raises ends the work between two files.
    shown
        How long cards stand in the video, in seconds, by mark id.
    endings
        Kinds of file to write each picture as; the manifest names the first.
    pattern, chosen
        How pictures are named, and the ids of the marks that are wanted; see `named_points`.

    Returns
    -------
    list of Path
        The cards in their order, the manifest last.

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
        card = lay_out_card(document, source, reviewed, frame, (shown or {}).get(reviewed.id))
        picture = card.picture(frame)
        written += write_picture(folder, name, picture, endings, reviewed.sentence)
        more = {
            "words": card.words,
            "reading_seconds": card.seconds,
            "reading_seconds_range": card.range_seconds,
            "lines": card.lines,
        }
        rows.append(manifest_row(document, reviewed, path.name, picture, more))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]
