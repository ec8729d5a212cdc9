"""Stills: what is in them, measured on their pixels, and the files they are written to."""

from __future__ import annotations

import json
import os
import stat
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtGui import QImage

from analysis.errors import ExportError
from analysis.marks import ChordDifference, Mark, Repeat
from app.engraving.metrics import CAP_HEIGHT, UNITS_PER_EM
from app.engraving.pages import Box, TextShape
from app.export import pictures
from app.export.excerpts import Excerpt
from app.export.file_names import picture_names
from app.export.folders import write_file
from app.export.frames import Backing, Frame, Ink, Piece
from app.export.passages import meant_marks, passages_of
from app.export.pictures import paint_picture, png_bytes
from app.export.still_layouts import Still, compose_still, engrave_still
from app.export.stills import write_stills
from app.review.document import Document, ReviewedMark
from tests.app.pixels import Cover, Pixels, box_of, contrast_around, coverage, rgba_of, within
from tests.app.reviews import SAMPLES, line_mark, melody_mark, read_sample, repeat_mark

SONG = SAMPLES[0]
#: Lengths follow the frame, so most is measured on small frames, which are quick.
HD = Frame(1280, 720)
FRAMES = {
    "wide": HD,
    "upright": Frame(540, 960),
    "square": Frame(540, 540),
    "small": Frame(426, 240),
}


def _document(*marks: Mark) -> Document:
    return replace(read_sample(SONG)[1], own_marks=marks)


@cache
def _points() -> tuple[Document, tuple[ReviewedMark, ...]]:
    """A review of the song with a mark of every kind that has a picture of its own."""
    score = read_sample(SONG)[1].score
    voice = [note for note in score.parts[0].notes if note.pitch is not None]
    bass = [note for note in score.parts[-1].notes if note.pitch is not None]
    marks = (
        melody_mark(voice[5], "chord tone", "♭3"),
        line_mark(bass[10:16]),
        repeat_mark(score, (4, 5), (8, 9), True),
    )
    document = _document(*marks)
    chord = next(m for m in document.shown_marks() if "V⁷/" in m.label)
    own = tuple(document.mark(mark.id) for mark in marks)
    return document, (chord, *own)


def _engraved(reviewed: ReviewedMark, frame: Frame) -> Still:
    return engrave_still(_points()[0], read_sample(SONG)[0], reviewed, frame)


def _excerpts(reviewed: ReviewedMark, frame: Frame) -> tuple[Excerpt, ...]:
    return _engraved(reviewed, frame).excerpts


@cache
def _still(at: int, frame: Frame) -> tuple[Still, list[Piece], Pixels]:
    still = _engraved(_points()[1][at], frame)
    pieces, plate = compose_still(still, frame)
    return still, pieces, rgba_of(paint_picture(frame, pieces, [plate]))


KINDS = range(4)


@pytest.mark.parametrize("at", KINDS)
@pytest.mark.parametrize("name", FRAMES)
def test_everything_is_inside_the_title_safe_area(at: int, name: str) -> None:
    frame = FRAMES[name]
    _, _, picture = _still(at, frame)
    assert picture.shape == (frame.height, frame.width, 4)
    box = box_of(picture[:, :, 3] > 0)
    assert within(box, frame.title_safe)
    # It fills a good part of the frame, in one direction at least.
    assert max(box[2] / frame.width, box[3] / frame.height) > 0.6


@pytest.mark.parametrize("at", KINDS)
def test_without_a_plate_alpha_is_nothing_outside_the_ink(at: int) -> None:
    frame = replace(HD, backing="none")
    _, pieces, picture = _still(at, frame)
    ink = coverage(frame, pieces)
    assert np.array_equal(picture[:, :, 3] > 0, ink > 0)


def test_alpha_is_straight() -> None:
    # A half covered pixel keeps the ink's own colour; premultiplied it would be darker or lighter.
    frame = replace(HD, backing="none", ink="light")
    _, _, picture = _still(0, frame)
    alpha = picture[:, :, 3]
    half = picture[(alpha > 0.4) & (alpha < 0.6)][:, :3]
    ink = np.array([0xEC, 0xEC, 0xEC]) / 255
    accent = np.array([0x56, 0xB4, 0xE9]) / 255
    away = np.minimum(abs(half - ink).max(axis=1), abs(half - accent).max(axis=1))
    assert np.quantile(away, 0.9) < 0.02


