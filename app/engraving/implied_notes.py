"""Notes of a line that lies in the chords alone, set on the staff as small heads.

The task: a guide-tone line has no notes on the page to join, so its notes are added: heads of the
size of cue notes, without stems, in the tone of lines and joined by strokes, so that nobody takes
them for notes that are played. Each stands at the onset of its chord, on the staff under the chord
symbols, at the height that the clef gives to its name.

Method. A guide tone has a name and no octave, so the line is put in that octave in which it covers
the least ink and, of equal ones, lies nearest to the middle of the staff; its notes then move by
the least step. An accidental is added where the key signature or the line's own last note on that
degree says otherwise. A staff whose notes do not stand where its clef says (a transposing part) is
passed over; where no staff is left nothing is drawn.

References
----------
Size of cue notes, about two thirds of the usual size: engravers' practice (from memory). SMuFL 1.4,
*Clefs* (the origin of a clef lies on the line that it names), *Standard accidentals*.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from analysis.marks import Line
from analysis.pitch import STEPS, PitchName
from analysis.score import Score
from analysis.timebase import Offset
from app.engraving.bounds import shape_box
from app.engraving.labels import Toned
from app.engraving.layouts import STAFF_SPACE
from app.engraving.pages import Box, GlyphShape, Page, PathShape, Shape
from app.engraving.signs import FINE, joined
from app.engraving.timed_systems import TimedSystem
from app.review.document import State

#: Page units to one unit of the music font: the usual size, and that of the small heads.
_FULL: Final = 4 * STAFF_SPACE / 1000
SMALL: Final = 0.72 * _FULL
_HEAD: Final = "E0A4"
_ACCIDENTALS: Final = {-2: "E264", -1: "E260", 0: "E261", 1: "E262", 2: "E263"}
#: Letters of the lines that clefs name; those of percussion and tablature name none.
_CLEFS: Final = {
    **dict.fromkeys(("E050", "E051", "E052", "E053", "E054", "E055"), "G"),
    **dict.fromkeys(("E05C", "E05D", "E05E"), "C"),
    **dict.fromkeys(("E062", "E063", "E064", "E065", "E066"), "F"),
}
_SHARPS: Final = "FCGDAEB"
#: Highest and lowest place of a head, in half spaces below the top line of the staff.
_HIGHEST, _LOWEST = -4, 12
_MIDDLE: Final = 4
_GAP: Final = 0.3 * STAFF_SPACE


@dataclass(frozen=True, slots=True)
class _Staff:
    """A staff by its top line, ``row`` half spaces above a place whose letter is known."""

    top: float
    row: int
    letter: str


@dataclass(frozen=True, slots=True)
class _Head:
    """A note of a line on the page: its name, the left edge of its head, its staff."""

    name: PitchName
    x: float
    accidental: bool
    staff: _Staff = _Staff(0.0, 0, "C")


@dataclass(frozen=True, slots=True)
class _Placed:
    """A head with its place in half spaces below the top line."""

    head: _Head
    row: int

    @property
    def y(self) -> float:
        """The height of its middle."""
        return self.head.staff.top + self.row * STAFF_SPACE / 2

    @property
    def box(self) -> Box:
        """The box of the small head."""
        return shape_box(GlyphShape("", "mark", _HEAD, self.head.x, self.y, SMALL))


def lay_out_implied(
    page: Page, systems: Sequence[TimedSystem], mark: str, line: Line, state: State | None
) -> tuple[list[Toned], list[Box]]:
    """The small notes of a line with the strokes that join them, and the boxes of their heads.

    Both are empty where the page shows none of it or has no staff to set it on.
    """
    heads: list[_Head] = []
    for system in systems:
        own = list(_heads(system, line))
        staff = _staff_for(page, system, line) if own else None
        if staff is not None:
            heads += [replace(head, staff=staff) for head in own]
    if not heads:
        return [], []
    solid = np.array([_edges(shape_box(one)) for one in page.shapes if _is_solid(one.role)])
    placed = _placed(heads, solid.reshape(-1, 4))
    shapes: list[Shape] = [shape for note in placed for shape in _shapes(mark, note)]
    for _, run in groupby(placed, key=lambda note: note.head.staff):
        shapes += _joins(mark, list(run), state)
    return [Toned("line", shape) for shape in shapes], [note.box for note in placed]


def _is_solid(role: str) -> bool:
    return role not in ("staff", "barLine", "ledgerLines", "stem", "slur", "tie")


def _edges(box: Box) -> tuple[float, float, float, float]:
    x, y, width, height = box
    return (x, y, x + width, y + height)


def _heads(system: TimedSystem, line: Line) -> Iterator[_Head]:
    """The notes of a line that a system shows, with whether each needs an accidental."""
    said: dict[str, int] = {}
    for name, at in zip(line.notes, line.implied_at, strict=True):
        if at not in system.span:
            continue
        usual = said.get(name.step, _signature(system.score, at, name.step))
        yield _Head(name, system.x_at(at), name.alter != usual)
        said[name.step] = name.alter


def _signature(score: Score, at: Offset, step: str) -> int:
    """What the key signature in force makes of a letter: -1 flat, 0 natural, 1 sharp."""
    fifths = next((one.fifths for one in reversed(score.key_signatures) if one.onset <= at), 0)
    if fifths >= 0:
        return int(step in _SHARPS[:fifths])
    return -int(step in _SHARPS[fifths:])


def _staff_for(page: Page, system: TimedSystem, line: Line) -> _Staff | None:
    """The staff under the line's chord symbols, else the first one that takes notes."""
    symbols = [page.boxes[one] for one in line.elements if one in page.boxes]
    inside = [box for box in symbols if system.top <= box[1] + box[3] / 2 <= system.bottom]
    high = inside[0][1] + inside[0][3] / 2 if inside else system.top
    staves = system.measures[0].staves
    order = sorted(staves, key=lambda staff: (staff.box[1] + staff.box[3] < high, staff.box[1]))
    for one in order:
        staff = _with_clef(page, system.score, one.box)
        if staff is not None:
            return staff
    return None


