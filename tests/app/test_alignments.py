"""Two passages beat under beat: nothing is squeezed, and notes keep their shapes."""

from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from app.engraving.alignments import Place, bend_to, bent, common_columns
from app.engraving.pages import GlyphShape, MeasureBox, Page, PathShape, StaffBox, System


@st.composite
def passages(draw: st.DrawFn) -> list[Place]:
    """Columns of one measure after another, at any distances."""
    times = sorted(draw(st.sets(st.integers(0, 24), min_size=1, max_size=8)))
    places, x = [], draw(st.floats(0, 100))
    for time in times:
        places.append(Place((Fraction(time), 1), x))
        x += draw(st.floats(10, 200))
    places.append(Place((Fraction(25), 0), x))
    return places


@given(st.lists(passages(), min_size=1, max_size=2), st.floats(0, 3000))
def test_every_distance_is_kept_or_grows(rows: list[list[Place]], least: float) -> None:
    columns = common_columns(rows, least)
    for places in rows:
        for one, other in pairwise(places):
            wide = columns[other.column] - columns[one.column]
            assert wide >= other.x - one.x - 1e-6
    order = [columns[column] for column in sorted(columns)]
    assert order == sorted(order)
    if len(order) > 1:
        assert order[-1] >= least - 1e-6


def test_one_passage_alone_stays_as_it_is() -> None:
    row = [Place((Fraction(at), 1), 50.0 + 30 * at * at) for at in range(5)]
    columns = common_columns([row])
    assert [columns[place.column] for place in row] == [30.0 * at * at for at in range(5)]


def test_room_is_shared_by_the_columns_inside() -> None:
    quick = [Place((Fraction(at), 1), 20.0 * at) for at in range(5)]
    slow = [Place((Fraction(0), 1), 0.0), Place((Fraction(4), 1), 160.0)]
    columns = common_columns([quick, slow])
    assert [columns[Fraction(at), 1] for at in range(5)] == [0.0, 40.0, 80.0, 120.0, 160.0]


@given(passages(), st.floats(0, 50), st.floats(1, 3))
def test_a_note_comes_to_stand_at_its_column(
    places: list[Place], before: float, factor: float
) -> None:
    left = places[0].x - before - 10
    columns = {place.column: factor * (place.x - left) for place in places}
    bend = bend_to(places, columns, left, 0.0)
    for place in places:
        assert abs(bend(place.x) - columns[place.column]) < 1e-6
    xs = [left - 20 + at * 7.0 for at in range(60)]
    moved = [bend(x) for x in xs]
    assert moved == sorted(moved), "nothing overtakes anything"


def test_a_note_moves_as_one_and_lines_over_time_are_stretched() -> None:
    measure = MeasureBox(0, "m", (0, 0, 300, 72), (StaffBox(1, (0, 0, 300, 72)),), ((0.0, 60.0),))
    shapes = (
        GlyphShape("n1", "notehead", "E0A4", 60, 40, 0.1),
        GlyphShape("n1", "accid", "E262", 36, 40, 0.1),
        PathShape("n1", "stem", "ML", (80, 40, 80, -20), False, 1.8),
        PathShape("m", "staff", "ML", (0, 0, 300, 0), False, 1.3),
    )
    page = Page(
        0, 300, 100, shapes, (System((0, -20, 300, 92), (measure,)),), {"n1": (60, 36, 20, 9)}
    )
    places = [Place((Fraction(0), 1), 60.0), Place((Fraction(4), 0), 300.0)]
    columns = {(Fraction(0), 1): 100.0, (Fraction(4), 0): 500.0}
    moved = bent(page, bend_to(places, columns, 20.0, 20.0), 7.0, {"n1"})  # type: ignore[arg-type]
    head, accidental, stem, staff = moved.shapes
    assert isinstance(head, GlyphShape)
    assert isinstance(accidental, GlyphShape)
    assert isinstance(stem, PathShape)
    assert isinstance(staff, PathShape)
    assert (head.x, head.y) == (100.0, 47.0)
    assert accidental.x == 76.0
    assert stem.points == (120.0, 47.0, 120.0, -13.0)
    assert (staff.points[0], staff.points[2]) == (0.0, 500.0)
    assert moved.boxes["n1"] == (100.0, 43.0, 20.0, 9.0)
