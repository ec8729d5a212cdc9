"""Reveals as files: a numbered sequence for each talking point, one frame a step.

``03-m14-chord-V7-vi-2-symbols.png`` is the whole frame after the second step,
``03-m14-chord-V7-vi-2-symbols-added.png`` only what that step adds, both of the frame's size. Laid
over each other from the first on, the added ones give the whole frames to within rounding. On a
ground the whole frames stand on it; the added ones are transparent, to be laid over it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import repeat
from pathlib import Path

from PySide6.QtGui import QImage

from analysis.reading.sources import Source
from app.export.file_names import PATTERN, named_points
from app.export.frames import FULL_HD, Frame, Picture
from app.export.manifests import Progress, about_mark
from app.export.passages import SUITING, Contents
from app.export.picture_files import PNG, Drawn, Ending, Wanted, write_pictures
from app.export.pictures import paint_over, paint_picture, png_bytes
from app.export.reveal_layouts import Reveal, lay_out_reveal
from app.export.reveal_steps import USUAL, StepName
from app.review.document import Document, ReviewedMark


def paint_reveal(reveal: Reveal) -> Iterator[tuple[QImage, QImage]]:
    """For each step the whole frame, and what the step adds."""
    frame = reveal.frame
    bare = replace(frame, ground=None)
    whole = paint_picture(frame, [])
    for step in reveal.steps:
        paint_over(whole, frame, step.pieces, step.plates)
        yield whole.copy(), paint_picture(bare, step.pieces, step.plates)


def write_reveals(
    document: Document,
    source: Source,
    folder: Path,
    frame: Frame = FULL_HD,
    progress: Progress | None = None,
    steps: Sequence[StepName] = USUAL,
    contents: Contents = SUITING,
    pattern: str = PATTERN,
    chosen: Collection[str] | None = None,
    endings: Sequence[Ending] = PNG,
) -> list[Path]:
    """A reveal of each talking point, and the manifest; as `app.export.stills.write_stills`.

    ``steps`` are what is added, in order; a whole frame stands before what its step adds.

    Raises
    ------
    ExportError
        If a file cannot be written or the steps are none.
    EngravingError
        If an excerpt cannot be engraved.
    """

    def wanted(reviewed: ReviewedMark, name: str) -> Wanted:
        def draw() -> Iterator[Drawn]:
            reveal = lay_out_reveal(document, source, reviewed, frame, steps, contents)
            return _drawn(reveal, painted="png" in endings)

        return Wanted(name, reviewed.sentence, about_mark(reviewed), draw)

    points = [wanted(*point) for point in named_points(document, pattern, chosen)]
    return write_pictures(document, folder, points, endings, progress)


def _drawn(reveal: Reveal, *, painted: bool) -> Iterator[Drawn]:
    """The frame after each step, and what the step adds."""
    bare = replace(reveal.frame, ground=None)
    facts = Picture(reveal.frame, (), (), reveal.measures, reveal.text_height, reveal.warnings)
    images = paint_reveal(reveal) if painted else repeat((QImage(), QImage()))
    below: tuple[Picture, ...] = ()
    for at, (step, (whole, added)) in enumerate(zip(reveal.steps, images, strict=False), start=1):
        alone = replace(facts, pieces=step.pieces, plates=step.plates)
        more = {"step": step.name, "number": at}
        part = f"-{at}-{step.name}"
        yield Drawn(
            replace(alone, under=below), part, {**more, "added_only": False},
            partial(png_bytes, whole),
        )  # fmt: skip
        yield Drawn(
            replace(alone, frame=bare), f"{part}-added", {**more, "added_only": True},
            partial(png_bytes, added),
        )  # fmt: skip
        below = (*below, alone)
