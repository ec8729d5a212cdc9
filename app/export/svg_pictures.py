"""Pictures as SVG, the same as their PNG: no fonts, no scripts, nothing outside the file.

Letters and signs that come again are defined once and used by reference. A glow is a blurred
outline by the standard's own filter. Free of Qt; the same picture gives the same bytes.

References
----------
W3C, *Scalable Vector Graphics 1.1* (second edition), 2011.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape
from typing import Final

from app.engraving.pages import PathCommand
from app.export.frames import GLOW, OUTLINE, Frame, Picture, Piece
from app.export.outline_paths import Outline, outlines_of, rounded_box

#: A glow's blur is three box blurs of this reach on pixels; a bell of this width is as wide.
_BLUR: Final = 0.5


def to_svg(picture: Picture, title: str = "") -> bytes:
    """A picture as an SVG file.

    Parameters
    ----------
    picture
        What is on it.
    title
        What readers of the screen say of it; left out where empty.
    """
    return _Writer(picture.frame).written(picture, title).encode()


class _Writer:
    """Writes one picture, gathering what is defined once."""

    def __init__(self, frame: Frame) -> None:
        self._frame = frame
        self._names: dict[str, str] = {}
        self._defined: list[str] = []

    def written(self, picture: Picture, title: str) -> str:
        frame = picture.frame
        body = list(self._body(picture))
        definitions = "".join(self._defined)
        head = (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
            f'width="{frame.width}" height="{frame.height}" '
            f'viewBox="0 0 {frame.width} {frame.height}">\n'
        )
        said = f"<title>{escape(title, quote=False)}</title>\n" if title else ""
        return f"{head}{said}<defs>\n{definitions}</defs>\n{''.join(body)}</svg>\n"

    def _body(self, picture: Picture) -> Iterator[str]:
        frame = self._frame
        if frame.ground:
            yield (f'<rect width="{frame.width}" height="{frame.height}" fill="{frame.ground}"/>\n')
        if frame.backing == "glow":
            blur = _BLUR * GLOW * frame.shorter
            self._defined.append(
                '<filter id="glow" filterUnits="userSpaceOnUse" '
                f'x="0" y="0" width="{frame.width}" height="{frame.height}">'
                f'<feGaussianBlur stdDeviation="{_number(blur)}"/></filter>\n'
            )
        for layer in (*picture.under, picture):
            yield from self._layer(layer)

    def _layer(self, picture: Picture) -> Iterator[str]:
        frame = self._frame
        ground = frame.palette.ground
        if frame.backing == "plate":
            for box in picture.plates:
                path = _path(rounded_box(box, frame.theme.corner * frame.shorter))
                yield (
                    f'<path d="{path}" fill="{ground}" fill-opacity="{frame.theme.opacity:g}"/>\n'
                )
        elif frame.backing == "glow":
            outlines = self._outlines(picture.pieces, 2 * OUTLINE * frame.shorter)
            yield f'<g filter="url(#glow)">{"".join(outlines)}</g>\n'
        if frame.backing in ("outline", "glow"):
            yield from self._outlines(picture.pieces, OUTLINE * frame.shorter)
        for piece in picture.pieces:
            yield f"<g {_placed(piece)}>\n"
            yield from self._ink(piece)
            yield "</g>\n"

    def _ink(self, piece: Piece) -> Iterator[str]:
        for tone, shape in piece.strokes:
            colour = self._frame.palette.colour(tone)
            for outline in outlines_of(shape):
                drawn = []
                if outline.filled:
                    drawn.append(f'fill="{colour}"')
                else:
                    drawn.append('fill="none"')
                if outline.stroke:
                    drawn.append(f'stroke="{colour}" stroke-width="{_number(outline.stroke)}"')
                    if outline.dash:
                        dash = " ".join(_number(length) for length in outline.dash)
                        drawn.append(f'stroke-dasharray="{dash}"')
                    if outline.cap != "butt":
                        drawn.append(f'stroke-linecap="{outline.cap}"')
                    if outline.cap == "round":
                        drawn.append('stroke-linejoin="round"')
                yield self._drawn(outline, " ".join(drawn))

    def _outlines(self, pieces: Iterable[Piece], width: float) -> Iterator[str]:
        """Every shape widened, in the colour of the ground."""
        ground = self._frame.palette.ground
        for piece in pieces:
            yield (
                f'<g {_placed(piece)} fill="{ground}" stroke="{ground}" '
                'stroke-linecap="round" stroke-linejoin="round">\n'
            )
            for _, shape in piece.strokes:
                for outline in outlines_of(shape):
                    # A reference is scaled with its outline, so its line is made as much wider.
                    scale = _size_of(outline)
                    wide = outline.stroke + 2 * width / piece.scale / scale
                    how = f'stroke-width="{_number(wide)}"'
                    if not outline.filled:
                        how += ' fill="none"'
                    yield self._drawn(outline, how)
            yield "</g>\n"

    def _drawn(self, outline: Outline, how: str) -> str:
        if not outline.key:
            return f'<path d="{_path(outline.commands)}" {how}/>\n'
        name = self._names.get(outline.key)
        if name is None:
            name = self._names[outline.key] = f"g{len(self._names)}"
            self._defined.append(f'<path id="{name}" d="{_path(outline.commands)}"/>\n')
        matrix = " ".join(_number(number, 6) for number in outline.transform)
        return f'<use xlink:href="#{name}" transform="matrix({matrix})" {how}/>\n'


def _placed(piece: Piece) -> str:
    scale = _number(piece.scale, 6)
    return f'transform="matrix({scale} 0 0 {scale} {_number(piece.x)} {_number(piece.y)})"'


def _size_of(outline: Outline) -> float:
    a, b, *_ = outline.transform
    return float((a * a + b * b) ** 0.5)


def _path(commands: Iterable[PathCommand]) -> str:
    return "".join(
        command + " ".join(_number(number) for number in numbers) for command, *numbers in commands
    )


def _number(value: float, digits: int = 3) -> str:
    """A number without noughts that say nothing; never in powers of ten."""
    text = f"{value:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
