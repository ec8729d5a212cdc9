"""Painted pages: the ink is where the shapes say, in the colour asked for, and nowhere else."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from analysis.reading.sources import source_of
from app.engraving.bounds import shape_box
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.pages import Box, GlyphShape, Page, PathShape, Shape, TextShape
from app.engraving.painting import DARK, LIGHT, Ink, PagePainter, paint_page, paint_shapes
from tests.analysis.snippets import attributes, document, harmony, note

pytestmark = pytest.mark.usefixtures("qapp")

LYRIC = "<type>half</type><lyric><text>glow</text></lyric>"


@pytest.fixture(scope="module")
def page(qapp: QApplication) -> Page:
    clef = "<clef><sign>G</sign><line>2</line></clef>"
    measures = [
        attributes(clef, fifths=-2) + harmony("Bb", "major-seventh") + note("C5", 8, LYRIC),
        note("F#4", 4, "<type>quarter</type><accidental>sharp</accidental>")
        + note("A5", 12, "<type>half</type><dot/>"),
    ]
    layout = Layout(page_width=900, fit_height=True)
    (page,) = engrave(source_of(document(measures), "snippet.musicxml"), layout)
    return page


def canvas(width: float, height: float, colour: str | None = None) -> QImage:
    image = QImage(round(width), round(height), QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(colour) if colour else QColor(0, 0, 0, 0))
    return image


def painted(page: Page, ink: Ink = LIGHT, zoom: float = 1.0, **more: object) -> QImage:
    image = canvas(page.width * zoom, page.height * zoom)
    painter = QPainter(image)
    painter.scale(zoom, zoom)
    paint_page(painter, page, ink, **more)  # type: ignore[arg-type]
    painter.end()
    return image


def ink_box(shape: Shape, zoom: float) -> Box:
    """The box of the pixels that a shape covers, in page units."""
    image = canvas(200 * zoom, 200 * zoom)
    painter = QPainter(image)
    painter.scale(zoom, zoom)
    paint_shapes(painter, [shape], QColor("black"))
    painter.end()
    inked = [
        (x, y)
        for y in range(image.height())
        for x in range(image.width())
        if image.pixelColor(x, y).alpha() > 20
    ]
    xs, ys = [x for x, _ in inked], [y for _, y in inked]
    left, top = min(xs) / zoom, min(ys) / zoom
    return (left, top, (max(xs) + 1) / zoom - left, (max(ys) + 1) / zoom - top)


@pytest.mark.parametrize(
    "shape",
    [
        GlyphShape("", "clef", "E050", 60, 120, 0.08),
        GlyphShape("", "arpeg", "EAA9", 60, 120, 0.1, -90),
        TextShape("", "syl", "Kylę", 40, 90, 60, "italic", 0.9),
        PathShape("", "staff", "MLML", (20, 50, 180, 50, 20, 70, 180, 70), False, 1.3),
        PathShape("", "stem", "ML", (90, 20, 90, 150), False, 1.8),
        PathShape("", "hairpin", "MLL", (150, 40, 30, 60, 150, 80), False, 1.8),
        PathShape("", "beam", "MLLLZ", (20, 60, 150, 40, 150, 49, 20, 69), True),
        PathShape("", "reh", "MLLLZ", (20, 60, 90, 60, 90, 99, 20, 99), False, 2.0),
        PathShape(
            "",
            "slur",
            "MCC",
            (20, 90, 60, 40, 120, 40, 170, 90, 120, 46, 60, 46, 20, 90),
            True,
            0.9,
            cap="round",
        ),
    ],
    ids=lambda shape: shape.role,
)
def test_every_shape_is_painted_in_its_box(shape: Shape) -> None:
    # A pixel at this zoom is a third of a unit.
    x, y, width, height = ink_box(shape, 3)
    left, top, wide, high = shape_box(shape)
    assert (x, y) == pytest.approx((left, top), abs=0.8)
    assert (x + width, y + height) == pytest.approx((left + wide, top + high), abs=0.8)


@pytest.mark.parametrize("ink", [LIGHT, DARK])
@pytest.mark.parametrize("zoom", [0.5, 1.0, 2.0])
def test_notes_have_the_ink_and_the_margin_has_the_paper(page: Page, ink: Ink, zoom: float) -> None:
    image = painted(page, ink, zoom)
    x, y, width, height = page.boxes["p1m2n1"]
    middle = image.pixelColor(round((x + width / 2) * zoom), round((y + height / 2) * zoom))
    assert middle == QColor(ink.colour)
    assert image.pixelColor(3, 3) == QColor(ink.paper or "")
    assert {image.pixelColor(x, 5).name() for x in range(image.width())} == {ink.paper}


def test_without_paper_the_ground_is_transparent(page: Page) -> None:
    image = painted(page, Ink("#ffffff"))
    assert image.pixelColor(3, 3).alpha() == 0
    x, y, width, height = page.boxes["p1m2n1"]
    assert image.pixelColor(round(x + width / 2), round(y + height / 2)).alpha() == 255


def test_an_accent_colours_one_element_alone(page: Page) -> None:
    plain, accented = painted(page), painted(page, accents={"p1m2n1": "#D55E00"})
    x, y, width, height = page.boxes["p1m2n1"]
    middle = (round(x + width / 2), round(y + height / 2))
    assert accented.pixelColor(*middle) == QColor("#D55E00")
    element = [shape_box(shape) for shape in page.shapes if shape.element == "p1m2n1"]
    for at_y in range(plain.height()):
        for at_x in range(plain.width()):
            if plain.pixel(at_x, at_y) != accented.pixel(at_x, at_y):
                assert any(
                    left - 1 <= at_x <= left + wide + 1 and top - 1 <= at_y <= top + high + 1
                    for left, top, wide, high in element
                )


def test_roles_can_be_left_out(page: Page) -> None:
    x, y, width, height = (round(number) for number in page.boxes["p1m1h1"])
    with_symbols, without = painted(page), painted(page, without={"harm"})
    assert with_symbols.copy(x, y, width, height) != without.copy(x, y, width, height)
    ground = canvas(width, height, LIGHT.paper).convertToFormat(without.format())
    assert without.copy(x, y, width, height) == ground


def test_an_exposed_part_is_painted_as_in_the_whole(page: Page) -> None:
    area = QRectF(150, 60, 300, 200)
    whole, part = painted(page), painted(page, exposed=area)
    inner = area.toRect()
    assert whole.copy(inner) == part.copy(inner)


def test_painting_twice_gives_the_same_pixels_and_leaves_the_painter_as_it_was(page: Page) -> None:
    image, again = (canvas(page.width, page.height) for _ in range(2))
    page_painter = PagePainter(page)
    for target in (image, again):
        painter = QPainter(target)
        before = painter.transform()
        page_painter.paint(painter, LIGHT)
        assert painter.transform() == before
        painter.end()
    assert image == again


def test_edges_stay_sharp_at_four_times_the_size(page: Page) -> None:
    # A stem is 1.8 units wide: at 400 % seven pixels, of which only the outer ones may be grey.
    image = painted(page, zoom=4.0)
    stem = next(shape for shape in page.shapes if shape.role == "stem")
    x, y, width, height = (number * 4 for number in shape_box(stem))
    row = round(y + height / 2)
    lightness = [
        image.pixelColor(at, row).lightness() for at in range(round(x) - 3, round(x + width) + 4)
    ]
    dark, paper = QColor(LIGHT.colour).lightness(), QColor(LIGHT.paper or "").lightness()
    assert lightness.count(dark) >= 6
    assert len([grey for grey in lightness if dark < grey < paper]) <= 2
