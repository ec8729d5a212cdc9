"""The whole path of a score without a window: from its file to a still, each step timed.

Read, analyse, engrave every page, write the annotated score in both forms and take the marks out
again, lay out and paint one still. Nothing is written to disk.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from lxml import etree
from PySide6.QtGui import QImage

from analysis.pipeline import analyse
from analysis.reading.documents import parse_document
from analysis.reading.scores import read_score
from analysis.reading.sources import Source
from analysis.timebase import Span
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.export.annotated import Form, annotate, strip
from app.export.frames import FULL_HD, Picture
from app.export.pictures import picture_png
from app.export.still_layouts import lay_out_still, lay_out_stretch
from app.export.talking_points import talking_points
from app.review.document import Document, SourceInfo

Result = TypeVar("Result")
FORMS: tuple[Form, ...] = ("directions", "numerals")
#: Measures of the still where the analysis found nothing to tell.
_FEW = 4


@dataclass
class Passed:
    """What came out on the way, and how long each step took in seconds."""

    document: Document
    pages: int
    still: str
    seconds: dict[str, float] = field(default_factory=dict)


def pass_through(source: Source, tell: Callable[[str], object] = str) -> Passed:
    """Take a source along the whole path; whatever is wrong on it is raised.

    ``tell`` hears the name of each step before it begins.

    Raises
    ------
    OverstaveError
        As the program says it.
    AssertionError
        A step did not do what it promises.
    """
    seconds: dict[str, float] = {}

    def timed(name: str, step: Callable[[], Result]) -> Result:
        tell(name)
        start = time.perf_counter()
        try:
            return step()
        finally:
            seconds[name] = seconds.get(name, 0.0) + time.perf_counter() - start

    score = timed("read", lambda: read_score(source))
    analysis = timed("analyse", lambda: analyse(score))
    document = Document(SourceInfo(source.name, "", source.digest), score, analysis)
    pages = timed("engrave", lambda: list(engrave(source, Layout())))
    engraved = [m.index for page in pages for system in page.systems for m in system.measures]
    assert engraved == list(range(len(engraved)))
    original = canonical(strip(source.original))
    for form in FORMS:
        annotated = timed("annotate", partial(annotate, source, document, form))
        stripped = timed("strip", partial(strip, annotated))
        assert canonical(stripped) == original, form
    picture = timed("still", lambda: _still(document, source))
    content = timed("still", lambda: picture_png(picture))
    check_still(content)
    return Passed(document, len(pages), picture_name(document), seconds)


def picture_name(document: Document) -> str:
    """The kind of mark that the still shows."""
    points = talking_points(document)
    return points[0].mark.kind if points else "stretch"


def canonical(content: bytes) -> bytes:
    """XML in the one form that says whether two documents are the same."""
    return etree.tostring(parse_document(content), method="c14n")


def check_still(content: bytes) -> None:
    """A picture of the frame's size with something on it and nothing in its corners."""
    image = QImage.fromData(content)
    assert (image.width(), image.height()) == (FULL_HD.width, FULL_HD.height)
    assert image.pixelColor(0, 0).alpha() == 0
    assert any(
        image.pixelColor(x, y).alpha()
        for x in range(0, image.width(), 7)
        for y in range(0, image.height(), 3)
    )


def _still(document: Document, source: Source) -> Picture:
    """The first talking point, or the first measures where nothing is to be told."""
    points = talking_points(document)
    if points:
        return lay_out_still(document, source, points[0], FULL_HD)
    measures = document.score.measures[:_FEW]
    return lay_out_stretch(
        document, source, Span(measures[0].onset, measures[-1].span.end), FULL_HD
    )
