"""Engraving from source to pages: ids, boxes, times, excerpts, room for labels."""

from __future__ import annotations

import pickle
import subprocess
import sys
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from lxml import etree

import sample_scores
from analysis.errors import EngravingError
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source, source_of
from app.engraving.bounds import ink_boxes, shape_box
from app.engraving.engraver import engrave
from app.engraving.layouts import STAFF_HEIGHT, Layout
from app.engraving.pages import Box, Engraving, Page, PathShape, TextShape
from tests.analysis.snippets import attributes, document, harmony, note

SAMPLES = sorted(Path(sample_scores.__path__[0]).glob("*.musicxml"))


def source(*parts: list[str], head: str = "") -> Source:
    return source_of(document(*parts, head=head), "snippet.musicxml")


def pages_of(*parts: list[str], layout: Layout | None = None) -> tuple[Page, ...]:
    return tuple(engrave(source(*parts), layout or Layout()))


def overlap(one: Box, other: Box) -> bool:
    return (
        one[0] < other[0] + other[2]
        and other[0] < one[0] + one[2]
        and one[1] < other[1] + other[3]
        and other[1] < one[1] + one[3]
    )


def inside(box: Box, page: Page) -> bool:
    x, y, width, height = box
    left, top, right, bottom = x + 0.5, y + 0.5, x + width - 0.5, y + height - 0.5
    return left > 0 and top > 0 and right < page.width and bottom < page.height


def element_ids(one: Source) -> list[str]:
    """The ids of everything in a source that a page must show."""
    root = etree.fromstring(one.musicxml)
    found = [node.get("id", "") for node in root.iter("note", "harmony", "measure")]
    rehearsals = root.iterfind(".//direction/direction-type/rehearsal/../..")
    return found + [node.get("id", "") for node in rehearsals]


@pytest.fixture(scope="module", params=SAMPLES, ids=lambda path: path.stem)
def sample(request: pytest.FixtureRequest) -> tuple[Source, Engraving]:
    one = read_source(request.param)
    return one, Engraving(tuple(engrave(one, Layout())))


def test_every_element_of_a_sample_is_on_one_page(sample: tuple[Source, Engraving]) -> None:
    one, engraving = sample
    shown = [element for page in engraving.pages for element in page.boxes]
    assert sorted(shown) == sorted(element_ids(one))
    score = read_score(one)
    for part in score.parts:
        for written in part.notes:
            assert engraving.page_of(written.id) is not None
    assert engraving.page_of("of no element") is None


def test_all_boxes_and_ink_of_a_sample_lie_on_the_page(sample: tuple[Source, Engraving]) -> None:
    for page in sample[1].pages:
        assert all(inside(box, page) for box in page.boxes.values())
        assert all(inside(box, page) for box in ink_boxes(page))


def test_chord_symbols_of_a_sample_touch_nothing(sample: tuple[Source, Engraving]) -> None:
    for page in sample[1].pages:
        harms = {shape.element for shape in page.shapes if shape.role == "harm"}
        for one, other in combinations(sorted(harms), 2):
            assert not overlap(page.boxes[one], page.boxes[other])
        solid = [
            box
            for shape, box in zip(page.shapes, ink_boxes(page), strict=True)
            if shape.role in {"notehead", "reh", "syl", "tempo", "dynam", "accid"}
        ]
        for harm in harms:
            assert not any(overlap(page.boxes[harm], box) for box in solid)


def test_syllables_of_a_sample_do_not_touch(sample: tuple[Source, Engraving]) -> None:
    for page in sample[1].pages:
        syllables = [
            shape_box(shape)
            for shape in page.shapes
            if isinstance(shape, TextShape) and shape.role == "syl"
        ]
        for one, other in combinations(syllables, 2):
            assert not overlap(one, other)


def test_times_of_a_sample_go_from_left_to_right(sample: tuple[Source, Engraving]) -> None:
    one, engraving = sample
    score = read_score(one)
    seen = []
    for page in engraving.pages:
        for system in page.systems:
            for measure in system.measures:
                seen.append(measure.index)
                assert measure.element == score.measures[measure.index].id
                assert measure.onsets[-1][0] == float(score.measures[measure.index].length)
                for (start, left), (end, right) in pairwise(measure.onsets):
                    assert start < end
                    assert left < right
    assert seen == list(range(len(score.measures)))


