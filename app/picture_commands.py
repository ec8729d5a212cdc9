"""Commands that paint: stills, cards, reveals, the form, the printed score, everything. No display.

Each command is a folder, the pictures that go into it, and what the switches say of them.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from pathlib import Path

from analysis.errors import ExportError
from analysis.reading.sources import Source
from analysis.score import Score
from analysis.timebase import Span
from app.commands import (
    check_file,
    check_folder,
    melody_part,
    open_document,
    tell,
    video_time,
    write_file,
    writing_of,
)
from app.export.annotated_pdf import to_pdf
from app.export.cards import write_cards as paint_cards
from app.export.cautions import RIGHTS
from app.export.file_names import FIELDS, named
from app.export.folders import Folder
from app.export.frames import Frame
from app.export.passages import Contents, measures_named, section_named
from app.export.reveal_steps import USUAL, check_steps
from app.export.reveals import write_reveals as paint_reveals
from app.export.song_pictures import write_song_pictures
from app.export.still_layouts import page_spans
from app.export.stills import Place, write_places
from app.export.stills import write_stills as paint_stills
from app.export.talking_points import talking_points
from app.export.text_sets import Pictures, stem_of, text_files, timed
from app.export.themes import theme_named
from app.review.document import Document
from app.review.writing import written


class _Wish:
    """What a command was asked for, checked before anything is read."""

    def __init__(self, chosen: argparse.Namespace) -> None:
        self.chosen = chosen
        width, height = chosen.size
        theme = theme_named(chosen.theme)
        self.frame = Frame(width, height, chosen.ink, chosen.backing, chosen.ground, theme)
        self.endings = chosen.kinds
        self.steps = check_steps(getattr(chosen, "steps", ()) or USUAL)
        self.pattern = getattr(chosen, "names", "")
        named(self.pattern, dict.fromkeys(FIELDS, ""))
        check_folder(chosen.out)
        self.source, self.kept = open_document(chosen.score, chosen.review, chosen.out)
        self.writing = writing_of(chosen)
        self.document = written(self.kept, self.writing)
        self.points = _points(self.document, chosen)
        self.contents = _contents(self.document.score, chosen)
        self.places = list(_places(self.document, self.source, chosen))

    def stills(self, folder: Path) -> list[Path]:
        """A still of each talking point, or of the places that were named."""
        if self.places:
            return write_places(
                self.document, self.source, folder, self.places, self.frame, _tell_of,
                self.contents, self.endings, whole=self.chosen.whole,
            )  # fmt: skip
        return paint_stills(
            self.document, self.source, folder, self.frame, _tell_of, self.contents, self.endings,
            self.pattern, self.points,
        )  # fmt: skip

    def cards(self, folder: Path, shown: dict[str, float] | None = None) -> list[Path]:
        """A caption card of each talking point."""
        return paint_cards(
            self.document, self.source, folder, self.frame, _tell_of, shown, self.endings,
            self.pattern, self.points,
        )  # fmt: skip

    def reveals(self, folder: Path) -> list[Path]:
        """A reveal of each talking point."""
        return paint_reveals(
            self.document, self.source, folder, self.frame, _tell_of, self.steps, self.contents,
            self.pattern, self.points, self.endings,
        )  # fmt: skip

    def form(self, folder: Path) -> list[Path]:
        """The form of the song and its sections."""
        return write_song_pictures(
            self.document, self.source, folder, self.frame, _tell_of, self.contents, self.endings
        )


def write_stills(chosen: argparse.Namespace) -> int:
    """Write a still of each talking point, or of the places that are named."""
    return _write(chosen, _Wish(chosen).stills)


def write_cards(chosen: argparse.Namespace) -> int:
    """Write a caption card of each talking point."""
    return _write(chosen, _Wish(chosen).cards)


def write_reveals(chosen: argparse.Namespace) -> int:
    """Write a reveal of each talking point."""
    return _write(chosen, _Wish(chosen).reveals)


def write_form(chosen: argparse.Namespace) -> int:
    """Write the form of the song and its sections."""
    return _write(chosen, _Wish(chosen).form)


def write_printed(chosen: argparse.Namespace) -> int:
    """Write the annotated score as PDF."""
    check_file(chosen.out)
    source, document = open_document(chosen.score, chosen.review, chosen.out)
    write_file(chosen.out, to_pdf(written(document, writing_of(chosen)), source))
    return 0


def write_all(chosen: argparse.Namespace) -> int:
    """Write everything that can be exported; pictures in folders of their own."""
    time = video_time(chosen)
    wish = _Wish(chosen)
    source, document = wish.source, wish.document
    folder = Folder(chosen.out)
    pictures = Pictures(root=folder.path)
    shown = {point.mark.id: float(point.time.length) for point in timed(document, time)}
    written = wish.stills(folder.path / pictures.stills)
    written += wish.cards(folder.path / pictures.cards, shown)
    written += wish.reveals(folder.path / "reveals")
    written += wish.form(folder.path / "form")
    # Texts come last: they name the pictures that there are.
    texts = text_files(wish.kept, source, time, pictures, chosen.form, wish.writing)
    for name, make in texts:
        tell(name)
        written.append(folder.write(name, make()))
    name = f"{stem_of(source)}-annotated.pdf"
    tell(name)
    written.append(folder.write(name, to_pdf(document, source)))
    tell(str(folder.finish(written)))
    tell(RIGHTS)
    return 0


def _write(chosen: argparse.Namespace, paint: Callable[[Path], list[Path]]) -> int:
    """Paint into the folder, and say what has become of its files."""
    folder = Folder(chosen.out)
    tell(str(folder.compared(paint(folder.path))))
    return 0


def _points(document: Document, chosen: argparse.Namespace) -> frozenset[str] | None:
    """Ids of the talking points that are wanted; None for all."""
    only = getattr(chosen, "only", None)
    if only is None:
        return None
    points = talking_points(document)
    beyond = sorted(number for number in only if not 1 <= number <= len(points))
    if beyond:
        raise ExportError(
            f"There is no talking point {beyond[0]}; the score has {len(points)} of them."
        )
    return frozenset(points[number - 1].id for number in only)


def _contents(score: Score, chosen: argparse.Namespace) -> Contents:
    """What of the score is shown."""
    if not hasattr(chosen, "parts"):
        return Contents()
    layers = getattr(chosen, "layers", None)
    parts = tuple(melody_part(score, part) for part in chosen.parts or ())
    return Contents(
        frozenset(layers) if layers is not None else None,
        parts or None,
        chosen.measure_numbers,
        not chosen.no_symbols,
        not chosen.no_lyrics,
    )


def _places(document: Document, source: Source, chosen: argparse.Namespace) -> Iterator[Place]:
    """The stretches that were named, in place of the talking points."""
    if not hasattr(chosen, "measures"):
        return
    for text in chosen.measures:
        yield Place(f"measures-{text}", f"Measures {text}", measures_named(document, text))
    for name in chosen.section:
        yield Place(f"section-{name}", name, section_named(document, name))
    for start, end in chosen.span:
        last = document.score.measures[-1].span.end
        if start >= last:
            raise ExportError(f"The score ends at {float(last):g} quarter notes.")
        span = Span(start, min(end, last))
        yield Place(f"span-{float(start):g}-{float(end):g}", "", span)
    if chosen.pages:
        for number, span in enumerate(page_spans(document, source), start=1):
            yield Place(f"page-{number}", f"Page {number}", span)


def _tell_of(number: int, count: int, name: str) -> None:
    tell(f"{number + 1}/{count} {name}")
