"""What the preview process does: the very picture that an export would write.

The process keeps the document that was sent last, so a click costs one layout and one painting.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from PySide6.QtGui import QImage

from analysis.errors import ExportError
from analysis.sources import Source
from app.export.card_layouts import Card, lay_out_card
from app.export.frames import Frame, Picture
from app.export.pictures import paint_picture
from app.export.reveal_layouts import Reveal, lay_out_reveal
from app.export.reveals import paint_reveal
from app.export.song_pictures import song_pictures
from app.export.still_layouts import lay_out_still
from app.review.document import Document
from app.worker.engraving_jobs import warm as warm_engraving
from app.worker.export_wishes import ExportWish, Sort
from app.worker.messages import Facts, Keep, Painted

#: The name under which the process keeps what is exported.
OPEN: Final = "open document"


def warm() -> None:
    """Have everything loaded when it matters."""
    warm_engraving()


def take_document(source: Source, document: Document) -> Iterator[Keep]:
    """Keep what is exported."""
    yield Keep(OPEN, (source, document))


def look_at(
    kept: tuple[Source, Document], wish: ExportWish, sort: Sort, key: str
) -> Iterator[Facts]:
    """What is known of a picture, without painting it."""
    source, document = kept
    yield _facts(document, wish, _laid_out(source, document, wish, sort, key))


def paint(
    kept: tuple[Source, Document], wish: ExportWish, sort: Sort, key: str, step: int, added: bool
) -> Iterator[Painted]:
    """A picture; of a reveal that of one step, counted from 0, or only what the step adds."""
    source, document = kept
    made = _laid_out(source, document, wish, sort, key)
    image = _painted(made, wish.frame, step, added)
    pixels = bytes(image.constBits())
    yield Painted(image.width(), image.height(), pixels, _facts(document, wish, made))


def _laid_out(
    source: Source, document: Document, wish: ExportWish, sort: Sort, key: str
) -> Picture | Reveal | Card:
    frame, contents = wish.frame, wish.contents
    if sort == "form":
        for name, _, _, make in song_pictures(document, source, frame, contents):
            if name == key:
                return make()
        raise ExportError("That section is no longer there.")
    if not document.has_mark(key):
        raise ExportError("That mark is no longer there.")
    point = document.mark(key)
    if sort == "stills":
        return lay_out_still(document, source, point, frame, contents)
    if sort == "reveals":
        return lay_out_reveal(document, source, point, frame, wish.steps, contents)
    return lay_out_card(document, source, point, frame, wish.seconds_shown(document).get(key))


def _facts(document: Document, wish: ExportWish, made: Picture | Reveal | Card) -> Facts:
    measures = document.score.measures
    shown = (made.measures,) if isinstance(made, Card) else made.measures
    return Facts(
        tuple((measures[first].number, measures[last].number) for first, last in shown),
        made.text_height / wish.frame.height,
        made.warnings,
        made.range_seconds if isinstance(made, Card) else None,
        tuple(step.name for step in made.steps) if isinstance(made, Reveal) else (),
    )


def _painted(made: Picture | Reveal | Card, frame: Frame, step: int, added: bool) -> QImage:
    if isinstance(made, Reveal):
        pictures = list(paint_reveal(made))
        return pictures[min(step, len(pictures) - 1)][added]
    picture = made.picture(frame) if isinstance(made, Card) else made
    return paint_picture(frame, picture.pieces, picture.plates)
