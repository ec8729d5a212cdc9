"""The words of an export at once: annotated score, tables, outline, captions, edit timeline.

Each file is made when it is asked for, so that work can end between two files.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path, PurePath
from typing import Final

from analysis.reading.sources import Source
from app.export.annotated import Form, annotate
from app.export.captions import cues_of, to_srt, to_webvtt
from app.export.edit_timelines import (
    Shot,
    edit_timeline,
    other_formats,
    to_other_format,
    to_otio,
)
from app.export.file_names import PATTERN, named_points, safe_name
from app.export.manifests import pictures_of_marks
from app.export.mark_tables import to_csv, to_table_json
from app.export.marks_json import to_json
from app.export.outlines import to_outline
from app.export.romantext import to_romantext
from app.export.talking_points import talking_points
from app.export.timing import Clock, TimedPoint, VideoTime, timed_points
from app.review.document import Document, Time
from app.review.writing import PLAIN, Writing, written

#: Endings of captions; the other timed files are timelines.
CAPTIONS: Final = frozenset({"vtt", "srt"})


@dataclass(frozen=True, slots=True)
class Pictures:
    """Where the pictures of an export lie, relative to its texts, as ``folder/name.png``.

    Parameters
    ----------
    stills, cards
        Folders.
    pattern
        How pictures are named.
    of_stills, of_cards
        Ids of the marks that have one; None where all have.
    root
        Where the texts will lie. What the manifests of the folders there list is taken as it is:
        other names, further pictures of one mark, or none. None to name pictures by the pattern.
    """

    stills: str = "stills"
    cards: str = "cards"
    pattern: str = PATTERN
    of_stills: frozenset[str] | None = None
    of_cards: frozenset[str] | None = None
    root: Path | None = None

    def shots(self, document: Document, points: list[TimedPoint]) -> tuple[list[Shot], list[Shot]]:
        """The pictures of the points that have one: stills and cards."""
        return (
            self._shots(document, points, self.stills, self.of_stills),
            self._shots(document, points, self.cards, self.of_cards),
        )

    def _shots(
        self,
        document: Document,
        points: list[TimedPoint],
        folder: str,
        chosen: frozenset[str] | None,
    ) -> list[Shot]:
        made = pictures_of_marks(self.root / folder) if self.root and folder else {}
        if not made:
            return shots_of(document, points, folder, self.pattern, chosen)
        return [
            Shot(f"{folder}/{file}", point, time)
            for point in points
            for file, time in _shared_out(point.time, made.get(point.mark.id, ()))
        ]


def stem_of(source: Source) -> str:
    """How the names of an export's files begin: the score's file name, made safe."""
    return safe_name(PurePath(source.name).stem)


def timed(document: Document, time: VideoTime) -> list[TimedPoint]:
    """The document's talking points and when they stand, in order of start."""
    return timed_points(document, talking_points(document), first_note=time.first_note)


def shots_of(
    document: Document,
    points: list[TimedPoint],
    folder: str,
    pattern: str = PATTERN,
    chosen: frozenset[str] | None = None,
) -> list[Shot]:
    """The points' pictures in one folder by their names; none where it has no name.

    ``chosen`` has the ids of the marks that have a picture there; None where all have.
    """
    if not folder:
        return []
    of = {point.id: name for point, name in named_points(document, pattern, chosen)}
    return [
        Shot(f"{folder}/{of[point.mark.id]}.png", point) for point in points if point.mark.id in of
    ]


def _shared_out(time: Time, files: Sequence[str]) -> Iterator[tuple[str, Time]]:
    """Files that follow each other, each for as long."""
    for at, file in enumerate(files):
        length = time.length / len(files)
        yield file, Time(time.start + at * length, length)


def outline_of(document: Document, time: VideoTime, pictures: Pictures | None) -> str:
    """The outline; with the names of its pictures where there are any."""
    points = timed(document, time)
    files: Mapping[str, list[str]] = {point.mark.id: [] for point in points}
    for shots in pictures.shots(document, points) if pictures else ():
        for shot in shots:
            files[shot.point.mark.id].append(shot.file)
    return to_outline(document, points, files)


def timeline_endings() -> tuple[str, ...]:
    """The endings that `timeline_makers` has, known without a document."""
    return ("vtt", "srt", "otio", *other_formats())


def timeline_makers(
    document: Document, time: VideoTime, pictures: Pictures
) -> dict[str, Callable[[], str]]:
    """What makes a timeline or captions, by the ending of its file."""
    points = timed(document, time)
    cues = cues_of(points, time.rate)
    stills, cards = pictures.shots(document, points)
    timeline = edit_timeline(
        document.score.title or document.source.name,
        stills,
        cards,
        time.rate,
        time.first_note + Clock(document.score).length,
        time.start_frame,
    )
    makers: dict[str, Callable[[], str]] = {
        "vtt": lambda: to_webvtt(cues),
        "srt": lambda: to_srt(cues),
        "otio": lambda: to_otio(timeline),
    }
    for ending in other_formats():
        makers[ending] = partial(to_other_format, timeline, ending, time.rate)
    return makers


def text_files(
    document: Document,
    source: Source,
    time: VideoTime,
    pictures: Pictures,
    form: Form = "directions",
    writing: Writing = PLAIN,
) -> Iterator[tuple[str, Callable[[], bytes]]]:
    """Name of each text of an export, and what makes it.

    What people read is in their writing; what programs read is as the document keeps it.
    """
    words = written(document, writing)
    stem = stem_of(source)
    yield f"{stem}-annotated.musicxml", lambda: annotate(source, words, form)
    yield f"{stem}-marks.csv", lambda: to_csv(words)
    yield f"{stem}-marks.json", lambda: to_table_json(document)
    facts = partial(to_json, document.analysis, document.score, source.name, source.digest)
    yield f"{stem}-analysis.json", partial(_encoded, facts)
    yield f"{stem}.rntxt", lambda: to_romantext(document).encode()
    yield f"{stem}-outline.md", lambda: outline_of(words, time, pictures).encode()
    for ending, make in timeline_makers(words, time, pictures).items():
        what = "captions" if ending in CAPTIONS else "timeline"
        yield f"{stem}-{what}.{ending}", partial(_encoded, make)


def _encoded(make: Callable[[], str]) -> bytes:
    return make().encode()
