"""The music of a reveal, taken apart into what each step adds.

An excerpt's notes are the *score*, its labels go to the steps that are called like their layers,
and what is left is the *mark*. Of a comparison the bands lie behind everything, so they are there
from the first step on; chord symbols come in one tone, and those that differ turn to the accent's
with the mark, as do the degrees and the heads of the notes that have got another role.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from analysis.marks import Repeat
from analysis.reading.sources import Source
from app.engraving.bounds import shape_edges
from app.engraving.comparisons import RowName
from app.engraving.labels import Label, Layer, Toned
from app.engraving.pages import Box
from app.export.comparisons import FittedComparison, fitted_comparisons
from app.export.excerpts import Excerpt, frames_around
from app.export.frames import Frame, Piece
from app.export.passages import Contents, meant_marks
from app.export.reveal_steps import STEPS, StepName
from app.export.still_layouts import compose_still, engrave_still
from app.review.document import Document, ReviewedMark

LAYERS_OF_STEPS: Final[Mapping[StepName, Layer]] = {
    "numerals": "numerals",
    "functions": "functions",
    "keys": "keys",
}
#: The rows of a comparison that steps add.
_ROWS: Final[Mapping[StepName, tuple[RowName, ...]]] = {
    "symbols": ("chords",),
    "numerals": ("numerals",),
    "functions": ("functions",),
    "mark": ("degrees", "heads", "effects"),
}


@dataclass(frozen=True, slots=True)
class RevealMusic:
    """What each step adds, and what lies ``behind`` the first; the rest as for pictures."""

    added: Mapping[StepName, Sequence[Piece]]
    behind: Piece | None
    plate: Box
    measures: tuple[tuple[int, int], ...]
    text_height: float


def lay_out_music(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    contents: Contents,
    room: Box,
    steps: Sequence[StepName],
) -> RevealMusic:
    """The music of a mark's reveal in the middle of a room, in pixels.

    A comparison has no rows of which the steps say nothing.

    Raises
    ------
    EngravingError
        If the measures cannot be engraved.
    """
    if isinstance(reviewed.mark.fact, Repeat) and contents.parts is None:
        left_out = frozenset(
            row for step, rows in _ROWS.items() if step not in steps for row in rows
        )
        compared = next(
            fitted_comparisons(document, source, reviewed, frame, room, contents, left_out)
        )
        return _of_comparison(compared, contents)
    still = engrave_still(document, source, reviewed, frame, contents, room)
    pieces, plate = compose_still(still, frame, room)
    added: dict[StepName, list[Piece]] = {step: [] for step in STEPS}
    for excerpt, piece in zip(still.excerpts, pieces, strict=True):
        for step, strokes in _taken_apart(document, reviewed, excerpt).items():
            if strokes:
                added[step].append(piece._replace(strokes=strokes))
    heights = [excerpt.text_height for excerpt in still.excerpts if excerpt.text_height]
    measures = tuple((one.passage.first, one.passage.last) for one in still.excerpts)
    return RevealMusic(added, None, plate, measures, min(heights, default=0.0))


def _of_comparison(compared: FittedComparison, contents: Contents) -> RevealMusic:
    rows = compared.comparison.rows
    music = [Toned("ink", shape) for page in compared.comparison.pages for shape in page.shapes]
    mark = [stroke for row in _ROWS["mark"] for stroke in rows[row]]
    strokes: dict[StepName, list[Toned]] = {
        "score": [*music, *rows["title"]],
        "numerals": list(rows["numerals"]),
        "functions": list(rows["functions"]),
        "mark": mark,
    }
    if contents.chord_symbols:
        strokes["symbols"] = [Toned("soft", shape) for _, shape in rows["chords"]]
        mark += (stroke for stroke in rows["chords"] if stroke.tone == "accent")
    added = {step: [compared.piece(own)] for step, own in strokes.items() if own}
    return RevealMusic(
        added, compared.piece(compared.bands), compared.plate, compared.measures,
        compared.text_height,
    )  # fmt: skip


def _taken_apart(
    document: Document, reviewed: ReviewedMark, excerpt: Excerpt
) -> dict[StepName, list[Toned]]:
    """The strokes of an excerpt by the step that adds them, before anything is set off."""
    found: dict[StepName, list[Toned]] = {step: [] for step in STEPS}
    for shape in excerpt.page.shapes:
        found["symbols" if shape.role == "harm" else "score"].append(Toned("ink", shape))
    labels: dict[str, list[Label]] = {}
    for label in excerpt.overlay.labels:
        if label.layer in ("numerals", "functions", "keys"):
            labels.setdefault(label.mark, []).append(label)
    for stroke in excerpt.overlay.strokes:
        near = _label_of(stroke, labels.get(stroke.shape.element, ()))
        if near is None or (near.layer == "keys" and near.mark == reviewed.id):
            found["mark"].append(stroke)
        else:
            found[_step_of(near.layer)].append(stroke)
    meant = meant_marks(document, reviewed)
    everything = [*excerpt.strokes]
    accented = {
        id(base.shape): stroke
        for base, stroke in _pairs(found, everything)
        if base.tone != stroke.tone
    }
    found["mark"] = [
        *(stroke for stroke in found["mark"] if id(stroke.shape) not in accented),
        *accented.values(),
        *frames_around(excerpt.overlay, meant),
    ]
    return found


def _pairs(
    found: dict[StepName, list[Toned]], shown: Sequence[Toned]
) -> Iterator[tuple[Toned, Toned]]:
    """Strokes as they are added and as they are shown at the end."""
    final = {id(stroke.shape): stroke for stroke in shown}
    for strokes in found.values():
        for stroke in strokes:
            if id(stroke.shape) in final:
                yield stroke, final[id(stroke.shape)]


def _label_of(stroke: Toned, labels: Sequence[Label]) -> Label | None:
    """The label that a stroke draws or belongs to, of those of its mark."""
    if not labels:
        return None
    _, top, _, bottom = shape_edges(stroke.shape)
    middle = (top + bottom) / 2

    def away(label: Label) -> float:
        _, y, _, height = label.box
        return max(y - middle, middle - y - height, 0.0)

    return min(labels, key=away)


def _step_of(layer: Layer) -> StepName:
    return next(step for step, own in LAYERS_OF_STEPS.items() if own == layer)