def test_the_same_source_gives_the_same_pages_in_another_process() -> None:
    program = (
        "import hashlib, pickle, sys; from pathlib import Path;"
        "from analysis.reading.sources import read_source;"
        "from app.engraving.engraver import engrave;"
        "from app.engraving.layouts import Layout;"
        "pages = list(engrave(read_source(Path(sys.argv[1])), Layout()));"
        "print(hashlib.sha256(repr(pages).encode()).hexdigest())"
    )
    run = [sys.executable, "-c", program, str(SAMPLES[0])]
    first, second = (
        subprocess.run(run, capture_output=True, text=True, check=True).stdout for _ in range(2)
    )
    assert first == second
    assert len(first.strip()) == 64


def test_pages_survive_pickling() -> None:
    (page,) = pages_of([attributes() + harmony("C") + note("C5", 16)])
    copy = pickle.loads(pickle.dumps(page))
    assert copy == page
    assert copy.boxes == page.boxes


def test_a_staff_is_as_high_as_layouts_say() -> None:
    (page,) = pages_of([attributes() + note("C5", 16)])
    (staff,) = page.systems[0].measures[0].staves
    line = 1.3
    assert staff.staff == 1
    assert staff.box[3] == pytest.approx(STAFF_HEIGHT + line, abs=0.1)


def test_a_chord_symbol_stands_over_the_note_that_it_begins_with() -> None:
    (page,) = pages_of(
        [attributes() + note("C5", 4) + harmony("F") + note("A5", 4) + note("G5", 8)]
    )
    assert page.boxes["p1m1h1"][0] == pytest.approx(page.boxes["p1m1n2"][0], abs=1)
    assert page.boxes["p1m1h1"][1] < page.boxes["p1m1n2"][1]


def test_long_chord_symbols_on_every_beat_make_room_for_themselves() -> None:
    nines = "".join(
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter>"
        "<degree-type>add</degree-type></degree>"
        for value, alter in ((9, -1), (11, 1), (13, -1))
    )
    beat = harmony("Ab", "dominant", nines) + note("C5", 2) + note("C5", 2)
    (page,) = pages_of([attributes() + beat * 4] * 2)
    boxes = [page.boxes[f"p1m{m}h{h}"] for m in (1, 2) for h in (1, 2, 3, 4)]
    assert not any(overlap(one, other) for one, other in combinations(boxes, 2))


def test_a_time_between_two_notes_lies_between_them() -> None:
    (page,) = pages_of([attributes() + note("C5", 8) + note("D5", 8)])
    (measure,) = page.systems[0].measures
    first, second = page.boxes["p1m1n1"][0], page.boxes["p1m1n2"][0]
    assert measure.x_at(0) == pytest.approx(first)
    assert measure.x_at(1) == pytest.approx((first + second) / 2)
    assert measure.x_at(2) == pytest.approx(second)
    assert measure.x_at(4) == measure.x_at(9) == pytest.approx(measure.box[0] + measure.box[2])


def test_a_measure_of_rest_begins_behind_its_signatures() -> None:
    (page,) = pages_of(
        [
            attributes(fifths=-4) + '<note><rest measure="yes"/><duration>16</duration></note>',
            note("C5", 16),
        ]
    )
    first = page.systems[0].measures[0]
    signs = [shape_box(shape) for shape in page.shapes if shape.role in {"keyAccid", "meterSig"}]
    assert first.onsets[0][0] == 0
    assert first.x_at(0) > max(x + width for x, _, width, _ in signs)


def test_hidden_notes_have_a_place_but_no_ink() -> None:
    (page,) = pages_of(
        [attributes() + note("C5", 8) + note("D5", 8, attributes='print-object="no"')]
    )
    assert "p1m1n2" in page.boxes
    assert not [shape for shape in page.shapes if shape.element == "p1m1n2"]


def test_rehearsal_marks_are_found_by_the_id_of_their_direction() -> None:
    mark = "<direction><direction-type><rehearsal>Verse</rehearsal></direction-type></direction>"
    (page,) = pages_of([attributes() + mark + note("C5", 16)])
    shapes = [shape for shape in page.shapes if shape.element == "p1m1d1"]
    assert {shape.role for shape in shapes} == {"reh"}
    assert [shape.text for shape in shapes if isinstance(shape, TextShape)] == ["Verse"]
    frame = next(shape for shape in shapes if isinstance(shape, PathShape))
    assert not frame.filled
    assert page.boxes["p1m1d1"] == pytest.approx(shape_box(frame))


def test_one_system_holds_all_measures_however_many() -> None:
    measures = [attributes() + note("C5", 16)] + [note("C5", 4) * 4] * 299
    (page,) = pages_of(measures, layout=Layout(one_system=True))
    (system,) = page.systems
    assert len(system.measures) == 300
    assert all(inside(box, page) for box in page.boxes.values())
    assert page.height < 700


