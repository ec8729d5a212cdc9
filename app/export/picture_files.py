"""Pictures as files of the kinds that are wanted: PNG, SVG, PDF."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, Literal, NamedTuple, get_args

from analysis.errors import ExportError
from app.export.folders import write_file
from app.export.frames import Picture
from app.export.manifests import MANIFEST, Progress, about_picture, manifest_bytes
from app.export.pdf_pictures import to_pdf
from app.export.pictures import picture_png
from app.export.svg_pictures import to_svg
from app.review.document import Document

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


class Drawn(NamedTuple):
    """A picture that is laid out, and how its file differs from others of the same name.

    ``part`` is what its name ends in, ``more`` what the list says of it besides, ``png`` what
    paints it where its layout alone does not.
    """

    picture: Picture
    part: str = ""
    more: Mapping[str, Any] = MappingProxyType({})
    png: Callable[[], bytes] | None = None


class Wanted(NamedTuple):
    """Pictures that are wanted: their name, their title, what they are about, what draws them."""

    name: str
    title: str
    about: Mapping[str, Any]
    draw: Callable[[], Iterable[Drawn]]


def numbered(pictures: Iterable[Picture]) -> Iterator[Drawn]:
    """Pictures of one name: ``name``, ``name-part-2``, and so on."""
    for number, picture in enumerate(pictures, start=1):
        yield Drawn(picture, f"-part-{number}" if number > 1 else "")


def write_pictures(
    document: Document,
    folder: Path,
    wanted: Sequence[Wanted],
    endings: Sequence[Ending] = PNG,
    progress: Progress | None = None,
) -> list[Path]:
    """Write pictures in each kind of file, and the manifest.

    Parameters
    ----------
    document
        The review, for printed numbers of measures.
    folder
        Where to; it is made where it is missing.
    wanted
        In their order.
    endings
        Kinds of file to write each picture as; the manifest names the first.
    progress
        Told of each that is wanted; what it raises ends the work between two.

    Returns
    -------
    list of Path
        The pictures in their order, the manifest last.

    Raises
    ------
    ExportError
        If a file cannot be written.
    EngravingError
        If an excerpt cannot be engraved.
    """
    rows, written = [], []
    for number, one in enumerate(wanted):
        if progress is not None:
            progress(number, len(wanted), f"{one.name}.{endings[0]}")
        for drawn in one.draw():
            name = f"{one.name}{drawn.part}"
            for ending in endings:
                content = (
                    drawn.png()
                    if ending == "png" and drawn.png
                    else picture_bytes(drawn.picture, ending, one.title)
                )
                write_file(folder / f"{name}.{ending}", content)
                written.append(folder / f"{name}.{ending}")
            facts = about_picture(document, drawn.picture)
            rows.append({"file": f"{name}.{endings[0]}", **one.about, **facts, **drawn.more})
    write_file(folder / MANIFEST, manifest_bytes(rows))
    return [*written, folder / MANIFEST]
