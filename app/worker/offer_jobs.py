"""What the preview process does with words; apart, since what writes them takes long to load."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from analysis.reading.sources import Source
from app.export.song_pictures import song_pictures
from app.export.still_layouts import page_spans
from app.export.text_sets import Pictures, stem_of, text_files
from app.export.timing import USUAL_TIME
from app.review.document import Document
from app.review.writing import written
from app.worker.export_jobs import pictures_of
from app.worker.export_wishes import PRINTED, ExportWish, Offer, Stretch

#: Most characters of a text that are shown.
_MOST: Final = 20_000


def offer(kept: tuple[Source, Document]) -> Iterator[Offer]:
    """What can be made of the document that the process keeps."""
    source, document = kept
    stem = stem_of(source)
    names = [name for name, _ in text_files(document, source, USUAL_TIME, Pictures())]
    texts = (*(name.removeprefix(stem) for name in names), PRINTED)
    form = tuple((name, said) for name, said, *_ in song_pictures(document, source))
    pages = tuple(
        Stretch(f"page-{number}", f"Page {number}", span)
        for number, span in enumerate(page_spans(document, source), start=1)
    )
    yield Offer(stem, texts, form, pages)


def write_text(kept: tuple[Source, Document], wish: ExportWish, text: str) -> Iterator[str]:
    """The beginning of a text."""
    source, document = kept
    wanted = f"{stem_of(source)}{text}"
    pictures = pictures_of(written(document, wish.writing), wish)
    texts = text_files(document, source, wish.time, pictures, wish.form, wish.writing)
    for name, make in texts:
        if name == wanted:
            whole = make().decode()
            yield whole if len(whole) <= _MOST else f"{whole[:_MOST]}…"
