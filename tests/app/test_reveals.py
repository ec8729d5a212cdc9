"""Reveals: every step stands where it stood, and the steps laid over each other are the whole."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QImage

from analysis.errors import ExportError
from app.export.frames import Backing, Frame
from app.export.reveal_layouts import Reveal, lay_out_reveal
from app.export.reveal_steps import STEPS, USUAL, StepName
from app.export.reveals import paint_reveal, write_reveals
from app.review.document import Document, ReviewedMark
from tests.app.pixels import Pixels, box_of, rgba_of, title_safe, within
from tests.app.reviews import SAMPLES, melody_mark, read_sample, repeat_mark

SONG = SAMPLES[0]
SMALL = Frame(640, 360)


@cache
def _points() -> tuple[Document, tuple[ReviewedMark, ...]]:
    document = read_sample(SONG)[1]
    voice = [note for note in document.score.parts[0].notes if note.pitch is not None]
    marks = (
        melody_mark(voice[5], "chord tone", "♭3"),
        repeat_mark(document.score, (4, 5), (8, 9), True),
    )
    document = replace(document, own_marks=marks)
    chord = next(m for m in document.shown_marks() if "V⁷/" in m.label)
    return document, (chord, *(document.mark(mark.id) for mark in marks))


def _reveal(at: int, frame: Frame, steps: tuple[StepName, ...] = USUAL) -> Reveal:
    document, points = _points()
    return lay_out_reveal(document, read_sample(SONG)[0], points[at], frame, steps)


@cache
def _painted(at: int, frame: Frame) -> tuple[Reveal, list[tuple[Pixels, Pixels]]]:
    reveal = _reveal(at, frame)
    return reveal, [(rgba_of(whole), rgba_of(added)) for whole, added in paint_reveal(reveal)]


def _laid_over(above: Pixels, below: Pixels) -> Pixels:
    """Straight alpha over straight alpha, as an editor composes them (Porter & Duff)."""
    a, b = above[:, :, 3:], below[:, :, 3:]
    alpha = a + b * (1 - a)
    mixed = above[:, :, :3] * a + below[:, :, :3] * b * (1 - a)
    colours = np.divide(mixed, alpha, out=np.zeros_like(mixed), where=alpha > 0)
    return np.concatenate([colours, alpha], axis=2)


@pytest.mark.parametrize("at", range(3))
@pytest.mark.parametrize("backing", ["plate", "outline", "glow", "none"])
def test_the_added_pictures_over_each_other_are_the_whole(at: int, backing: Backing) -> None:
    _, pictures = _painted(at, replace(SMALL, backing=backing))
    composed = np.zeros_like(pictures[0][0])
    for whole, added in pictures:
        composed = _laid_over(added, composed)
        # Colours count as much as they can be seen.
        seen = composed[:, :, :3] * composed[:, :, 3:]
        assert np.abs(seen - whole[:, :, :3] * whole[:, :, 3:]).max() <= 4 / 255
        assert np.abs(composed[:, :, 3] - whole[:, :, 3]).max() <= 3 / 255


@pytest.mark.parametrize("at", range(3))
@pytest.mark.parametrize("backing", ["plate", "outline", "glow"])
def test_a_step_changes_nothing_outside_what_it_adds(at: int, backing: Backing) -> None:
    frame = replace(SMALL, backing=backing)
    reveal, pictures = _painted(at, frame)
    before = np.zeros_like(pictures[0][0])
    for step, (whole, added) in zip(reveal.steps, pictures, strict=True):
        inside = np.zeros(whole.shape[:2], dtype=bool)
        for x, y, width, height in step.boxes(frame):
            left, top = max(int(x), 0), max(int(y), 0)
            inside[top : int(y + height) + 2, left : int(x + width) + 2] = True
        changed = np.abs(whole - before).max(axis=2) > 0
        assert changed.any()
        assert not (changed & ~inside).any()
        assert not ((added[:, :, 3] > 0) & ~inside).any()
        before = whole


@pytest.mark.parametrize("frame", [Frame(1280, 720), Frame(540, 960)], ids=["wide", "upright"])
def test_all_of_it_is_inside_the_title_safe_area(frame: Frame) -> None:
    _, pictures = _painted(0, frame)
    assert within(box_of(pictures[-1][0][:, :, 3] > 0), title_safe(frame.width, frame.height))


def test_steps_are_chosen_and_ordered_by_the_user() -> None:
    steps: tuple[StepName, ...] = ("numerals", "sentence", "score")
    reveal = _reveal(0, SMALL, steps)
    assert tuple(step.name for step in reveal.steps) == steps
    roles = {s.shape.role for step in reveal.steps for piece in step.pieces for s in piece.strokes}
    assert "harm" not in roles
    # The plate of the music comes with the first step that needs it.
    assert [len(step.plates) for step in reveal.steps] == [1, 1, 0]


def test_what_is_meant_turns_to_the_accents_tone_with_its_own_step() -> None:
    reveal = _reveal(0, SMALL)
    tones = {
        step.name: {s.tone for piece in step.pieces for s in piece.strokes} for step in reveal.steps
    }
    assert tones.pop("mark") == {"accent"}
    assert "accent" not in set.union(*tones.values())


def test_every_step_there_is_can_be_had() -> None:
    assert {step.name for step in _reveal(0, SMALL, STEPS).steps} == set(STEPS)


@pytest.mark.parametrize(
    ("steps", "said"),
    [((), "needs a step"), (("score", "score"), "comes twice"), (("notes",), "is no step")],
)
def test_steps_that_cannot_be_are_refused(steps: tuple[StepName, ...], said: str) -> None:
    with pytest.raises(ExportError, match=said):
        _reveal(0, SMALL, steps)


def test_files_are_numbered_and_twice_the_same(tmp_path: Path) -> None:
    document, points = _points()
    document = replace(document, order=(points[0].id,))
    document = replace(document, analysis=replace(document.analysis, marks=(points[0].mark,)))
    source, frame = read_sample(SONG)[0], Frame(426, 240)
    files = write_reveals(document, source, tmp_path / "a", frame)
    again = write_reveals(document, source, tmp_path / "b", frame)
    assert [p.read_bytes() for p in files] == [p.read_bytes() for p in again]
    assert len(files) == 2 * len(USUAL) + 1
    rows = json.loads(files[-1].read_bytes())
    assert [row["file"] for row in rows] == [path.name for path in files[:-1]]
    assert [row["number"] for row in rows] == [n for n in range(1, len(USUAL) + 1) for _ in "ab"]
    assert files[0].name.endswith("-1-score.png")
    assert files[1].name.endswith("-1-score-added.png")
    for path in files[:-1]:
        image = QImage(str(path))
        assert (image.width(), image.height()) == (426, 240)
