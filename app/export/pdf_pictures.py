"""Pictures as PDF, the same as their PNG: one page a picture, all of it paths.

The page is as large in points as the frame is in pixels. Transparency is that of PDF 1.4: a plate
lets as much through as its theme says; a glow is a few outlines, each wider and fainter, drawn as a
group so that shapes that overlap do not add up. The file holds no fonts, dates or random ids, so
the same pictures give the same bytes. Free of Qt.

References
----------
Adobe, *PDF Reference*, third edition, version 1.4, 2001: graphics operators (chapter 4),
transparency (chapter 7), file structure (3.4).
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from app.engraving.pages import PathCommand, Transform
from app.export.frames import GLOW, OUTLINE, Frame, Picture, Piece
from app.export.outline_paths import outlines_of, rounded_box

#: A glow as widths beyond the outline, shares of its reach, each with the opacity it adds.
_GLOW: Final = ((1.0, 0.08), (0.8, 0.12), (0.6, 0.16), (0.4, 0.2), (0.2, 0.25), (0.0, 0.3))
_OPERATORS: Final = {"M": "m", "L": "l", "C": "c", "Z": "h"}
_CAPS: Final = {"butt": 0, "round": 1, "square": 2}


def to_pdf(pictures: Sequence[Picture], title: str = "") -> bytes:
    """Pictures as the pages of a PDF file.

    Parameters
    ----------
    pictures
        One a page, in order; at least one.
    title
        Title of the file; left out where empty.
    """
    file = _File()
    pages = file.reserve()
    kids = [_add_page(file, picture, pages) for picture in pictures]
    listed = " ".join(f"{kid} 0 R" for kid in kids)
    file.fill(pages, f"<< /Type /Pages /Count {len(kids)} /Kids [{listed}] >>".encode())
    root = file.add(f"<< /Type /Catalog /Pages {pages} 0 R >>".encode())
    about = file.add(b"<< /Title <" + _hexadecimal(title) + b"> >>") if title else None
    return file.written(root, about)


class _File:
    """Numbered objects, and the table that says where they are."""

    def __init__(self) -> None:
        self._objects: list[bytes] = []

    def reserve(self) -> int:
        return self.add(b"")

    def add(self, content: bytes) -> int:
        self._objects.append(content)
        return len(self._objects)

    def fill(self, number: int, content: bytes) -> None:
        self._objects[number - 1] = content

    def add_stream(self, entries: str, content: str) -> int:
        packed = zlib.compress(content.encode("ascii"), 6)
        head = f"<< {entries}/Length {len(packed)} /Filter /FlateDecode >>\nstream\n"
        return self.add(head.encode() + packed + b"\nendstream")

    def written(self, root: int, about: int | None) -> bytes:
        out = bytearray(b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n")
        places = []
        for number, content in enumerate(self._objects, start=1):
            places.append(len(out))
            out += f"{number} 0 obj\n".encode() + content + b"\nendobj\n"
        table = len(out)
        out += f"xref\n0 {len(places) + 1}\n0000000000 65535 f \n".encode()
        for place in places:
            out += f"{place:010d} 00000 n \n".encode()
        info = f" /Info {about} 0 R" if about else ""
        out += (
            f"trailer\n<< /Size {len(places) + 1} /Root {root} 0 R{info} >>\n"
            f"startxref\n{table}\n%%EOF\n"
        ).encode()
        return bytes(out)


def _add_page(file: _File, picture: Picture, pages: int) -> int:
    frame = picture.frame
    box = f"[0 0 {frame.width} {frame.height}]"
    states: list[str] = []
    groups: list[str] = []
    # Pixels go down from the top, points up from the foot.
    content = [f"1 0 0 -1 0 {frame.height} cm"]
    if frame.ground:
        content.append(f"{_colour(frame.ground)} rg 0 0 {frame.width} {frame.height} re f")
    for layer in (*picture.under, picture):
        content += _layer(file, layer, box, states, groups)
    stream = file.add_stream("", "\n".join(content))
    return file.add(
        (
            f"<< /Type /Page /Parent {pages} 0 R /MediaBox {box} /Contents {stream} 0 R "
            "/Group << /S /Transparency /CS /DeviceRGB >> "
            f"/Resources << /ExtGState << {' '.join(states)} >> "
            f"/XObject << {' '.join(groups)} >> >> >>"
        ).encode()
    )


def _layer(
    file: _File, picture: Picture, box: str, states: list[str], groups: list[str]
) -> Iterator[str]:
    """One of the pictures that lie over each other; adds what it needs to states and groups."""
    frame = picture.frame
    ground = _colour(frame.palette.ground)
    if frame.backing == "plate":
        if not states:
            states.append(f"/P << /ca {_number(frame.theme.opacity)} >>")
        yield f"q /P gs {ground} rg"
        for plate in picture.plates:
            yield _path(rounded_box(plate, frame.theme.corner * frame.shorter)) + " f"
        yield "Q"
    elif frame.backing == "glow":
        for at, (share, opacity) in enumerate(_GLOW, start=len(groups)):
            width = (2 * OUTLINE + share * GLOW) * frame.shorter
            group = file.add_stream(
                f"/Type /XObject /Subtype /Form /BBox {box} /Group << /S /Transparency /I true >> ",
                "\n".join(_outlines(frame, picture.pieces, width)),
            )
            groups.append(f"/G{at} {group} 0 R")
            states.append(f"/A{at} << /ca {_number(opacity)} >>")
            yield f"q /A{at} gs /G{at} Do Q"
    if frame.backing in ("outline", "glow"):
        yield from _outlines(frame, picture.pieces, OUTLINE * frame.shorter)
    for piece in picture.pieces:
        yield from _ink(frame, piece)


def _ink(frame: Frame, piece: Piece) -> Iterator[str]:
    yield f"q {_placed(piece)} cm"
    colour = ""
    for tone, shape in piece.strokes:
        own = _colour(frame.palette.colour(tone))
        if own != colour:
            colour = own
            yield f"{own} rg {own} RG"
        for outline in outlines_of(shape):
            how = _how(outline.filled, outline.stroke)
            path = _path(outline.commands, outline.transform)
            if outline.stroke:
                dash = " ".join(_number(length) for length in outline.dash)
                cap = _CAPS[outline.cap]
                join = 1 if outline.cap == "round" else 0
                yield f"{_number(outline.stroke)} w [{dash}] 0 d {cap} J {join} j"
            yield f"{path} {how}"
    yield "Q"


def _outlines(frame: Frame, pieces: Iterable[Piece], width: float) -> Iterator[str]:
    """Every shape widened, in the colour of the ground."""
    ground = _colour(frame.palette.ground)
    for piece in pieces:
        yield f"q {_placed(piece)} cm {ground} rg {ground} RG 1 J 1 j"
        for _, shape in piece.strokes:
            for outline in outlines_of(shape):
                wide = outline.stroke + 2 * width / piece.scale
                path = _path(outline.commands, outline.transform)
                yield f"{_number(wide)} w {path} {'B' if outline.filled else 'S'}"
        yield "Q"


def _how(filled: bool, stroke: float) -> str:
    if filled:
        return "B" if stroke else "f"
    return "S" if stroke else "n"


def _placed(piece: Piece) -> str:
    scale = _number(piece.scale, 6)
    return f"{scale} 0 0 {scale} {_number(piece.x)} {_number(piece.y)}"


def _path(commands: Iterable[PathCommand], transform: Transform | None = None) -> str:
    """A path's operators; its points moved by a transform."""
    a, b, c, d, e, f = transform or (1, 0, 0, 1, 0, 0)
    pieces = []
    for command, *numbers in commands:
        for x, y in zip(numbers[::2], numbers[1::2], strict=True):
            pieces.append(_number(a * x + c * y + e))
            pieces.append(_number(b * x + d * y + f))
        pieces.append(_OPERATORS[command])
    return " ".join(pieces)


def _colour(colour: str) -> str:
    return " ".join(_number(int(colour[at : at + 2], 16) / 255, 4) for at in (1, 3, 5))


def _number(value: float, digits: int = 3) -> str:
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _hexadecimal(text: str) -> bytes:
    """A text as PDF has it in any script: UTF-16 with its mark, in hexadecimal."""
    return (b"\xfe\xff" + text.encode("utf-16-be")).hex().encode()
