"""How long a song's full set of pictures takes, against the same frames made bare.

The set: 60 stills, 20 cards and reveals of ten marks, in full HD. *Set* is everything from the
review to the files: choosing measures, engraving, layout, painting, packing, writing. *Bare* is,
for the same frames, verovio's loading and drawing of their measures, once for each passage, Qt's
painting of their shapes, and the packing to PNG. Both are measured frame by frame in turn, since a
busy machine makes single figures worthless. Sizes and the peak of memory are told without a limit.
"""

from __future__ import annotations

import resource
import tempfile
import time
from collections.abc import Iterable
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import Any, Final

import verovio

import sample_scores
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source
from app.engraving.copies import copy_for
from app.engraving.layouts import Layout
from app.export.card_layouts import lay_out_card
from app.export.folders import write_file
from app.export.frames import FULL_HD, Frame, Picture
from app.export.passages import Contents, parts_for
from app.export.picture_files import picture_bytes
from app.export.pictures import paint_picture, png_bytes
from app.export.reveal_layouts import lay_out_reveal
from app.export.reveals import paint_reveal
from app.export.still_layouts import lay_out_still
from app.review.document import Document, ReviewedMark, SourceInfo

LIMIT: Final = 1.5
#: A song of 46 measures.
SONG: Final = "kettle-wont-sing"
STILLS: Final = 60
CARDS: Final = 20
REVEALS: Final = 10


def measure() -> list[dict[str, Any]]:
    """The ratio of the set to the bare frames, and the peak of memory of a glowing 4K still."""
    source, document = _song()
    # Marks that are too unsure to be shown have pictures of the same kinds.
    marks = sorted(document.marks(), key=lambda m: -m.mark.confidence)[:STILLS]
    clock = FrameClock(source)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        # Letters and signs are read from their fonts once a process, on both sides.
        paint_picture(FULL_HD, lay_out_still(document, source, marks[0], FULL_HD).pieces)
        # A song has fewer marks than that; the second time round they are shown without words.
        for at in range(STILLS):
            contents = Contents(lyrics=at < len(marks))
            reviewed = marks[at % len(marks)]
            clock.time_still(document, reviewed, contents, folder / f"still-{at}")
        for at, reviewed in enumerate(islice(marks, CARDS)):
            clock.time_card(document, reviewed, folder / f"card-{at}")
        for at, reviewed in enumerate(islice(marks, REVEALS)):
            clock.time_reveal(document, reviewed, folder / f"reveal-{at}")
        files = list(folder.rglob("*.png"))
        size = sum(path.stat().st_size for path in files) / 2**20
    ratio = clock.whole / clock.bare
    return [
        {
            "name": "pictures of a song against bare frames",
            "value": ratio,
            "limit": LIMIT,
            "holds": ratio <= LIMIT,
            "files": len(files),
            "set_seconds": clock.whole,
            "bare_seconds": clock.bare,
            "bare_engraving_seconds": clock.engraving,
            "bare_painting_seconds": clock.painting,
            "bare_packing_seconds": clock.packing,
            "megabytes": size,
        },
        _memory(document, source, marks[0]),
    ]


def _song() -> tuple[Source, Document]:
    path = Path(sample_scores.__path__[0]) / f"{SONG}.musicxml"
    source = read_source(path)
    score = read_score(source)
    info = SourceInfo(source.name, str(path), source.digest)
    return source, Document(info, score, analyse(score))


class FrameClock:
    """Times frames both ways, in seconds."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self.whole = self.engraving = self.painting = self.packing = 0.0

    @property
    def bare(self) -> float:
        return self.engraving + self.painting + self.packing

    def time_still(
        self, document: Document, reviewed: ReviewedMark, contents: Contents, path: Path
    ) -> None:
        start = time.perf_counter()
        picture = lay_out_still(document, self._source, reviewed, FULL_HD, contents)
        write_file(path / "still.png", picture_bytes(picture, "png"))
        self.whole += time.perf_counter() - start
        self._engrave(document, reviewed, picture.measures)
        self._paint(FULL_HD, [picture])

    def time_card(self, document: Document, reviewed: ReviewedMark, path: Path) -> None:
        start = time.perf_counter()
        picture = lay_out_card(document, self._source, reviewed, FULL_HD).picture(FULL_HD)
        write_file(path / "card.png", picture_bytes(picture, "png"))
        self.whole += time.perf_counter() - start
        self._engrave(document, reviewed, picture.measures)
        self._paint(FULL_HD, [picture])

    def time_reveal(self, document: Document, reviewed: ReviewedMark, path: Path) -> None:
        start = time.perf_counter()
        reveal = lay_out_reveal(document, self._source, reviewed, FULL_HD)
        for at, (step, images) in enumerate(zip(reveal.steps, paint_reveal(reveal), strict=True)):
            for number, image in enumerate(images):
                write_file(path / f"{at}-{step.name}-{number}.png", png_bytes(image))
        self.whole += time.perf_counter() - start
        self._engrave(document, reviewed, reveal.measures)
        shown: list[Picture] = []
        for step in reveal.steps:
            pieces = (*(shown[-2].pieces if shown else ()), *step.pieces)
            plates = (*(shown[-2].plates if shown else ()), *step.plates)
            shown += [
                Picture(FULL_HD, pieces, plates),
                Picture(FULL_HD, step.pieces, step.plates),
            ]
        self._paint(FULL_HD, shown)

    def _engrave(
        self,
        document: Document,
        reviewed: ReviewedMark,
        passages: Iterable[tuple[int, int]],
    ) -> None:
        """Verovio alone: each passage loaded and drawn once, its copy made beforehand."""
        for first, last in passages:
            parts = parts_for(document, reviewed)
            layout = Layout(one_system=True, parts=parts, first=first, last=last)
            copy = copy_for(self._source.musicxml, layout)
            start = time.perf_counter()
            toolkit = verovio.toolkit()
            toolkit.setOptions({"breaks": "none", "adjustPageWidth": True, "scale": 100})
            toolkit.loadData(copy.musicxml)
            toolkit.renderToSVG(1)
            self.engraving += time.perf_counter() - start

    def _paint(self, frame: Frame, pictures: Iterable[Picture]) -> None:
        for picture in pictures:
            start = time.perf_counter()
            image = paint_picture(frame, picture.pieces, picture.plates)
            painted = time.perf_counter()
            png_bytes(image)
            self.packing += time.perf_counter() - painted
            self.painting += painted - start


def _memory(document: Document, source: Source, reviewed: ReviewedMark) -> dict[str, Any]:
    """The peak of this process's memory after a 4K still with a glow, in megabytes."""
    frame = replace(Frame(3840, 2160), backing="glow")
    picture = lay_out_still(document, source, reviewed, frame)
    png_bytes(paint_picture(frame, picture.pieces, picture.plates))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {
        "name": "peak of memory of 4K stills, MB",
        "value": peak,
        "limit": 1024.0,
        "holds": peak < 1024,
    }