def test_room_for_labels_is_kept_around_every_system() -> None:
    measures = [attributes() + note("C5", 16), *[note("C5", 2) * 8] * 100]
    layout = Layout(room_above=110.0, room_below=140.0)
    for page in pages_of(measures, layout=layout):
        boxes = [system.box for system in page.systems]
        assert len(boxes) > 1
        assert boxes[0][1] >= layout.room_above
        assert page.height - boxes[-1][1] - boxes[-1][3] >= layout.room_below
        for (_, y, _, height), (_, below, _, _) in pairwise(boxes):
            assert below - y - height >= layout.room_above + layout.room_below


def test_an_excerpt_shows_its_measures_with_clef_key_and_meter() -> None:
    clef = "<clef><sign>G</sign><line>2</line></clef>"
    upper = [attributes(clef, fifths=-3) + note("C5", 16), *[note("D5", 16)] * 9]
    lower = [attributes(clef, fifths=-3) + note("C4", 16), *[note("D4", 16)] * 9]
    layout = Layout(first=4, last=6, parts=("P2",), fit_height=True, measure_numbers=False)
    (page,) = pages_of(upper, lower, layout=layout)
    measures = [measure for system in page.systems for measure in system.measures]
    assert [measure.index for measure in measures] == [4, 5, 6]
    assert [measure.element for measure in measures] == ["p1m5", "p1m6", "p1m7"]
    assert sorted(page.boxes) == sorted(f"p2m{m}{n}" for m in (5, 6, 7) for n in ("", "n1"))
    roles = [shape.role for shape in page.shapes]
    assert roles.count("clef") == 1
    assert roles.count("keyAccid") == 3
    assert roles.count("meterSig") == 2
    assert "mNum" not in roles
    assert page.height < 500


def test_a_note_held_into_or_out_of_an_excerpt_has_half_a_tie() -> None:
    def tie(*kinds: str) -> str:
        tieds = "".join(f'<tied type="{kind}"/>' for kind in kinds)
        ties = "".join(f'<tie type="{kind}"/>' for kind in kinds)
        return f"{ties}<type>whole</type><notations>{tieds}</notations>"

    measures = [attributes() + note("C6", 16, tie("start"))]
    measures += [note("C6", 16, tie("start", "stop")), note("C6", 16, tie("stop"))]
    (page,) = pages_of(measures, layout=Layout(first=1, last=1))
    before, after = [shape for shape in page.shapes if shape.role == "tie"]
    left, top, width, _ = page.boxes["p1m2n1"]
    assert before.element == after.element == "p1m2n1"
    x, y, wide, _ = shape_box(before)
    assert x + wide <= left
    assert y < top  # above the middle line the stem would point down, so the bow lies above
    assert shape_box(after)[0] >= left + width


def test_part_names_and_title_are_printed_on_demand() -> None:
    head = "<work><work-title>Plain Song</work-title></work>"
    one = source([attributes() + note("C5", 16)], head=head)

    def words(layout: Layout) -> set[str]:
        (page,) = engrave(one, layout)
        return {shape.text for shape in page.shapes if isinstance(shape, TextShape)}

    assert words(Layout()) == {"Part 1"}
    assert words(Layout(part_names=False, title=True)) == {"Plain Song"}


def test_what_cannot_be_engraved_is_said_in_words() -> None:
    one = source([attributes() + note("C5", 16)])
    with pytest.raises(EngravingError, match="it has no part P7"):
        list(engrave(one, Layout(parts=("P7",))))
    broken = Source("b.xml", None, "", b"", b"<score-partwise/>")
    with pytest.raises(EngravingError, match=r"“b\.xml” cannot be engraved"):
        list(engrave(broken, Layout()))


def test_a_page_grows_with_a_system_that_it_cannot_hold() -> None:
    parts = [[attributes() + note("C5", 16)] for _ in range(24)]
    layout = Layout(page_width=1200, page_height=900, room_below=50)
    (page,) = pages_of(*parts, layout=layout)
    assert len(page.systems[0].measures[0].staves) == 24
    assert page.height > 24 * STAFF_HEIGHT
    assert all(inside(box, page) for box in ink_boxes(page))


def test_no_specks_are_left_of_lines_for_held_syllables() -> None:
    for path in SAMPLES:
        for page in engrave(read_source(path), Layout(one_system=True)):
            for shape in page.shapes:
                if shape.role == "syl" and isinstance(shape, PathShape):
                    assert shape_box(shape)[2] >= STAFF_HEIGHT / 16
