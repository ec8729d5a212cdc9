"""Pictures as files of the kinds that are wanted: PNG, SVG, PDF."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final, Literal, get_args

from analysis.errors import ExportError
from app.export.folders import write_file
from app.export.frames import Picture
from app.export.pdf_pictures import to_pdf
from app.export.pictures import picture_png
from app.export.svg_pictures import to_svg

Ending = Literal["png", "svg", "pdf"]
ENDINGS: Final[tuple[Ending, ...]] = get_args(Ending)
#: Where nothing else is said.
PNG: Final[tuple[Ending, ...]] = ("png",)


def picture_bytes(picture: Picture, ending: Ending, title: str = "") -> bytes:
    """A picture as a file.

    Raises
    ------
    ExportError
        If there is no such kind.
    """
    if ending == "png":
        return picture_png(picture)
    if ending == "svg":
        return to_svg(picture, title)
    if ending == "pdf":
        return to_pdf([picture], title)
    raise ExportError(f"Pictures can be {', '.join(ENDINGS)}; “{ending}” is none of them.")


def write_picture(
    folder: Path, name: str, picture: Picture, endings: Sequence[Ending] = PNG, title: str = ""
) -> list[Path]:
    """Write a picture in each kind that is wanted; the paths in this order.

    Raises
    ------
    ExportError
        If a file cannot be written.
    """
    written = []
    for ending in endings:
        path = folder / f"{name}.{ending}"
        write_file(path, picture_bytes(picture, ending, title))
        written.append(path)
    return written