def _with_clef(page: Page, score: Score, box: Box) -> _Staff | None:
    """A staff with the line that its clef names, or, without a clef, with its first note.

    None where the clef names no line, or where the first note stands elsewhere than it says.
    """
    top, bottom = box[1], box[1] + box[3]
    clef = next((one for one in _signs(page, "clef") if top <= one.y <= bottom), None)
    reach = 3 * STAFF_SPACE
    names = _names(score)
    heads = (one for one in _signs(page, "notehead") if top - reach < one.y < bottom + reach)
    note = next((one for one in heads if one.element in names), None)
    if clef is None:
        return _staff(top, note.y, names[note.element]) if note else None
    letter = _CLEFS.get(clef.code)
    if letter is None:
        return None
    half_spaces = round((clef.y - note.y) / (STAFF_SPACE / 2)) if note else 0
    read = STEPS[(STEPS.index(letter) + half_spaces) % 7]
    return _staff(top, clef.y, letter) if note is None or read == names[note.element] else None


def _staff(top: float, known: float, letter: str) -> _Staff:
    """A staff whose box begins at a height, exactly as high as what is known on it says."""
    row = round((known - top) / (STAFF_SPACE / 2))
    return _Staff(known - row * STAFF_SPACE / 2, row, letter)


def _signs(page: Page, role: str) -> Iterator[GlyphShape]:
    return (one for one in page.shapes if isinstance(one, GlyphShape) and one.role == role)


def _names(score: Score) -> dict[str, str]:
    """The letter of every pitched note of a score."""
    notes = (note for part in score.parts for note in part.notes)
    return {note.id: note.pitch.name.step for note in notes if note.pitch is not None}


def _placed(heads: Sequence[_Head], solid: NDArray[np.float64]) -> list[_Placed]:
    """Each head at its height, in the octave where the line covers least."""
    degree = STEPS.index(heads[0].name.step)
    degrees = [degree]
    for before, after in pairwise(heads):
        move = STEPS.index(after.name.step) - STEPS.index(before.name.step)
        degrees.append(degrees[-1] + (move + 3) % 7 - 3)
    rows = [
        head.staff.row + STEPS.index(head.staff.letter) - degree
        for head, degree in zip(heads, degrees, strict=True)
    ]

    def in_octave(octave: int) -> list[_Placed]:
        return [_Placed(head, row + 7 * octave) for head, row in zip(heads, rows, strict=True)]

    def cost(placed: Sequence[_Placed]) -> tuple[int, float]:
        # A head far from the staff is as hard to read as one on other ink, by each half space.
        outside = sum(max(_HIGHEST - note.row, note.row - _LOWEST, 0) for note in placed)
        covered = sum(_covered(solid, note.box) for note in placed)
        return outside + covered, abs(sum(note.row for note in placed) / len(placed) - _MIDDLE)

    return min((in_octave(octave) for octave in range(-5, 6)), key=cost)


def _covered(solid: NDArray[np.float64], box: Box) -> int:
    """How many boxes of ink a box lies on."""
    left, top, right, bottom = _edges(box)
    across = (solid[:, 0] < right) & (solid[:, 2] > left)
    return int((across & (solid[:, 1] < bottom) & (solid[:, 3] > top)).sum())


def _accidental(mark: str, note: _Placed) -> GlyphShape:
    code = _ACCIDENTALS[max(-2, min(2, note.head.name.alter))]
    sign = GlyphShape(mark, "mark", code, note.head.x, note.y, SMALL)
    return sign._replace(x=note.head.x - shape_box(sign)[2] - 0.6 * _GAP)


def _shapes(mark: str, note: _Placed) -> Iterator[GlyphShape | PathShape]:
    """One small note: ledger lines, accidental, head."""
    x, _, width, _ = note.box
    for ledger in (*range(-2, note.row - 1, -2), *range(10, note.row + 1, 2)):
        height = note.head.staff.top + ledger * STAFF_SPACE / 2
        points = (x - _GAP, height, x + width + _GAP, height)
        yield PathShape(mark, "mark", "ML", points, False, FINE)
    if note.head.accidental:
        yield _accidental(mark, note)
    yield GlyphShape(mark, "mark", _HEAD, note.head.x, note.y, SMALL)


def _joins(mark: str, notes: Sequence[_Placed], state: State | None) -> Iterator[PathShape]:
    """A stroke from each head to the next one, short of its accidental."""
    for at, (left, right) in enumerate(pairwise(notes)):
        x, _, width, _ = left.box
        start = (x + width + _GAP, left.y)
        sign = shape_box(_accidental(mark, right))[0] if right.head.accidental else right.head.x
        end = (sign - _GAP, right.y)
        # The notch of an edited mark stands once, on the last stroke.
        last = at == len(notes) - 2
        if end[0] > start[0]:
            yield from joined(mark, (start, end), 0.0, state if last or state == "open" else None)
