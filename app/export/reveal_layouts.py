"""The layout of reveals: one frame that is built up step by step, nothing in it moving.

A reveal is laid out once, as it looks at the end, and then taken apart. Each step is what it adds:
its shapes in their final places, and plates that appear with it. A step's frame is the last one
with the step painted over it, so the added pictures laid over each other are the full ones, and an
editor may fade in either.

Steps, of which any may be chosen in any order: the *score*; chord *symbols*; *numerals*;
*functions*; *keys*; the *mark* in question, its rings, brackets and words, and what it means in the
accent's tone; the *sentence* below. The music of a repeat is its comparison, whose bands are there
from the start.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from analysis.reading.sources import Source
from app.engraving.bounds import shape_edges
from app.engraving.musictext import SetText
from app.engraving.pages import Box, PathShape
from app.export.frames import GLOW, OUTLINE, Frame, Piece
from app.export.legibility import text_warnings
from app.export.passages import SUITING, Contents
from app.export.reveal_music import LAYERS_OF_STEPS, lay_out_music
from app.export.reveal_steps import STEPS, USUAL, StepName, check_steps
from app.export.sentences import CAPITAL, height_of, set_sentence, toned_lines
from app.review.document import Document, ReviewedMark

#: Space between the plates of the music and of the sentence, against the frame's shorter side.
_BETWEEN: Final = 0.022
#: Least width of the music against the sentence's plate for both to be as wide.
_COLUMN: Final = 0.75


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
    check_steps(steps)
    layers = frozenset(LAYERS_OF_STEPS[step] for step in steps if step in LAYERS_OF_STEPS)
    contents = replace(
        contents, layers=layers, chord_symbols="symbols" in steps and contents.chord_symbols
    )
    inside = frame.title_safe[2] - 2 * frame.padding
    words = set_sentence(reviewed.sentence, frame, inside) if "sentence" in steps else ()
    below = height_of(words) + 2 * frame.padding + _BETWEEN * frame.shorter if words else 0.0
    x, y, width, height = frame.title_safe
    music = lay_out_music(
        document, source, reviewed, frame, contents, (x, y, width, height - below), steps
    )
    plate = music.plate
    added = {step: list(music.added.get(step, ())) for step in STEPS}
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
    first = next((step for step in steps if step != "sentence" and added[step]), None)
    if first is not None:
        plates[first] = plate
        if music.behind is not None:
            behind = music.behind._replace(y=music.behind.y + plate[1] - music.plate[1])
            added[first].insert(0, behind)
    heights = [music.text_height] if music.text_height else []
    height_of_text = min([*heights, *(CAPITAL * line.size for line in words)], default=0.0)
    shown = tuple(
        Step(step, tuple(added[step]), (plates[step],) if step in plates else ())
        for step in steps
        if added[step]
    )
    warnings = text_warnings(height_of_text, frame)
    return Reveal(frame, shown, music.measures, height_of_text, warnings)


def _together(plate: Box, words: Sequence[SetText], frame: Frame) -> tuple[Box, Box]:
    """The plates of music and sentence one under the other, in the middle of the frame."""
    _, _, width, height = plate
    _, safe_top, safe_width, safe_height = frame.title_safe
    between, own = _BETWEEN * frame.shorter, height_of(words) + 2 * frame.padding
    wide = max(width, max(line.width for line in words) + 2 * frame.padding)
    wide = min(wide, safe_width)
    top = safe_top + (safe_height - height - between - own) / 2
    left = (frame.width - wide) / 2
    # Both are as wide as the wider, so that their edges make one column, unless the music would
    # stand on a plate that is mostly empty.
    music = wide if width >= _COLUMN * wide else width
    alone = ((frame.width - music) / 2, top, music, height)
    return alone, (left, top + height + between, wide, own)
