"""The compiler: each kind of SVG element that verovio writes, with known places."""

from __future__ import annotations

import pytest

from app.engraving.bounds import shape_box, text_width
from app.engraving.drawings import Drawing, Sources
from app.engraving.metrics import sign
from app.engraving.pages import GlyphShape, PathShape, TextShape
from app.engraving.svg_shapes import compile_svg

#: Where the drawing's origin lies on the page: 500 tenths of page units from the corner.
ORIGIN = 50.0


def compiled(inside: str, sources: Sources | None = None) -> Drawing:
    """The drawing of a page that holds this."""
    svg = (
        '<svg viewBox="0 0 2100 2970" xmlns="http://www.w3.org/2000/svg" '
        'xmlns:xlink="http://www.w3.org/1999/xlink"><defs><g id="E0A4-x"/></defs>'
        '<svg class="definition-scale" viewBox="0 0 21000 29700">'
        f'<g class="page-margin" transform="translate(500, 500)">{inside}</g></svg></svg>'
    )
    return compile_svg(svg, sources or named())


def named(*elements: str) -> Sources:
    return Sources(frozenset(elements), {}, {}, {})


def use(x: int, y: int) -> str:
    return f'<use xlink:href="#E0A4-x" transform="translate({x}, {y}) scale(0.72, 0.72)"/>'


def measure(inside: str) -> str:
    return f'<g class="system"><g id="m1" class="measure">{inside}</g></g>'


def test_the_page_has_the_size_of_the_outer_drawing() -> None:
    drawing = compiled("")
    assert (drawing.width, drawing.height, drawing.shapes) == (2100, 2970, [])


def test_a_sign_keeps_its_code_place_and_size() -> None:
    (shape,) = compiled(f'<g class="clef">{use(1000, 200)}</g>').shapes
    assert isinstance(shape, GlyphShape)
    assert (shape.element, shape.role, shape.code) == ("", "clef", "E0A4")
    assert shape[3:] == pytest.approx((ORIGIN + 100, ORIGIN + 20, 0.072, 0))
    x, y, width, height = sign("E0A4").box
    expected = (150 + 0.072 * x, 70 + 0.072 * y, 0.072 * width, 0.072 * height)
    assert shape_box(shape) == pytest.approx(expected)


def test_the_lines_of_a_staff_become_one_shape() -> None:
    lines = "".join(f'<path d="M0 {y} L900 {y}" stroke-width="13"/>' for y in range(0, 900, 180))
    drawing = compiled(measure(f'<g class="staff">{lines}<g class="layer"/></g>'), named("m1"))
    (shape,) = drawing.shapes
    assert isinstance(shape, PathShape)
    assert (shape.commands, shape.element, shape.role) == ("ML" * 5, "m1", "staff")
    assert not shape.filled
    assert shape.stroke == pytest.approx(1.3)
    left, top, right, bottom = drawing.systems[0].measures[0].staves[0]
    assert (left, right) == pytest.approx((ORIGIN, ORIGIN + 90))
    assert (top, bottom) == pytest.approx((ORIGIN - 0.65, ORIGIN + 72.65))


def test_lines_of_other_widths_stay_apart() -> None:
    thin, thick = (
        '<path d="M0 0 L0 9" stroke-width="27"/>',
        '<path d="M5 0 L5 9" stroke-width="90"/>',
    )
    shapes = compiled(f'<g class="barLine">{thin}{thick}</g>').shapes
    assert [round(shape.stroke, 3) for shape in shapes if isinstance(shape, PathShape)] == [2.7, 9]


def test_a_slur_is_filled_and_dashed_ones_are_not() -> None:
    curve = 'd="M0,0 C10,-40 20,-40 30,0 C20,-30 10,-30 0,0"'
    solid, dashed = compiled(
        f'<g class="slur"><path {curve} stroke-width="9" stroke-linecap="round"/></g>'
        f'<g class="slur"><path {curve} fill="none" stroke-width="60" '
        'stroke-dasharray="1 180"/></g>'
    ).shapes
    assert isinstance(solid, PathShape)
    assert isinstance(dashed, PathShape)
    assert (solid.commands, solid.filled, solid.cap) == ("MCC", True, "round")
    assert not dashed.filled
    assert dashed.dash == pytest.approx((0.1, 18))
    # The extreme of the outer curve is three quarters of the way to its control points.
    assert shape_box(solid)[1] == pytest.approx(ORIGIN - 3.0 - 0.45)


