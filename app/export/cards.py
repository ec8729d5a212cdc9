"""Caption cards as pictures: one PNG for each talking point, and their list.

Beside the pictures stands ``manifest.json``, as for stills; each entry also has the number of words
and the reading time in seconds, the lines of the sentence, and the height of the smallest capitals.
"""

from __future__ import annotations

from pathlib import Path

from analysis.sources import Source
from app.export.card_layouts import lay_out_card
from app.export.frames import FULL_HD, Frame
from app.export.manifests import MANIFEST, Progress, file_stem, manifest_bytes, manifest_row
from app.export.pictures import paint_picture, png_bytes, write_file
from app.export.talking_points import talking_points
from app.review.document import Document


def write_cards(
    document: Document,
    source: Source,
    folder: Path,
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
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
    points = talking_points(document)
    rows, written = [], []
    for number, reviewed in enumerate(points, start=1):
        path = folder / f"{file_stem(document, reviewed, number)}.png"
        if progress is not None:
            progress(number - 1, len(points), path.name)
        card = lay_out_card(document, source, reviewed, frame)
        write_file(path, png_bytes(paint_picture(frame, card.pieces, [card.panel])))
        written.append(path)
        more = {
            "words": card.words,
            "reading_seconds": card.seconds,
            "lines": card.lines,
            "text_height": round(card.text_height, 1),
        }
        rows.append(manifest_row(document, reviewed, path.name, frame, [card.measures], more))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]
