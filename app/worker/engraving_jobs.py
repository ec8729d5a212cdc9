"""What the engraving process does. Each job yields its results as they come."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from analysis.sources import Source, read_source, source_of
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.pages import Page

#: One note, enough to have verovio load its fonts before they are waited for.
_ONE_NOTE = b"""<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>-</part-name>
</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>
</attributes><harmony><root><root-step>C</root-step></root><kind>major</kind></harmony>
<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration><type>whole</type>
</note></measure></part></score-partwise>"""


def warm() -> None:
    """Engrave one note, so that everything is loaded when it matters."""
    list(engrave(source_of(_ONE_NOTE, "warm")))


def open_and_engrave(path: Path, layout: Layout) -> Iterator[Source | Page]:
    """The source as read, then its pages."""
    source = read_source(path)
    yield source
    yield from engrave(source, layout)


def engrave_pages(source: Source, layout: Layout) -> Iterator[Page]:
    """The pages of a source that was read before."""
    yield from engrave(source, layout)
