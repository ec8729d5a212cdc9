"""Which measures and notes stills of single kinds of mark show."""

from __future__ import annotations

from itertools import pairwise

import pytest

from analysis.errors import EngravingError
from analysis.marks import MelodyFact
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from app.engraving.bounds import shape_edges
from app.engraving.pages import PathShape
from app.export.excerpts import Space, engrave_excerpt
from app.export.frames import Frame
from app.export.legible_excerpts import SLACK
from app.export.passages import Passage
from app.export.still_layouts import engrave_still, lay_out_stretch
from app.review.document import Document, SourceInfo
from tests.analysis.snippets import attributes, note
from tests.analysis.snippets import document as snippet
from tests.app.reviews import SAMPLES, read_sample

HD = Frame(1280, 720)


def test_a_still_of_an_echo_shows_what_is_echoed_and_who_answers() -> None:
    source, document = read_sample("kettle-wont-sing")
    echo = next(m for m in document.shown_marks() if m.mark.kind == "echo")
    (excerpt,) = engrave_still(document, source, echo, HD).excerpts
    named = {element for one in echo.mark.evidence for element in one.elements}
    assert named - set(echo.mark.elements), "the evidence has the figure that is echoed"
    assert all(excerpt.page.boxes[element][2] > 0 for element in named)
    lit = {
        shape.element
        for tone, shape in excerpt.strokes
        if tone == "accent" and shape.role == "notehead"
    }
    assert lit == set(echo.mark.elements)


def test_a_still_of_a_new_key_begins_in_the_old_one() -> None:
    source, document = read_sample("wednesday-table")
    keys = [m for m in document.shown_marks() if m.mark.kind == "key"]
    (excerpt,) = engrave_still(document, source, keys[1], HD).excerpts
    first = document.score.measures[excerpt.passage.first]
    assert first.span.end <= keys[1].mark.span.start
    said = [label.mark for label in excerpt.overlay.labels if label.layer == "keys"]
    assert said == [keys[0].id, keys[1].id]


@pytest.mark.parametrize("name", SAMPLES)
def test_the_frame_of_a_blue_note_holds_its_accidental_and_no_natural_one(name: str) -> None:
    source, document = read_sample(name)
    for reviewed in document.shown_marks():
        if reviewed.mark.kind != "mixed third" or len(reviewed.mark.parts) > 1:
            continue
        fact = reviewed.mark.fact
        assert isinstance(fact, MelodyFact)
        (excerpt,) = engrave_still(document, source, reviewed, HD).excerpts
        own = {note.id: note.pitch for note in document.score.part(fact.part).notes}
        frames = [
            shape_edges(shape)
            for _, shape in excerpt.overlay.strokes
            if isinstance(shape, PathShape)
            and shape.element == reviewed.id
            and shape.commands.endswith("Z")
        ]
        assert frames
        for element in reviewed.mark.elements:
            pitch = own[element]
            box = excerpt.page.boxes.get(element)
            if pitch is None or box is None:
                continue
            middle = box[0] + box[2] / 2
            framed = any(left < middle < right for left, _, right, _ in frames)
            assert framed == (pitch.name == fact.pitch.name)
        for one, other in pairwise(sorted(frames)):
            assert one[2] <= other[0] + 1


@pytest.mark.parametrize("name", SAMPLES)
def test_lines_are_shown_whole_with_staves_that_can_be_seen(name: str) -> None:
    source, document = read_sample(name)
    for reviewed in document.shown_marks():
        if reviewed.mark.kind == "line" and reviewed.mark.rank is not None:
            (excerpt,) = engrave_still(document, source, reviewed, HD).excerpts
            assert excerpt.text_height >= SLACK * HD.least_text
            assert excerpt.scale * 72 >= 1.6 * HD.least_text
            lines = [system.box[2] for system in excerpt.page.systems]
            assert lines[-1] >= 0.65 * lines[0]


def test_a_title_takes_room_of_its_own() -> None:
    source, document = read_sample(SAMPLES[0])
    section = document.analysis.sections[1]
    bare, titled = (
        lay_out_stretch(document, source, section.span, HD, title=title)
        for title in ("", section.name or section.label)
    )
    assert len(titled.pieces) == len(bare.pieces) + 1
    head = titled.pieces[0]
    foot = max(shape_edges(stroke.shape)[3] for stroke in head.strokes) * head.scale + head.y
    _, scale, _, down = titled.pieces[1]
    highest = min(shape_edges(stroke.shape)[1] for stroke in titled.pieces[1].strokes)
    assert foot < highest * scale + down
    ((_, top, _, height),) = titled.plates
    assert top >= HD.title_safe[1] - 1
    assert top + height <= HD.title_safe[1] + HD.title_safe[3] + 1


def test_measures_that_the_only_part_lacks_are_refused_in_words() -> None:
    measures = [attributes() + note("C4", 16), *[note("C4", 16)] * 3]
    source = source_of(snippet(measures[:1], measures), "uneven.musicxml")
    score = read_score(source)
    document = Document(SourceInfo(source.name, "", source.digest), score, analyse(score))
    passage = Passage(2, 3, (score.parts[0].id,))
    with pytest.raises(EngravingError, match="the first part ends before them"):
        engrave_excerpt(document, source, [], passage, Space(800, 300, 60, 12), frozenset())