def test_a_frame_is_hollow_and_a_beam_is_not() -> None:
    frame, beam, bracket, dot = compiled(
        '<g class="reh"><rect x="10" y="20" width="30" height="40" stroke-width="20" '
        'fill-opacity="0"/></g><g class="beam"><polygon points="0,0 90,10 90,20 0,10"/></g>'
        '<g class="tupletBracket"><polyline fill="none" stroke-width="18" '
        'points="0,9 0,0 9,0 "/></g>'
        '<g class="dots"><ellipse cx="100" cy="50" rx="20" ry="10"/></g>'
    ).shapes
    for shape, commands, filled in (
        (frame, "MLLLZ", False),
        (beam, "MLLLZ", True),
        (bracket, "MLL", False),
        (dot, "MCCCCZ", True),
    ):
        assert isinstance(shape, PathShape)
        assert (shape.commands, shape.filled) == (commands, filled)
    assert shape_box(frame) == pytest.approx((50, 51, 5, 6))
    assert shape_box(dot) == pytest.approx((58, 54, 4, 2), abs=1e-3)


def test_text_takes_size_face_and_anchor_from_around_it() -> None:
    (shape,) = compiled(
        '<g class="tempo"><text x="100" y="200" text-anchor="middle" font-size="0px">'
        '<tspan class="text"><tspan font-size="400px">Lento</tspan></tspan></text></g>'
    ).shapes
    assert isinstance(shape, TextShape)
    assert (shape.text, shape.face, shape.role) == ("Lento", "bold", "tempo")
    assert shape.size == pytest.approx(40 * 0.85)
    width = text_width("Lento", "bold", shape.size) * shape.squeeze
    assert (shape.x + width / 2, shape.y) == pytest.approx((ORIGIN + 10, ORIGIN + 20))


def test_pieces_of_a_text_follow_one_another_and_lines_have_places_of_their_own() -> None:
    shapes = compiled(
        '<g class="dir"><text x="0" y="0" font-size="0px"><tspan class="rend">'
        '<tspan font-size="400px">poco </tspan></tspan>'
        '<tspan font-size="400px" font-style="normal">rit.</tspan>'
        '<tspan x="0" y="500"><tspan font-size="400px">e dim.</tspan></tspan></text></g>'
    ).shapes
    poco, rit, dim = (shape for shape in shapes if isinstance(shape, TextShape))
    assert (poco.face, rit.face, dim.face) == ("italic", "regular", "italic")
    assert rit.x == pytest.approx(poco.x + text_width("poco ", "italic", poco.size) * poco.squeeze)
    assert (dim.x, dim.y) == pytest.approx((poco.x, poco.y + 50))


def test_a_metronome_mark_has_a_sign_and_letters() -> None:
    shapes = compiled(
        '<g class="tempo"><text x="0" y="0" font-size="0px">'
        '<tspan font-family="Bravura" font-size="720px">\ueca5</tspan>'
        '<tspan font-size="405px"> = 92</tspan></text></g>'
    ).shapes
    assert [type(shape) for shape in shapes] == [GlyphShape, TextShape]
    assert isinstance(shapes[0], GlyphShape)
    assert shapes[0].code == "ECA5"


def test_wide_letters_are_squeezed_into_the_room_that_verovio_kept() -> None:
    # In Times an "r" is 0.333 em, in Fira Sans 0.37: at 85 % eight of them still fit, "t" does not.
    (shape,) = compiled(
        '<g class="syl"><text x="0" y="0" font-size="0px">'
        '<tspan font-size="400px">tttttttt</tspan></text></g>'
    ).shapes
    assert isinstance(shape, TextShape)
    room = 8 * 0.2778 * 40
    assert text_width(shape.text, "regular", shape.size) > room
    assert shape_box(shape)[2] <= room


