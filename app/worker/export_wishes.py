"""What the user wishes to export: a value that the window makes and an export process follows.

Free of what engraves and paints, so that the window can name each file before it is made.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal, NamedTuple, get_args

from analysis.timebase import Span
from app.export.file_names import PATTERN, named_points, safe_name
from app.export.frames import FULL_HD, Frame
from app.export.passages import SUITING, Contents, measures_named
from app.export.picture_files import PNG, Ending
from app.export.reveal_steps import USUAL, StepName
from app.export.talking_points import talking_points
from app.export.timing import USUAL_TIME, VideoTime, timed_points
from app.interface_words import Phrase, phrase, said, said_phrase
from app.review.document import Document
from app.review.writing import PLAIN, Writing

#: What can be made: kinds of picture in folders of that name, then files beside them.
Sort = Literal[
    "stills", "measures", "reveals", "cards", "form", "pages", "score", "tables", "script",
    "timeline",
]  # fmt: skip
SORTS: Final[tuple[Sort, ...]] = get_args(Sort)
#: Those that are made of a talking point each.
POINT_SORTS: Final[tuple[Sort, ...]] = ("stills", "reveals", "cards")
#: Those that are made of a stretch of the score each.
STRETCH_SORTS: Final[tuple[Sort, ...]] = ("measures", "pages")
#: Sorts of the files beside the pictures, by what follows the song in their names.
_SORTS_OF: Final[dict[str, Sort]] = {
    "-annotated.musicxml": "score",
    "-annotated.pdf": "score",
    "-marks.csv": "tables",
    "-marks.json": "tables",
    "-analysis.json": "tables",
    ".rntxt": "tables",
    "-outline.md": "script",
}
#: The printed score, which is made by a painter.
PRINTED: Final = "-annotated.pdf"


class Stretch(NamedTuple):
    """A stretch of the score of which a still is made: its file's name, its title, its time."""

    name: str
    title: str
    span: Span


@dataclass(frozen=True, slots=True)
class Offer:
    """What can be made of a document besides what its talking points say.

    Parameters
    ----------
    stem
        How the names of the files beside the pictures begin.
    texts
        The rest of their names, such as ``-marks.csv``.
    form
        Name without ending, and words, of each picture of the form.
    pages
        What stands on each page, as it is printed.
    """

    stem: str
    texts: tuple[str, ...]
    form: tuple[tuple[str, str], ...]
    pages: tuple[Stretch, ...] = ()


