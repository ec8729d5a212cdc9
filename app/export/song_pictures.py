"""Pictures of a whole song as files: its form as a timeline strip, and a still of each section.

``form.png`` is the strip, ``form-2-Verse-1.png`` the strip with that section set off, and
``section-2-Verse-1.png`` the section's music, whose later measures follow in
``section-2-Verse-1-part-2.png`` where they are too many for one picture. ``manifest.json`` lists
them in their order.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Final

from analysis.reading.sources import Source
from analysis.timebase import Span
from app.export.file_names import safe_name
from app.export.frames import FULL_HD, Frame, Picture
from app.export.manifests import Progress, about_span
from app.export.passages import SUITING, Contents, section_spans
from app.export.picture_files import PNG, Drawn, Ending, Wanted, numbered, write_pictures
from app.export.still_layouts import lay_out_stretch, lay_out_stretches
from app.export.timeline_strips import lay_out_timeline
from app.review.document import Document

#: How the names of sections' pictures begin.
_SECTION: Final = "section-"


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
    """The form of a song and its sections, and the manifest; as `app.export.stills.write_stills`.

    ``chosen`` has names without ending of the pictures that are wanted; None for all.
    """

    def wanted(name: str, said: str, span: Span, make: Callable[[], Picture]) -> Wanted:
        def draw() -> Iterator[Drawn]:
            if not name.startswith(_SECTION):
                return numbered([make()])
            return numbered(lay_out_stretches(document, source, span, frame, contents, said))

        return Wanted(name, said, {"label": said, "span": about_span(span)}, draw)

    pictures = [
        wanted(*one)
        for one in song_pictures(document, source, frame, contents)
        if chosen is None or one[0] in chosen
    ]
    return write_pictures(document, folder, pictures, endings, progress)


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
            f"{_SECTION}{own}",
            name,
            span,
            partial(lay_out_stretch, document, source, span, frame, contents, name),
        )