@pytest.mark.parametrize("ink", ["dark", "light"])
@pytest.mark.parametrize("backing", ["plate", "outline", "glow"])
@pytest.mark.parametrize("footage", [0.0, 0.5, 1.0])
def test_labels_can_be_read_over_any_footage(ink: Ink, backing: Backing, footage: float) -> None:
    frame = replace(HD, ink=ink, backing=backing)
    _, _, picture = _still(0, frame)
    everything, texts = _covers()
    for text in texts:
        assert contrast_around(picture, text, everything, footage) >= 4.5


@cache
def _covers() -> tuple[Cover, list[Cover]]:
    """What all ink of the first still covers, and what its texts in ink and in accent cover."""
    _, pieces, _ = _still(0, HD)
    (piece,) = pieces
    labels = [s for s in piece.strokes if isinstance(s.shape, TextShape)]
    texts = [[s for s in labels if s.tone == tone] for tone in ("ink", "accent")]
    assert all(texts)
    covers = [coverage(HD, [piece._replace(strokes=text)]) for text in texts]
    return coverage(HD, pieces), covers


@pytest.mark.parametrize("at", KINDS)
@pytest.mark.parametrize("name", ["wide", "small"])
def test_labels_are_large_enough_for_a_telephone(at: int, name: str) -> None:
    frame = FRAMES[name]
    still, pieces, _ = _still(at, frame)
    excerpts = still.excerpts
    # Two passages one above the other share the height, so their text may be smaller.
    least = frame.least_text * (1.0 if len(excerpts) == 1 else 0.6)
    for excerpt in excerpts:
        assert excerpt.text_height >= least
    # Measured on the painted capitals of the functions and numerals.
    for piece, excerpt in zip(pieces, excerpts, strict=True):
        for label in excerpt.overlay.labels:
            letters = [
                s
                for s in piece.strokes
                if isinstance(s.shape, TextShape)
                and s.shape.text in "TSDIV"
                and _in(s.shape, label.box)
            ]
            em = max((s.shape.size for s in letters if isinstance(s.shape, TextShape)), default=0)
            if em:
                assert em * piece.scale * CAP_HEIGHT / UNITS_PER_EM >= 0.98 * least


def _in(shape: TextShape, box: tuple[float, float, float, float]) -> bool:
    x, y, width, height = box
    return x - 1 <= shape.x <= x + width and y <= shape.y <= y + height + 1


def test_an_excerpt_holds_exactly_its_measures_and_the_mark() -> None:
    document, points = _points()
    for reviewed in points:
        passages = passages_of(document, reviewed)
        for passage, excerpt in zip(passages, _excerpts(reviewed, HD), strict=True):
            shown = [m.index for system in excerpt.page.systems for m in system.measures]
            assert shown == list(range(excerpt.passage.first, excerpt.passage.last + 1))
            assert set(shown) >= set(range(passage.first, passage.last + 1))
            assert len(shown) <= 4
            start = document.score.measure_at(reviewed.mark.span.start).index
            assert len(passages) == 2 or start in shown
            labelled = {label.mark for label in excerpt.overlay.labels}
            areas = {area.mark for area in excerpt.overlay.areas}
            assert reviewed.id in labelled | areas or len(passages) == 2


def test_only_the_mark_its_chords_and_its_sign_are_on_a_still() -> None:
    document, points = _points()
    for reviewed in points:
        for excerpt in _excerpts(reviewed, HD):
            for label in excerpt.overlay.labels:
                kind = document.mark(label.mark).mark.kind
                assert kind in ("chord", "key") or label.mark == reviewed.id


