"""The printed score: pages counted and rendered by others, vectors only, the same bytes twice."""

from __future__ import annotations

import re
import shutil
import subprocess
import zlib
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtGui import QImage

from analysis.marks import MelodyFact
from analysis.reading.sources import Source
from app.engraving.bounds import shape_box
from app.engraving.pages import Page, TextShape
from app.export.annotated_pdf import to_pdf
from app.export.cautions import RIGHTS
from app.export.legends import lay_out_legend
from app.export.score_sheets import HEIGHT, MARGIN, WIDTH, Sheet, lay_out_sheets
from app.review.document import Decision, Document
from tests.app.reviews import SAMPLES, crowded_sample, read_sample

Reader = Callable[[str], tuple[Source, Document]]
RENDERER = shutil.which("pdftoppm")


@cache
def crowded_sheets(name: str) -> list[Sheet]:
    """A crowded sample's sheets, laid out once."""
    source, document = crowded_sample(name)
    return lay_out_sheets(document, source)


def edges(sheet: Sheet) -> list[tuple[float, float, float, float]]:
    """Left, top, right and bottom of all that is painted over the music, in sheet units."""
    found = []
    for scale, strokes in ((sheet.scale, sheet.marks), (1.0, sheet.around)):
        for _, shape in strokes:
            x, y, width, height = (scale * value for value in shape_box(shape))
            found.append((x, y, x + width, y + height))
    return found


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("read", [read_sample, crowded_sample])
def test_the_title_stands_above_all_marks(read: Reader, name: str) -> None:
    source, document = read(name)
    first = lay_out_sheets(document, source)[0]
    assert first.page is not None
    head = [shape_box(shape) for shape in first.page.shapes if shape.role == "pgHead"]
    marks = [shape_box(stroke.shape) for stroke in first.marks]
    assert head
    assert min(y for _, y, _, _ in head) > 0
    assert max(y + height for _, y, _, height in head) < min(y for _, y, _, _ in marks)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_measure_and_every_label_is_on_a_sheet(name: str) -> None:
    _, document = crowded_sample(name)
    sheets = crowded_sheets(name)
    measures = [
        measure.index
        for sheet in sheets
        if sheet.page is not None
        for system in sheet.page.systems
        for measure in system.measures
    ]
    assert measures == [measure.index for measure in document.score.measures]
    for sheet in sheets:
        for left, top, right, bottom in edges(sheet):
            assert 0 <= left <= right <= WIDTH
            assert 0 <= top <= bottom <= HEIGHT


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_of_the_music_reaches_the_foot_or_the_legend(name: str) -> None:
    for sheet in crowded_sheets(name):
        if sheet.page is None:
            continue
        music = max(y + height for y, height in _boxes(sheet))
        foot = min(shape_box(shape)[1] for _, shape in sheet.around)
        assert music < foot


def _boxes(sheet: Sheet) -> list[tuple[float, float]]:
    """Top and height of the systems and of what is painted over them, in sheet units."""
    assert sheet.page is not None
    boxes = [system.box for system in sheet.page.systems]
    boxes += [shape_box(shape) for _, shape in sheet.marks]
    return [(sheet.scale * box[1], sheet.scale * box[3]) for box in boxes]


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("read", [read_sample, crowded_sample])
def test_pages_but_the_last_are_filled(read: Reader, name: str) -> None:
    source, document = read(name)
    pages = [sheet for sheet in lay_out_sheets(document, source) if sheet.page is not None]
    assert len(pages) > 1
    for sheet in pages[:-1]:
        assert max(y + height for y, height in _boxes(sheet)) >= 0.75 * HEIGHT


def test_the_last_page_keeps_the_usual_distances() -> None:
    source, document = read_sample("slow-to-warm")
    first, last = (sheet.page for sheet in lay_out_sheets(document, source))
    assert first is not None
    assert last is not None
    assert _distance(last) < _distance(first)


def _distance(page: Page) -> float:
    """From the top staff of a page's first system to that of its second."""
    return page.systems[1].measures[0].box[1] - page.systems[0].measures[0].box[1]


def test_the_legend_has_the_signs_of_the_score_and_no_others() -> None:
    _, document = read_sample("wednesday-table")
    marks = list(document.shown_marks())
    chords = [mark for mark in marks if mark.mark.kind == "chord"]
    _, few = lay_out_legend(chords, MARGIN, 0.0, WIDTH - 2 * MARGIN)
    _, more = lay_out_legend(marks, MARGIN, 0.0, WIDTH - 2 * MARGIN)
    assert few < more
    reviewed = [replace(mark, decision=Decision("accepted")) for mark in chords]
    tones = {tone for tone, _ in lay_out_legend(reviewed, MARGIN, 0.0, 1880.0)[0]}
    assert tones == {"ink"}
    assert not any(isinstance(mark.mark.fact, MelodyFact) for mark in chords)


@pytest.mark.parametrize("name", ["slow-to-warm", "kettle-wont-sing"])
def test_the_file_has_its_pages_no_fonts_no_pictures_and_the_same_bytes(name: str) -> None:
    source, document = read_sample(name)
    content = to_pdf(document, source)
    assert to_pdf(document, source) == content
    sheets = lay_out_sheets(document, source)
    assert len(re.findall(rb"/Type /Page\b", content)) == len(sheets)
    assert b"/Font <<\n>>" in content
    assert b"/Subtype /Image" not in content
    assert b"/Type /Font" not in content
    start = int(content.rpartition(b"startxref")[2].split()[0])
    assert content[start:].startswith(b"xref")
    for place in re.findall(rb"^(\d{10}) 00000 n", content[start:], re.M):
        assert re.match(rb"\d+ 0 obj", content[int(place) :])
    drawn = [
        zlib.decompress(found)
        for found in re.findall(rb"stream\n(\x78.*?)endstream", content, re.S)
    ]
    assert sum(page.count(b" re\n") + page.count(b" c\n") for page in drawn) > 1000


def test_the_number_and_the_caution_are_on_every_sheet() -> None:
    source, document = read_sample("wednesday-table")
    sheets = lay_out_sheets(document, source)
    wanted = "".join(RIGHTS.split())
    for number, sheet in enumerate(sheets, start=1):
        texts = [shape for _, shape in sheet.around if isinstance(shape, TextShape)]
        written = "".join(shape.text for shape in texts)
        assert wanted in written
        assert f"{number}/{len(sheets)}" in written


@pytest.mark.skipif(RENDERER is None, reason="pdftoppm is not installed")
def test_a_renderer_shows_every_page_with_its_margins_free(tmp_path: Path) -> None:
    assert RENDERER is not None
    source, document = read_sample("slow-to-warm")
    path = tmp_path / "score.pdf"
    path.write_bytes(to_pdf(document, source))
    subprocess.run([RENDERER, "-r", "50", "-png", path, tmp_path / "page"], check=True)
    pages = sorted(tmp_path.glob("page*.png"))
    sheets = lay_out_sheets(document, source)
    assert len(pages) == len(sheets)
    for page in pages:
        dark = _grey(page) < 128
        assert dark.sum() > 1000
        rows, columns = np.nonzero(dark)
        height, width = dark.shape
        assert rows.min() > 0.02 * height
        assert rows.max() < 0.99 * height
        assert columns.min() > 0.04 * width
        assert columns.max() < 0.96 * width


def _grey(path: Path) -> NDArray[np.uint8]:
    image = QImage(str(path)).convertToFormat(QImage.Format.Format_Grayscale8)
    flat = np.frombuffer(image.constBits(), dtype=np.uint8)
    return flat.reshape(image.height(), image.bytesPerLine())[:, : image.width()].copy()
