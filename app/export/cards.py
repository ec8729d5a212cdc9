"""Caption cards as pictures: one PNG for each talking point, and their list.

Beside the pictures stands ``manifest.json``, as for stills; each entry also has the number of words
and the reading time in seconds, usual and from fast to slow, and the lines of the sentence.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path

from analysis.reading.sources import Source
from app.export.card_layouts import lay_out_card
from app.export.file_names import PATTERN, named_points
from app.export.frames import FULL_HD, Frame
from app.export.manifests import Progress, about_mark
from app.export.picture_files import PNG, Drawn, Ending, Wanted, write_pictures
from app.review.document import Document, ReviewedMark


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
    """A card of each talking point, and the manifest; as `app.export.stills.write_stills`.

    ``shown`` is how long cards stand in the video, in seconds, by mark id.
    """

    def wanted(reviewed: ReviewedMark, name: str) -> Wanted:
        def draw() -> Iterator[Drawn]:
            card = lay_out_card(document, source, reviewed, frame, (shown or {}).get(reviewed.id))
            more = {
                "words": card.words,
                "reading_seconds": card.seconds,
                "reading_seconds_range": card.range_seconds,
                "lines": card.lines,
            }
            yield Drawn(card.picture(frame), more=more)

        return Wanted(name, reviewed.sentence, about_mark(reviewed), draw)

    points = [wanted(*point) for point in named_points(document, pattern, chosen)]
    return write_pictures(document, folder, points, endings, progress)
