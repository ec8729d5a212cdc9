"""SVG and PDF look like the PNG of the same picture, measured by other programs' renderings."""

from __future__ import annotations

import re
import shutil
import subprocess
import zlib
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from PySide6.QtCore import QByteArray
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

from app.export.card_layouts import lay_out_card
from app.export.frames import Backing, Frame, Picture
from app.export.pdf_pictures import to_pdf
from app.export.pictures import paint_picture
from app.export.still_layouts import lay_out_still
from app.export.svg_pictures import to_svg
from app.export.timeline_strips import lay_out_timeline
from tests.app.pixels import Pixels, over, rgba_of
from tests.app.reviews import SAMPLES, read_sample

SMALL = Frame(640, 360)
BACKINGS: tuple[Backing, ...] = ("plate", "outline", "glow", "none")


@cache
def _picture(kind: str, frame: Frame) -> Picture:
    source, document = read_sample(SAMPLES[0])
    reviewed = next(m for m in document.shown_marks() if "V⁷/" in m.label)
    if kind == "still":
        return lay_out_still(document, source, reviewed, frame)
    if kind == "card":
        return lay_out_card(document, source, reviewed, frame).picture(frame)
    return lay_out_timeline(document, frame)


def _painted(picture: Picture) -> Pixels:
    return rgba_of(paint_picture(picture.frame, picture.pieces, picture.plates))


def _rendered_svg(content: bytes, frame: Frame) -> Pixels:
    renderer = QSvgRenderer(QByteArray(content))
    assert renderer.isValid()
    image = QImage(frame.width, frame.height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(QColor(0, 0, 0, 0))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter)
    painter.end()
    return rgba_of(image)


@pytest.mark.parametrize("kind", ["still", "card", "timeline"])
@pytest.mark.parametrize("backing", BACKINGS)
def test_svg_renders_as_the_png(kind: str, backing: Backing) -> None:
    frame = replace(SMALL, backing=backing, ink="light")
    picture = _picture(kind, frame)
    rendered = over(_rendered_svg(to_svg(picture), frame), 0.5)
    away = np.abs(rendered - over(_painted(picture), 0.5))
    # Edges may differ by how renderers cover pixels; blurs differ by their kernels.
    assert away.mean() < (0.012 if backing == "glow" else 0.005)


@pytest.mark.parametrize("backing", BACKINGS)
@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="no program to render PDF with")
def test_pdf_renders_as_the_png(backing: Backing, tmp_path: Path) -> None:
    frame = replace(SMALL, backing=backing, ground="#808080")
    picture = _picture("still", frame)
    path = tmp_path / "still.pdf"
    path.write_bytes(to_pdf([picture]))
    subprocess.run(
        ["pdftoppm", "-r", "288", "-png", str(path), str(tmp_path / "page")], check=True, timeout=60
    )
    (page,) = tmp_path.glob("page*.png")
    image = QImage(str(page))
    assert (image.width(), image.height()) == (4 * 640, 4 * 360)
    # That program moves thin lines to whole pixels, so its pixels are made a quarter as wide.
    rendered = rgba_of(image)[:, :, :3].reshape(360, 4, 640, 4, 3).mean(axis=(1, 3))
    away = np.abs(rendered - _painted(picture)[:, :, :3])
    assert away.mean() < (0.025 if backing == "glow" else 0.012)


def test_svg_needs_nothing_else_and_says_what_it_is() -> None:
    content = to_svg(_picture("card", SMALL), "V⁷/vi & “what” <it> wants")
    root = etree.fromstring(content)
    assert root.get("viewBox") == "0 0 640 360"
    names = {etree.QName(node).localname for node in root.iter()}
    assert names <= {"svg", "title", "defs", "path", "g", "use", "rect", "filter", "feGaussianBlur"}
    (title,) = root.iter("{*}title")
    assert title.text == "V⁷/vi & “what” <it> wants"
    ids = {node.get("id") for node in root.iter() if node.get("id")}
    for node in root.iter("{*}use"):
        assert node.get("{http://www.w3.org/1999/xlink}href", "").removeprefix("#") in ids


def test_the_same_picture_gives_the_same_bytes() -> None:
    for backing in BACKINGS:
        picture = _picture("still", replace(SMALL, backing=backing))
        assert to_svg(picture) == to_svg(picture)
        assert to_pdf([picture], "Title") == to_pdf([picture], "Title")


def test_pdf_has_a_page_a_picture_and_its_table_is_right() -> None:
    pictures = [_picture(kind, SMALL) for kind in ("still", "card", "timeline")]
    content = to_pdf(pictures, "Kettle ♭")
    assert content.count(b"/Type /Page ") == 3
    assert b"/Count 3" in content
    start = int(re.findall(rb"startxref\n(\d+)", content)[0])
    assert content[start : start + 4] == b"xref"
    places = [int(place) for place in re.findall(rb"(\d{10}) 00000 n", content[start:])]
    for number, place in enumerate(places, start=1):
        assert content[place:].startswith(f"{number} 0 obj".encode())
    for match in re.finditer(rb"/Length (\d+) /Filter /FlateDecode >>\nstream\n", content):
        packed = content[match.end() : match.end() + int(match[1])]
        assert zlib.decompress(packed).isascii()