def test_the_chord_that_is_meant_is_framed_and_in_the_accents_tone() -> None:
    reviewed = _points()[1][0]
    (excerpt,) = _excerpts(reviewed, HD)
    own = [stroke for stroke in excerpt.strokes if stroke.shape.element == reviewed.id]
    assert own
    assert {stroke.tone for stroke in own} == {"accent"}
    symbol = reviewed.mark.fact.symbol  # type: ignore[union-attr]
    tones = {stroke.tone for stroke in excerpt.strokes if stroke.shape.element == symbol}
    assert tones == {"accent"}


def _boxes(still: Still, pieces: list[Piece]) -> list[Box]:
    return [
        (p.x + e.box[0] * p.scale, p.y + e.box[1] * p.scale, e.width, e.height)
        for e, p in zip(still.excerpts, pieces, strict=True)
    ]


@pytest.mark.parametrize("frame", [HD, FRAMES["upright"]], ids=["wide", "upright"])
def test_a_repeat_shows_both_passages_at_one_scale_apart_from_each_other(frame: Frame) -> None:
    still, pieces, _ = _still(3, frame)
    assert [excerpt.passage.first for excerpt in still.excerpts] == [4, 8]
    assert pieces[0].scale == pytest.approx(pieces[1].scale, rel=0.02)
    first, second = _boxes(still, pieces)
    if still.beside:
        assert first[0] + first[2] < second[0]
    else:
        assert first[1] + first[3] < second[1]


def test_passages_side_by_side_have_their_staves_level() -> None:
    excerpts = _excerpts(_points()[1][3], HD)
    pieces, _ = compose_still(Still(excerpts, True), HD)
    staves = [
        piece.y + excerpt.page.systems[0].measures[0].box[1] * piece.scale
        for piece, excerpt in zip(pieces, excerpts, strict=True)
    ]
    assert staves[0] == pytest.approx(staves[1])


def test_the_chords_in_which_a_repeat_differs_are_meant() -> None:
    document, _ = _points()
    chords = [m for m in document.shown_marks() if m.mark.kind == "chord"]
    mark = repeat_mark(document.score, (4, 5), (8, 9), True)
    assert isinstance(mark.fact, Repeat)
    change = ChordDifference(
        chords[5].mark.span.start, chords[9].mark.span.start, chords[5].label, chords[9].label
    )
    fact = replace(mark.fact, differences=(change,))
    meant = meant_marks(document, ReviewedMark(replace(mark, fact=fact), None))
    assert meant == {mark.id, chords[5].id, chords[9].id}


def _only(document: Document, *points: ReviewedMark) -> Document:
    """The document with these talking points alone: the analysis ranks none."""
    unranked = tuple(replace(mark, rank=None) for mark in document.analysis.marks)
    analysis = replace(document.analysis, marks=unranked)
    return replace(document, analysis=analysis, order=tuple(m.id for m in points))


def test_files_and_manifest(tmp_path: Path) -> None:
    source, _ = read_sample(SONG)
    document, points = _points()
    document = _only(document, *points[:3])
    told: list[tuple[int, int, str]] = []
    frame = Frame(426, 240)
    files = write_stills(
        document, source, tmp_path / "new" / "folder", frame, lambda *a: told.append(a)
    )
    assert [path.name for path in files[:-1]] == [name for _, _, name in told]
    assert [number for number, _, _ in told] == list(range(3))
    rows = json.loads(files[-1].read_text(encoding="utf-8"))
    assert [row["file"] for row in rows] == [path.name for path in files[:-1]]
    for row, reviewed in zip(rows, points, strict=False):
        assert row["mark"] == reviewed.id
        assert row["span"] == {
            "onset": float(reviewed.mark.span.start),
            "duration": float(reviewed.mark.span.duration),
        }
        image = QImage(str(files[-1].parent / row["file"]))
        assert row["size"] == [image.width(), image.height()] == [426, 240]
        assert image.hasAlphaChannel()
        assert not image.textKeys()
    assert sorted(p.name for p in files[-1].parent.iterdir()) == sorted(p.name for p in files)


def test_the_same_input_gives_the_same_bytes_and_touches_nothing_again(tmp_path: Path) -> None:
    source, _ = read_sample(SONG)
    document, points = _points()
    document = _only(document, points[0], points[1])
    first = write_stills(document, source, tmp_path / "a", Frame(426, 240))
    second = write_stills(document, source, tmp_path / "b", Frame(426, 240))
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]
    stamps = [p.stat().st_mtime_ns for p in first]
    write_stills(document, source, tmp_path / "a", Frame(426, 240))
    assert [p.stat().st_mtime_ns for p in first] == stamps


