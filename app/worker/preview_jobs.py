"""What the preview process does: the very picture that an export would write.

The process keeps the document that was sent last, so a click costs one layout and one painting.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from analysis.errors import ExportError
from analysis.reading.sources import Source
from app.export.card_layouts import Card, lay_out_card
from app.export.frames import Picture
from app.export.pictures import paint_picture
from app.export.reveal_layouts import Reveal, lay_out_reveal
from app.export.reveals import paint_reveal
from app.export.song_pictures import song_pictures
from app.export.still_layouts import lay_out_stills, lay_out_stretches
from app.review.document import Document
from app.review.writing import written
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
    """What is known of the pictures of an entry, without painting them."""
    source, document = kept[0], written(kept[1], wish.writing)
    made = _laid_out(source, document, wish, sort, key)
    facts = [_facts(document, wish, one) for one in made]
    warnings = dict.fromkeys(warning for one in facts for warning in one.warnings)
    shares = [one.text_share for one in facts if one.text_share]
    yield replace(facts[0], text_share=min(shares, default=0.0), warnings=tuple(warnings))


def paint(
    kept: tuple[Source, Document], wish: ExportWish, sort: Sort, key: str, step: int, added: bool
) -> Iterator[Painted]:
    """A picture of an entry that has several: of a reveal a step, or only what the step adds.

    Steps and pictures are counted from 0; past the last it is the last.
    """
    source, document = kept[0], written(kept[1], wish.writing)
    made = _laid_out(source, document, wish, sort, key)
    one = made[min(step, len(made) - 1)]
    facts = _facts(document, wish, one)
    if isinstance(one, Reveal):
        pictures = list(paint_reveal(one))
        image = pictures[min(step, len(pictures) - 1)][added]
    else:
        picture = one.picture(wish.frame) if isinstance(one, Card) else one
        image = paint_picture(picture.frame, picture.pieces, picture.plates)
        facts = replace(facts, steps=tuple(str(number) for number in range(1, len(made) + 1)))
    yield Painted(image.width(), image.height(), bytes(image.constBits()), facts)


def _laid_out(
    source: Source, document: Document, wish: ExportWish, sort: Sort, key: str
) -> Sequence[Picture | Reveal | Card]:
    """What an entry shows: one, or the parts in which it is shown."""
    frame, contents = wish.frame, wish.contents
    if sort == "form":
        for name, _, span, make in song_pictures(document, source, frame, contents):
            if name == key:
                section = name.startswith("section-")
                stretch = (document, source, span, frame, contents)
                return lay_out_stretches(*stretch) if section else [make()]
        raise ExportError("That section is no longer there.")
    for _, _, span in (one for one in (*wish.measures, *wish.pages) if one.name == key):
        return lay_out_stretches(document, source, span, frame, contents)
    if not document.has_mark(key):
        raise ExportError("That mark is no longer there.")
    point = document.mark(key)
    if sort == "stills":
        return list(lay_out_stills(document, source, point, frame, contents))
    if sort == "reveals":
        return [lay_out_reveal(document, source, point, frame, wish.steps, contents)]
    shown = wish.seconds_shown(document).get(key)
    return [lay_out_card(document, source, point, frame, shown)]


def _facts(document: Document, wish: ExportWish, made: Picture | Reveal | Card) -> Facts:
    measures = document.score.measures
    shown = (made.measures,) if isinstance(made, Card) else made.measures
    return Facts(
        tuple((measures[first].number, measures[last].number) for first, last in shown),
        made.text_height / wish.frame.height,
        made.warnings,
        made.range_seconds if isinstance(made, Card) else None,
        made.lines if isinstance(made, Card) else 0,
        tuple(step.name for step in made.steps) if isinstance(made, Reveal) else (),
    )
