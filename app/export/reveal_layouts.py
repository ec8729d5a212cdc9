"""The layout of reveals: one frame that is built up step by step, nothing in it moving.

A reveal is laid out once, as it looks at the end, and then taken apart. Each step is what it adds:
its shapes in their final places, and plates that appear with it. A step's frame is the last one
with the step painted over it, so the added pictures laid over each other are the full ones, and an
editor may fade in either.

Steps, of which any may be chosen in any order: the *score*; chord *symbols*; *numerals*;
*functions*; *keys*; the *mark* in question, its rings, brackets and words, and what it means in the
accent's tone; the *sentence* below.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.errors import ExportError
from analysis.sources import Source
from app.engraving.bounds import shape_edges
from app.engraving.labels import Label, Layer, Toned
from app.engraving.musictext import SetText
from app.engraving.pages import Box, PathShape
from app.export.excerpts import Excerpt, frames_around
from app.export.frames import GLOW, OUTLINE, Frame, Piece
from app.export.legibility import text_warnings
from app.export.passages import SUITING, Contents, meant_marks
from app.export.reveal_steps import STEPS, USUAL, StepName
from app.export.sentences import CAPITAL, height_of, set_sentence, toned_lines
from app.export.still_layouts import compose_still, engrave_still
from app.review.document import Document, ReviewedMark

_LAYERS: Final[dict[StepName, Layer]] = {
    "numerals": "numerals",
    "functions": "functions",
    "keys": "keys",
}
#: Space between the plates of the music and of the sentence, against the frame's shorter side.
_BETWEEN: Final = 0.022


@dataclass(frozen=True, slots=True)
class Step:
    """What a step adds."""

    name: StepName
    pieces: tuple[Piece, ...]
    plates: tuple[Box, ...]

    def boxes(self, frame: Frame) -> Iterator[Box]:
        """Boxes in pixels outside of which the step changes nothing."""
        reach = 1.0
        if frame.backing == "plate":
            yield from self.plates
        elif frame.backing == "outline":
            reach += OUTLINE * frame.shorter
        elif frame.backing == "glow":
            reach += (2 * OUTLINE + 2 * GLOW) * frame.shorter
        for strokes, scale, x, y in self.pieces:
            for stroke in strokes:
                left, top, right, bottom = shape_edges(stroke.shape)
                # An outline has round ends, which a thick line with straight ones has not.
                thick = stroke.shape.stroke if isinstance(stroke.shape, PathShape) else 0.0
                around = reach + thick * scale / 2
                yield (
                    x + left * scale - around,
                    y + top * scale - around,
                    (right - left) * scale + 2 * around,
                    (bottom - top) * scale + 2 * around,
                )


@dataclass(frozen=True, slots=True)
class Reveal:
    """A frame and its steps in order; the rest as for pictures."""

    frame: Frame
    steps: tuple[Step, ...]
    measures: tuple[tuple[int, int], ...]
    text_height: float
    warnings: tuple[str, ...]


def lay_out_reveal(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    steps: Sequence[StepName] = USUAL,
    contents: Contents = SUITING,
) -> Reveal:
    """The reveal of a mark.

    Parameters
    ----------
    document, source
        The review and its source.
    reviewed
        The mark in question.
    frame
        Size, ink, backing and theme.
    steps
        What is added, in order; what is not named is not shown.
    contents
        Parts and what else of the score is shown; its layers are those of the steps.

    Raises
    ------
    ExportError
        If a step is unknown or named twice, or there is none.
    EngravingError
        If the measures cannot be engraved.
    """
    _check(steps)
    layers = frozenset(_LAYERS[step] for step in steps if step in _LAYERS)
    contents = replace(
        contents, layers=layers, chord_symbols="symbols" in steps and contents.chord_symbols
    )
    inside = frame.title_safe[2] - 2 * frame.padding
    words = set_sentence(reviewed.sentence, frame, inside) if "sentence" in steps else ()
    below = height_of(words) + 2 * frame.padding + _BETWEEN * frame.shorter if words else 0.0
    x, y, width, height = frame.title_safe
    room = (x, y, width, height - below)
    still = engrave_still(document, source, reviewed, frame, contents, room)
    pieces, plate = compose_still(still, frame, room)
    added: dict[StepName, list[Piece]] = {step: [] for step in STEPS}
    for excerpt, piece in zip(still.excerpts, pieces, strict=True):
        for step, strokes in _taken_apart(document, reviewed, excerpt).items():
            if strokes:
                added[step].append(piece._replace(strokes=strokes))
    plates: dict[StepName, Box] = {}
    if words:
        alone = plate
        plate, panel = _together(alone, words, frame)
        down = plate[1] - alone[1]
        added = {
            step: [piece._replace(y=piece.y + down) for piece in own] for step, own in added.items()
        }
        left, top = panel[0] + frame.padding, panel[1] + frame.padding
        added["sentence"].append(Piece(list(toned_lines(words, left, top))))
        plates["sentence"] = panel
    first = next((step for step in steps if step != "sentence"), None)
    if first is not None:
        plates[first] = plate
    heights = [excerpt.text_height for excerpt in still.excerpts if excerpt.text_height]
    height_of_text = min([*heights, *(CAPITAL * line.size for line in words)], default=0.0)
    shown = tuple(
        Step(step, tuple(added[step]), (plates[step],) if step in plates else ())
        for step in steps
        if added[step]
    )
    measures = tuple((one.passage.first, one.passage.last) for one in still.excerpts)
    warnings = text_warnings(height_of_text, frame)
    return Reveal(frame, shown, measures, height_of_text, warnings)


def _check(steps: Sequence[StepName]) -> None:
    if not steps:
        raise ExportError(f"A reveal needs a step; there are {', '.join(STEPS)}.")
    for at, step in enumerate(steps):
        if step not in STEPS:
            raise ExportError(f"“{step}” is no step of a reveal; there are {', '.join(STEPS)}.")
        if step in steps[:at]:
            raise ExportError(f"The step “{step}” comes twice; each can come once.")


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
    return next(step for step, own in _LAYERS.items() if own == layer)


def _together(plate: Box, words: Sequence[SetText], frame: Frame) -> tuple[Box, Box]:
    """The plates of music and sentence one under the other, in the middle of the frame."""
    _, _, width, height = plate
    _, safe_top, safe_width, safe_height = frame.title_safe
    between, own = _BETWEEN * frame.shorter, height_of(words) + 2 * frame.padding
    wide = max(width, max(line.width for line in words) + 2 * frame.padding)
    wide = min(wide, safe_width)
    top = safe_top + (safe_height - height - between - own) / 2
    left = (frame.width - wide) / 2
    # Both are as wide as the wider, so that their edges make one column.
    return (left, top, wide, height), (left, top + height + between, wide, own)
