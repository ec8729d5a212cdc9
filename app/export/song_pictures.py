"""Pictures of a whole song as files: its form as a timeline strip, and a still of each section.

``form.png`` is the strip, ``form-2-Verse-1.png`` the strip with that section set off, and
``section-2-Verse-1.png`` the section's music. ``manifest.json`` lists them in their order.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from analysis.sources import Source
from analysis.timebase import Span
from app.export.file_names import safe_name
from app.export.folders import write_file
from app.export.frames import FULL_HD, Frame, Picture
from app.export.manifests import MANIFEST, Progress, manifest_bytes
from app.export.passages import SUITING, Contents, section_spans
from app.export.picture_files import PNG, Ending, write_picture
from app.export.still_layouts import lay_out_stretch
from app.export.timeline_strips import lay_out_timeline
from app.review.document import Document


def write_song_pictures(
    document: Document,
    source: Source,
    folder: Path,
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
    contents: Contents = SUITING,
    endings: Sequence[Ending] = PNG,
    chosen: Collection[str] | None = None,
) -> list[Path]:
    """The form of a song and its sections.

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
        Parts, layers and what else is shown of sections.
    endings
        Kinds of file to write each picture as; the manifest names the first.
    chosen
        Names without ending of the pictures that are wanted; None for all.

    Returns
    -------
    list of Path
        The pictures in their order, the manifest last.

    Raises
    ------
    ExportError
        If a file cannot be written.
    EngravingError
        If a section cannot be engraved.
    """
    rows, written = [], []
    pictures = [
        one
        for one in song_pictures(document, source, frame, contents)
        if chosen is None or one[0] in chosen
    ]
    for number, (name, said, span, make) in enumerate(pictures):
        if progress is not None:
            progress(number, len(pictures), f"{name}.{endings[0]}")
        picture = make()
        written += write_picture(folder, name, picture, endings, said)
        rows.append(_row(document, f"{name}.{endings[0]}", said, span, picture))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]


def song_pictures(
    document: Document,
    source: Source,
    frame: Frame = FULL_HD,
    contents: Contents = SUITING,
) -> Iterator[tuple[str, str, Span, Callable[[], Picture]]]:
    """Name, words and stretch of each picture, and what lays it out."""
    measures = document.score.measures
    whole = Span(measures[0].onset, measures[-1].span.end)
    title = document.score.title
    yield "form", title, whole, partial(lay_out_timeline, document, frame)
    for number, (name, span) in enumerate(section_spans(document), start=1):
        own = safe_name(f"{number}-{name}")
        yield f"form-{own}", name, span, partial(lay_out_timeline, document, frame, span)
        yield (
            f"section-{own}",
            name,
            span,
            partial(lay_out_stretch, document, source, span, frame, contents),
        )


def _row(document: Document, file: str, said: str, span: Span, picture: Picture) -> dict[str, Any]:
    measures = document.score.measures
    return {
        "file": file,
        "label": said,
        "span": {"onset": float(span.start), "duration": float(span.duration)},
        "measures": [
            [measures[first].number, measures[last].number] for first, last in picture.measures
        ],
        "size": [picture.frame.width, picture.frame.height],
        "text_height": round(picture.text_height, 1),
        "warnings": list(picture.warnings),
    }