@dataclass(frozen=True, slots=True)
class ExportWish:
    """What to write into which folder, and how.

    Parameters
    ----------
    folder
        Where to; it is made where it is missing.
    sorts
        What is made at all.
    left_out
        What of it is not: a sort, and the id of a mark, the name of a stretch or of a picture of
        the form, or what follows the song in the name of a text.
    measures, pages
        The stretches that are shown in stills of their own.
    frame, contents, steps, endings
        How pictures look, what they show, how reveals are built up, and as what they are written.
    time
        How the score's time becomes the video's.
    pattern
        How pictures are named.
    numerals
        Whether the annotated score has MusicXML 4.0 numerals in place of words.
    writing
        How numerals and names of notes are written wherever words are for people.
    """

    folder: Path
    sorts: frozenset[Sort] = frozenset(SORTS)
    left_out: frozenset[tuple[Sort, str]] = frozenset()
    frame: Frame = FULL_HD
    contents: Contents = SUITING
    steps: tuple[StepName, ...] = USUAL
    endings: tuple[Ending, ...] = PNG
    time: VideoTime = USUAL_TIME
    pattern: str = PATTERN
    numerals: bool = False
    writing: Writing = PLAIN
    measures: tuple[Stretch, ...] = ()
    pages: tuple[Stretch, ...] = ()

    @property
    def form(self) -> Literal["directions", "numerals"]:
        """The form of the annotated score."""
        return "numerals" if self.numerals else "directions"

    def wants(self, sort: Sort, key: str) -> bool:
        """Whether something is to be made."""
        return sort in self.sorts and (sort, key) not in self.left_out

    def points(self, document: Document, sort: Sort) -> frozenset[str]:
        """Ids of the talking points of which a sort of picture is to be made."""
        return frozenset(
            point.id for point in talking_points(document) if self.wants(sort, point.id)
        )

    def stretches(self, sort: Sort) -> tuple[Stretch, ...]:
        """The stretches of which stills are to be made."""
        found = self.measures if sort == "measures" else self.pages if sort == "pages" else ()
        return tuple(one for one in found if self.wants(sort, one.name))

    def seconds_shown(self, document: Document) -> dict[str, float]:
        """How long the pictures of each talking point stand in the video, by mark id."""
        points = timed_points(document, talking_points(document), first_note=self.time.first_note)
        return {point.mark.id: float(point.time.length) for point in points}


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that can be made: a picture, the pictures of a reveal, or a text.

    ``key`` is what `ExportWish.left_out` knows it by, ``name`` its file, from the export's folder
    on, ``shows`` what is on it, in words.
    """

    sort: Sort
    key: str
    name: str
    shows: str

    @property
    def id(self) -> tuple[Sort, str]:
        """What it is known by, whatever it is named."""
        return self.sort, self.key


def measures_typed(document: Document, text: str) -> tuple[Stretch, ...]:
    """The stretches that are named by printed numbers, such as ``9-16, 33``.

    Raises
    ------
    ExportError
        If the score has no such measures.
    """
    named = [" ".join(one.split()).replace("–", "-") for one in text.split(",")]
    return tuple(
        Stretch(safe_name(f"measures-{one}"), f"m. {one}", measures_named(document, one))
        for one in dict.fromkeys(named)
        if one
    )


def sort_of(text: str) -> Sort:
    """The sort of a text by what follows the song in its name."""
    return _SORTS_OF.get(text, "timeline")


def entries_of(document: Document, wish: ExportWish, offer: Offer | None) -> Iterator[Entry]:
    """All that can be made of a document, named as wished; what is left out too.

    Raises
    ------
    ExportError
        If the pattern is wrong.
    """
    points = named_points(document, wish.pattern)
    ending = wish.endings[0] if wish.endings else "png"
    for sort in POINT_SORTS:
        for point, name in points:
            file = (
                f"{name}-1…{len(wish.steps)}.{ending}" if sort == "reveals" else f"{name}.{ending}"
            )
            measure = document.score.measure_at(point.mark.span.start).number
            name_of = point.label or point.mark.kind
            shows = said("{mark} · m. {measure}", mark=name_of, measure=measure)
            yield Entry(sort, point.id, f"{sort}/{file}", shows)
    for one in wish.measures:
        yield Entry("measures", one.name, f"measures/{one.name}.{ending}", one.title)
    for at, one in enumerate(wish.pages, start=1):
        shows = said("Page {number}", number=at)
        yield Entry("pages", one.name, f"pages/{one.name}.{ending}", shows)
    if offer is None:
        return
    for name, words in offer.form:
        shows = words
        if name == "form":
            shows = said("The form")
        elif not name.startswith("section-"):
            shows = said("The form, {section} set off", section=words)
        yield Entry("form", name, f"form/{name}.{ending}", shows)
    for text in sorted(offer.texts, key=lambda text: SORTS.index(sort_of(text))):
        words = said_phrase(_TEXT_WORDS[text]) if text in _TEXT_WORDS else said("Timeline")
        yield Entry(sort_of(text), text, f"{offer.stem}{text}", words)


_TEXT_WORDS: Final[dict[str, Phrase]] = {
    "-annotated.musicxml": phrase("Score with the marks in it"),
    "-annotated.pdf": phrase("The same to print, with a legend"),
    "-marks.csv": phrase("All marks as a table"),
    "-marks.json": phrase("All marks for programs"),
    "-analysis.json": phrase("All facts for programs"),
    ".rntxt": phrase("Numerals as RomanText"),
    "-outline.md": phrase("What to say, in order"),
    "-captions.vtt": phrase("Captions, WebVTT"),
    "-captions.srt": phrase("Captions, SubRip"),
    "-timeline.otio": phrase("Edit timeline, OpenTimelineIO"),
    "-timeline.edl": phrase("Edit decision list of the first track"),
    "-timeline.xml": phrase("Edit timeline for other editors"),
}