def test_a_turned_group_turns_its_signs() -> None:
    (shape,) = compiled(
        f'<g class="arpeg" transform="rotate(-90.000000 1000,200)">{use(1000, 300)}</g>'
    ).shapes
    assert isinstance(shape, GlyphShape)
    # Ten units below the centre, turned a quarter to the left, is ten units to the right of it.
    assert (shape.x, shape.y) == pytest.approx((ORIGIN + 110, ORIGIN + 20))
    assert shape.angle == -90
    _, _, width, height = sign("E0A4").box
    box = shape_box(shape)
    assert (box[2], box[3]) == pytest.approx((0.072 * height, 0.072 * width))


def test_the_box_of_a_note_is_its_head() -> None:
    note = (
        '<g id="n1" class="note"><g class="notehead">' + use(1000, 200) + "</g>"
        '<g class="stem"><path d="M1217 200 L1217 -400" stroke-width="18"/></g></g>'
    )
    drawing = compiled(measure(f'<g class="staff">{note}</g>'), named("m1", "n1"))
    head, stem = drawing.shapes
    assert (head.element, head.role, stem.element, stem.role) == ("n1", "notehead", "n1", "stem")
    left, top, right, bottom = drawing.edges["n1"]
    assert (left, top, right - left, bottom - top) == pytest.approx(shape_box(head))
    assert drawing.systems[0].measures[0].columns == [("n1", left)]


def test_members_of_a_chord_keep_their_own_ids() -> None:
    notes = "".join(
        f'<g id="n{at}" class="note"><g class="notehead">{use(1000, 200 * at)}</g></g>'
        for at in (1, 2)
    )
    stem = '<g class="stem"><path d="M1217 200 L1217 -400" stroke-width="18"/></g>'
    inside = f'<g class="staff"><g id="x" class="chord">{stem}{notes}</g></g>'
    drawing = compiled(measure(inside), named("m1", "n1", "n2"))
    assert [shape.element for shape in drawing.shapes] == ["m1", "n1", "n2"]
    assert set(drawing.edges) == {"n1", "n2"}


def test_hidden_notes_have_a_place_and_no_ink() -> None:
    note = f'<g id="n1" class="note" visibility="hidden"><g class="notehead">{use(0, 0)}</g></g>'
    space = '<g id="n2" class="space"/>'
    drawing = compiled(measure(f'<g class="staff">{note}{space}</g>'), named("m1", "n1", "n2"))
    assert drawing.shapes == []
    assert "n1" in drawing.edges
    assert drawing.systems[0].measures[0].blanks == ["n2"]


def test_placeholders_and_roles_that_are_left_out_are_not_drawn() -> None:
    sources = Sources(frozenset(), {}, {}, {}, frozenset({"mNum"}))
    inside = f'<g class="pb placeholder">{use(0, 0)}</g><g class="mNum">{use(0, 0)}</g>'
    assert compiled(inside, sources).shapes == []


def test_a_chord_symbol_takes_the_place_of_its_stand_in() -> None:
    sources = Sources(frozenset(), {"h-0": "p1m1h1"}, {}, {"p1m1h1": "B♭7"})
    drawing = compiled(
        '<g class="harm h-0"><text x="300" y="400" font-size="0px">'
        '<tspan font-size="405px">00j</tspan></text></g>',
        sources,
    )
    assert {shape.role for shape in drawing.shapes} == {"harm"}
    assert {shape.element for shape in drawing.shapes} == {"p1m1h1"}
    signs = [shape.code for shape in drawing.shapes if isinstance(shape, GlyphShape)]
    letters = "".join(shape.text for shape in drawing.shapes if isinstance(shape, TextShape))
    assert (signs, letters) == (["E260"], "B7")
    left, _, right, bottom = drawing.edges["p1m1h1"]
    assert left == ORIGIN + 30
    assert bottom == pytest.approx(ORIGIN + 40, abs=1)
    for shape in drawing.shapes:
        assert left <= shape_box(shape)[0]
        assert shape_box(shape)[0] + shape_box(shape)[2] <= right


@pytest.mark.parametrize("svg", ["", "<svg", "<svg/>", '<svg viewBox="0 0 1 1"/>'])
def test_anything_else_is_refused(svg: str) -> None:
    with pytest.raises(ValueError, match="drawing"):
        compile_svg(svg, named())


def test_letters_of_no_width_leave_nothing_to_see() -> None:
    text = '<text x="0" y="0" font-size="0px"><tspan font-size="400px">\u200b</tspan></text>'
    assert compiled(text).shapes == []
