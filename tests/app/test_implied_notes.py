"""Guide-tone lines as small notes: the right height in any clef, accidentals, strokes."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from analysis.marks import Line
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, source_of
from analysis.score import KeySignature, Score
from app.engraving.bounds import shape_box
from app.engraving.engraver import engrave
from app.engraving.labels import PLAIN, Overlay
from app.engraving.layouts import STAFF_SPACE, Layout
from app.engraving.overlay import lay_out, room
from app.engraving.pages import GlyphShape, Page, PathShape
from app.review.document import Document, ReviewedMark, SourceInfo
from tests.analysis.tunes import tune
from tests.bench.written import to_musicxml

#: C B Bb A Ab G lies in these chords; the melody is far below or above it.
CHORDS = "C:4 Cmaj7:4 C7:4 F:4 Fm:4 C:4"
CLEFS = {
    "treble": "<clef><sign>G</sign><line>2</line></clef>",
    "treble, octave lower": "<clef><sign>G</sign><line>2</line>"
    "<clef-octave-change>-1</clef-octave-change></clef>",
    "bass": "<clef><sign>F</sign><line>4</line></clef>",
    "alto": "<clef><sign>C</sign><line>3</line></clef>",
    "none": "",
}
HEAD, FLAT, NATURAL = "E0A4", "E260", "E261"


def song(melody: str = "E4 D4 E4 C4 C4 E4", fifths: int = 0, word: str = "=la") -> Score:
    score = tune(" ".join(f"{one}:4{word}" for one in melody.split()), CHORDS)
    return replace(score, key_signatures=(KeySignature(score.measures[0].onset, fifths, "major"),))


def written(score: Score, clef: str = CLEFS["treble"]) -> Source:
    text = to_musicxml(score).decode()
    return source_of(text.replace("</time>", f"</time>{clef}", 1).encode(), "song.musicxml")


def shown(source: Source, width: float = 2100.0) -> tuple[ReviewedMark, list[tuple[Page, Overlay]]]:
    """The guide-tone mark of a song, and its pages with their overlays."""
    score = read_score(source)
    document = Document(SourceInfo(source.name, "", source.digest), score, analyse(score))
    marks = list(document.shown_marks())
    above, below = room(PLAIN)
    pages = engrave(source, Layout(width, 2970.0, room_above=above, room_below=below))
    implied = next(m for m in marks if isinstance(m.mark.fact, Line) and m.mark.fact.implied_at)
    return implied, [(page, lay_out(page, marks, score)) for page in pages]


def glyphs(overlay: Overlay, mark: ReviewedMark, code: str) -> list[GlyphShape]:
    return [
        one.shape
        for one in overlay.strokes
        if isinstance(one.shape, GlyphShape)
        and one.shape.element == mark.id
        and one.shape.code == code
    ]


@pytest.mark.parametrize("clef", CLEFS)
def test_heads_stand_where_their_names_are_read(clef: str) -> None:
    score = song()
    mark, ((page, overlay),) = shown(written(score, CLEFS[clef]))
    fact = mark.mark.fact
    assert isinstance(fact, Line)
    assert [str(name) for name in fact.notes] == ["C", "B", "Bb", "A", "Ab", "G"]
    heads = glyphs(overlay, mark, HEAD)
    assert len(heads) == 6
    letters = {note.id: note.pitch.name.step for note in score.parts[0].notes if note.pitch}
    low = next(one for one in page.shapes if one.role == "notehead" and one.element in letters)
    assert isinstance(low, GlyphShape)
    for head, name in zip(heads, fact.notes, strict=True):
        steps = (low.y - head.y) / (STAFF_SPACE / 2)
        assert steps == pytest.approx(round(steps), abs=0.05)
        letter = "CDEFGAB"[("CDEFGAB".index(letters[low.element]) + round(steps)) % 7]
        assert letter == name.step
    heights = [head.y for head in heads]
    assert heights == sorted(heights)
    assert max(heights) - min(heights) == pytest.approx(1.5 * STAFF_SPACE, abs=0.5)


def test_heads_begin_where_the_chords_begin() -> None:
    mark, ((page, overlay),) = shown(written(song()))
    notes = [page.boxes[f"voice{number}"] for number in range(1, 7)]
    heads = glyphs(overlay, mark, HEAD)
    assert [head.x for head in heads] == pytest.approx([box[0] for box in notes], abs=0.2)


def test_small_heads_are_not_taken_for_written_ones() -> None:
    mark, ((page, overlay),) = shown(written(song()))
    full = next(shape for shape in page.shapes if shape.role == "notehead")
    for head in glyphs(overlay, mark, HEAD):
        assert shape_box(head)[3] < 0.8 * shape_box(full)[3]
    tones = {one.tone for one in overlay.strokes if one.shape.element == mark.id}
    assert "line" in tones


@pytest.mark.parametrize(("fifths", "flats", "naturals"), [(0, 2, 0), (-1, 2, 1), (-4, 2, 2)])
def test_accidentals_follow_signature_and_line(fifths: int, flats: int, naturals: int) -> None:
    """With four flats the line is C, B natural, B flat again, A natural, A flat again, G."""
    mark, ((_, overlay),) = shown(written(song(fifths=fifths)))
    assert len(glyphs(overlay, mark, FLAT)) == flats
    assert len(glyphs(overlay, mark, NATURAL)) == naturals


def test_strokes_join_the_heads_of_a_system_and_touch_none() -> None:
    mark, ((_, overlay),) = shown(written(song()))
    strokes = [
        one.shape
        for one in overlay.strokes
        if isinstance(one.shape, PathShape) and one.shape.element == mark.id
        if one.tone == "line" and one.shape.cap == "round"
    ]
    heads = [shape_box(head) for head in glyphs(overlay, mark, HEAD)]
    assert len(strokes) == 5
    for stroke, (left, right) in zip(strokes, pairwise(heads), strict=True):
        assert left[0] + left[2] < stroke.points[0] < stroke.points[2] < right[0]


def test_a_line_over_two_systems_keeps_its_octave() -> None:
    mark, pages = shown(written(song()), 700.0)
    found = []
    for page, overlay in pages:
        for head in glyphs(overlay, mark, HEAD):
            staves = [staff.box[1] for system in page.systems for staff in system[1][0].staves]
            found.append(head.y - min(staves, key=lambda top: abs(top + 36 - head.y)))
    assert len(found) == 6
    assert found == sorted(found)
    assert found[-1] - found[0] == pytest.approx(1.5 * STAFF_SPACE, abs=0.5)


def test_the_octave_that_covers_least_is_taken() -> None:
    mark, ((page, overlay),) = shown(written(song("C5 D5 C5 A4 C5 C5", word="")))
    notes = [page.boxes[f"voice{number}"] for number in range(1, 7)]
    for head in glyphs(overlay, mark, HEAD):
        x, y, width, height = shape_box(head)
        assert not any(
            x < box[0] + box[2]
            and box[0] < x + width
            and y < box[1] + box[3]
            and box[1] < y + height
            for box in notes
        )