def test_what_the_progress_raises_leaves_whole_files_only(tmp_path: Path) -> None:
    class StoppedError(Exception):
        pass

    def stop(done: int, count: int, name: str) -> None:
        if done == 1:
            raise StoppedError

    source, _ = read_sample(SONG)
    document, points = _points()
    document = _only(document, *points)
    with pytest.raises(StoppedError):
        write_stills(document, source, tmp_path, Frame(426, 240), stop)
    (only,) = tmp_path.iterdir()
    assert not QImage(str(only)).isNull()


def test_a_full_disk_ends_in_words_and_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    path = tmp_path / "still.png"
    path.write_bytes(b"before")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ExportError, match=r"still\.png.*No space left"):
        write_file(path, b"after")
    assert path.read_bytes() == b"before"
    assert [p.name for p in tmp_path.iterdir()] == ["still.png"]


def test_a_file_in_the_folders_place_ends_in_words(tmp_path: Path) -> None:
    (tmp_path / "taken").write_bytes(b"")
    with pytest.raises(ExportError, match="Free some space or choose another folder"):
        write_file(tmp_path / "taken" / "still.png", b"")


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_permission_ends_in_words(tmp_path: Path) -> None:
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    with pytest.raises(ExportError):
        write_file(tmp_path / "still.png", b"")


@pytest.mark.parametrize("size", [(0, 1080), (1920, 100), (20000, 1080), (-5, -5)])
def test_sizes_that_cannot_be_painted_are_refused_in_words(size: tuple[int, int]) -> None:
    with pytest.raises(ExportError, match="each side must be"):
        Frame(*size)


def test_the_usual_frame_and_the_largest_have_their_sizes() -> None:
    for frame in (Frame(), Frame(3840, 2160)):
        still = _engraved(_points()[1][0], frame)
        pieces, plate = compose_still(still, frame)
        image = paint_picture(frame, pieces, [plate])
        assert (image.width(), image.height()) == (frame.width, frame.height)
        assert still.excerpts[0].text_height >= frame.least_text
        assert within(plate, frame.title_safe)


def test_a_ground_makes_the_picture_opaque() -> None:
    image = paint_picture(Frame(640, 360, ground="#336699"), [])
    picture = rgba_of(image)
    assert (picture[:, :, 3] == 1).all()
    assert tuple(picture[0, 0, :3] * 255) == (0x33, 0x66, 0x99)


def test_png_holds_no_date_and_no_text() -> None:
    content = png_bytes(paint_picture(Frame(426, 240), []))
    kinds = []
    at = 8
    while at < len(content):
        length = int.from_bytes(content[at : at + 4])
        kinds.append(content[at + 4 : at + 8])
        at += 12 + length
    assert set(kinds) <= {b"IHDR", b"pHYs", b"IDAT", b"IEND", b"sRGB", b"gAMA", b"cHRM"}
    assert pictures.png_bytes(paint_picture(Frame(426, 240), [])) == content


def test_names_of_files_are_plain_and_say_where() -> None:
    document, points = _points()
    odd = ReviewedMark(replace(points[1].mark, label='V⁷/vi: "über" <a|b>?* ' + "x" * 200), None)
    plain, long = picture_names(document, [points[1], odd])
    assert plain == "01-m5-melody-b3"
    assert long.startswith("02-m5-melody-V7-vi-uber-a-b-x")
    assert len(long) < 64
    assert long.isascii()


def test_a_comparison_shows_no_directions_and_a_single_passage_does() -> None:
    _, points = _points()
    (single,) = _excerpts(points[0], HD)
    compared = _excerpts(points[3], HD)
    directions = {"reh", "dir", "dynam", "hairpin", "tempo"}
    assert {shape.role for shape in single.page.shapes} & directions
    for excerpt in compared:
        assert not {shape.role for shape in excerpt.page.shapes} & directions
