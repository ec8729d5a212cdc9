"""Every kind of picture on one sheet, to look at: ``python -m tests.app.contact_sheet``.

The sheet goes to ``sample_scores/pictures.png`` for the README; a path sends it elsewhere, and with
``--full`` each picture is also written beside it in full size over its ground.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QImage, QPainter

from analysis.marks import Repeat
from app.export.card_layouts import lay_out_card
from app.export.frames import Frame, Picture
from app.export.passages import section_spans
from app.export.pictures import paint_picture
from app.export.reveal_layouts import lay_out_reveal
from app.export.reveals import paint_reveal
from app.export.still_layouts import lay_out_still, lay_out_stretch
from app.export.themes import shipped_themes
from app.export.timeline_strips import lay_out_timeline
from tests.app.reviews import SAMPLES, read_sample

SHEET: Final = Path(__file__).parents[2] / "sample_scores" / "pictures.png"
_COLUMNS: Final = 3
_TILE: Final = (400, 225)
_GAP: Final = 8
_SQUARE: Final = 24
#: Checkerboard where None.
_DARK, _LIGHT, _GREY = "#26302b", "#d9e2ea", "#808080"


def pictures() -> Iterator[tuple[str, QImage, str | None]]:
    """Name, picture and ground of each tile."""
    source, document = read_sample(SAMPLES[0])
    themes = shipped_themes()
    shown = list(document.shown_marks())
    chord = next(m for m in shown if "V⁷/" in m.label)
    repeat = next(m for m in shown if isinstance(m.mark.fact, Repeat) and m.mark.fact.differences)
    verse = section_spans(document)[1][1]

    def painted(picture: Picture) -> QImage:
        return paint_picture(picture.frame, picture.pieces, picture.plates)

    plain = Frame()
    yield "comparison", painted(lay_out_still(document, source, repeat, plain)), None
    yield "still", painted(lay_out_still(document, source, chord, plain)), _LIGHT
    night = Frame(ink="light")
    yield "still-dark", painted(lay_out_still(document, source, chord, night)), _DARK
    for name, ink, ground in (
        ("barline", "dark", _DARK),
        ("manuscript", "dark", _GREY),
        ("slate", "light", _LIGHT),
    ):
        frame = Frame(ink="dark" if ink == "dark" else "light", theme=themes[name])
        card = lay_out_card(document, source, chord, frame)
        yield f"card-{name}", painted(card.picture(frame)), ground
    frame = Frame(theme=themes["slate"])
    yield "timeline", painted(lay_out_timeline(document, frame, verse)), None
    frame = Frame(theme=themes["manuscript"])
    yield "section", painted(lay_out_stretch(document, source, verse, frame)), _GREY
    reveal = lay_out_reveal(document, source, chord, Frame(ink="light", theme=themes["slate"]))
    *_, (whole, _) = paint_reveal(reveal)
    yield "reveal", whole, _LIGHT
    glow = Frame(backing="glow", ink="light")
    yield "glow", painted(lay_out_still(document, source, chord, glow)), _GREY
    outline = Frame(backing="outline")
    yield "outline", painted(lay_out_still(document, source, chord, outline)), _DARK
    steps = [image for image, _ in paint_reveal(lay_out_reveal(document, source, chord, plain))]
    yield "reveal-first", steps[1], None


def over_ground(image: QImage, ground: str | None) -> QImage:
    """A picture over a colour, or over a checkerboard."""
    out = QImage(image.size(), QImage.Format.Format_RGB32)
    painter = QPainter(out)
    if ground:
        painter.fillRect(out.rect(), QColor(ground))
    else:
        for y in range(0, image.height(), _SQUARE):
            for x in range(0, image.width(), _SQUARE):
                even = (x // _SQUARE + y // _SQUARE) % 2 == 0
                square = QRect(x, y, _SQUARE, _SQUARE)
                painter.fillRect(square, QColor("#b4b4b4" if even else "#8c8c8c"))
    painter.drawImage(0, 0, image)
    painter.end()
    return out


def main() -> None:
    """Write the sheet."""
    parser = argparse.ArgumentParser(prog="python -m tests.app.contact_sheet", description=__doc__)
    parser.add_argument("out", type=Path, nargs="?", default=SHEET)
    parser.add_argument("--full", action="store_true", help="each picture in full size, too")
    chosen = parser.parse_args()
    tiles = [(name, over_ground(image, ground)) for name, image, ground in pictures()]
    width, height = _TILE
    rows = -(-len(tiles) // _COLUMNS)
    size = (_COLUMNS * (width + _GAP) + _GAP, rows * (height + _GAP) + _GAP)
    sheet = QImage(*size, QImage.Format.Format_RGB32)
    sheet.fill(QColor("#ffffff"))
    painter = QPainter(sheet)
    for at, (name, tile) in enumerate(tiles):
        if chosen.full:
            tile.save(str(chosen.out.with_name(f"{name}.png")))
        small = tile.scaled(
            width,
            height,
            Qt.AspectRatioMode.IgnoreAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )
        x = _GAP + at % _COLUMNS * (width + _GAP)
        painter.drawImage(x, _GAP + at // _COLUMNS * (height + _GAP), small)
    painter.end()
    sheet.save(str(chosen.out))


if __name__ == "__main__":
    main()
