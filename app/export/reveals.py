"""Reveals as files: a numbered sequence for each talking point, one frame a step.

``03-m14-chord-V7-vi-2-symbols.png`` is the whole frame after the second step,
``03-m14-chord-V7-vi-2-symbols-added.png`` only what that step adds, both of the frame's size. Laid
over each other from the first on, the added ones give the whole frames to within rounding. On a
ground the whole frames stand on it; the added ones are transparent, to be laid over it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtGui import QImage

from analysis.sources import Source
from app.export.file_names import PATTERN, named_points
from app.export.folders import write_file
from app.export.frames import FULL_HD, Frame, Picture
from app.export.manifests import MANIFEST, Progress, manifest_bytes, manifest_row
from app.export.passages import SUITING, Contents
from app.export.pictures import paint_over, paint_picture, png_bytes
from app.export.reveal_layouts import Reveal, lay_out_reveal
from app.export.reveal_steps import USUAL, StepName
from app.review.document import Document


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
) -> list[Path]:
    """A reveal of each talking point, and the manifest.

    Parameters
    ----------
    document, source
        The review and its source.
    folder
        Where to; it is made where it is missing.
    frame
        Size, ink, backing and theme.
    progress
        Told of each reveal; what it raises ends the work between two.
    steps
        What is added, in order.
    contents
        Parts and what else of the score is shown.
    pattern, chosen
        How pictures are named, and the ids of the marks that are wanted; see `named_points`.

    Returns
    -------
    list of Path
        The pictures in their order, whole before added, the manifest last.

    Raises
    ------
    ExportError
        If a file cannot be written or the steps are none.
    EngravingError
        If an excerpt cannot be engraved.
    """
    points = named_points(document, pattern, chosen)
    rows, written = [], []
    for number, (reviewed, name) in enumerate(points):
        if progress is not None:
            progress(number, len(points), name)
        reveal = lay_out_reveal(document, source, reviewed, frame, steps, contents)
        picture = Picture(frame, (), (), reveal.measures, reveal.text_height, reveal.warnings)
        images = paint_reveal(reveal)
        for at, (step, both) in enumerate(zip(reveal.steps, images, strict=True), start=1):
            for image, ending, added in zip(both, ("", "-added"), (False, True), strict=True):
                path = folder / f"{name}-{at}-{step.name}{ending}.png"
                write_file(path, png_bytes(image))
                written.append(path)
                more = {"step": step.name, "number": at, "added_only": added}
                rows.append(manifest_row(document, reviewed, path.name, picture, more))
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]
