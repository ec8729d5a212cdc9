"""What the engraving process does. Each job yields its results as they come."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from analysis.reading.sources import Source, read_source, source_of
from app.engraving.alignments import PairLine
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.pages import Page
from app.engraving.pair_engraving import Passage
from app.engraving.pair_engraving import engrave_pair as pair_lines
from app.worker.warming import WARM_SCORE, load_letters


def warm() -> None:
    """Engrave one measure, so that everything is loaded when it matters."""
    list(engrave(source_of(WARM_SCORE, "warm"), Layout()))
    load_letters()


def open_and_engrave(path: Path, layout: Layout) -> Iterator[Source | Page]:
    """The first page, since it is waited for; then the source as read, then the other pages."""
    source = read_source(path)
    pages = engrave(source, layout)
    yield next(pages)
    yield source
    yield from pages


def engrave_pages(source: Source, layout: Layout) -> Iterator[Page]:
    """The pages of a source that was read before."""
    yield from engrave(source, layout)


def engrave_pair(
    source: Source, first: tuple[str, int, int], later: tuple[str, int, int], width: float
) -> Iterator[PairLine]:
    """The lines of a comparison; each passage is a part with its first and last measure."""
    yield from pair_lines(source, Passage(*first), Passage(*later), width)
