"""Themes: how pictures look, as small files that anybody can copy and change.

A theme is a JSON file with the fonts (weights of the text font that is shipped, no others), sizes
and lengths in per cent, and two sets of colours: *light* for dark ink on a light plate and *dark*
for light ink on a dark one. ``barline.json`` among the shipped themes shows all there is to change.

A theme's words must be readable wherever its picture lands, so a file is refused whose text would
fall below a contrast of 4.5 : 1 with its plate over a white, black or grey video, or whose graphics
would fall below 3 : 1 with the plate's own colour (WCAG 2.2). Anything else that is wrong in a file
is refused in words too: which entry, what it holds, what it may hold.

Animation is the editor's business; a theme says ``none``.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal, cast, get_args

from analysis.errors import ExportError
from app.engraving.metrics import Face
from app.engraving.palettes import (
    GRAPHICS_CONTRAST,
    TEXT_CONTRAST,
    TEXT_TONES,
    Palette,
    Tone,
    contrast,
    mixed,
)

Place = Literal["head", "middle", "foot"]
Opening = Literal["double", "single", "none"]

_FOLDER: Final = Path(__file__).with_name("themes")
_LARGEST: Final = 64 * 1024
_TONES: Final[tuple[Tone, ...]] = ("ink", "soft", "accent", "foreign", "line")
_COLOUR: Final = re.compile(r"#[0-9a-fA-F]{6}")
#: Least and most of each number, in the file's per cent.
_SIZES: Final = {"title": (3.0, 20.0), "body": (2.5, 12.0), "staff": (4.0, 40.0)}
_LENGTHS: Final = {
    "margin": (5.0, 20.0),
    "padding": (1.0, 12.0),
    "corner": (0.0, 12.0),
    "width": (30.0, 100.0),
}
_FOOTAGE: Final = ("#ffffff", "#808080", "#000000")


@dataclass(frozen=True, slots=True)
class Theme:
    """How pictures look.

    Parameters
    ----------
    name, about
        For people.
    light, dark
        Colours for dark ink and for light ink.
    title_face, body_face, small_face
        Weights of a card's title, its sentence, and what stands beside the title.
    title, staff, padding, corner
        Em of a title, highest staff, border of a plate around what is on it, and radius of its
        corners, as shares of the frame's shorter side.
    body
        Em of a sentence, as a share of the frame's height; less where it is long.
    margin
        Free border, as a share of the frame's width and height, at least the title-safe area's.
    width
        Width of a line of the sentence, as a share of the frame's width.
    opacity
        Of a plate, 0 to 1.
    place
        Where in the frame a card stands.
    opening
        The lines at its left.
    """

    name: str
    about: str
    light: Palette
    dark: Palette
    title_face: Face
    body_face: Face
    small_face: Face
    title: float
    body: float
    staff: float
    margin: float
    padding: float
    corner: float
    width: float
    opacity: float
    place: Place
    opening: Opening


def read_theme(data: bytes, name: str = "theme") -> Theme:
    """The theme of a file.

    Parameters
    ----------
    data
        What the file holds.
    name
        The file's name, for messages.

    Raises
    ------
    ExportError
        If it is no theme; the sentence says which entry is wrong and what it may hold.
    """
    try:
        if len(data) > _LARGEST:
            raise _Wrong("it is larger than 64 kB")
        entries = _Entries(_parsed(data), "")
        theme = _theme_of(entries)
        _check_contrasts(theme)
    except _Wrong as wrong:
        raise ExportError(f"The theme “{name}” cannot be used: {wrong}.") from wrong
    return theme


def read_theme_file(path: Path) -> Theme:
    """The theme of a file on disk.

    Raises
    ------
    ExportError
        If it cannot be read or is no theme.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST + 1)
    except OSError as error:
        raise ExportError(
            f"The theme “{path.name}” cannot be read: {error.strerror or error}."
        ) from error
    return read_theme(data, path.name)


def shipped_themes() -> dict[str, Theme]:
    """The themes that come with the program, by their file's name without ending."""
    return {path.stem: read_theme_file(path) for path in sorted(_FOLDER.glob("*.json"))}


def theme_named(name: str) -> Theme:
    """A shipped theme by name, or the theme of a file by its path.

    Raises
    ------
    ExportError
        If there is none.
    """
    shipped = {path.stem: path for path in sorted(_FOLDER.glob("*.json"))}
    if name.casefold() in shipped:
        return read_theme_file(shipped[name.casefold()])
    path = Path(name)
    if path.suffix.casefold() == ".json":
        return read_theme_file(path)
    known = ", ".join(shipped)
    raise ExportError(f"There is no theme “{name}”; there are {known}, or name a .json file.")


class _Wrong(ValueError):
    """What is wrong with a theme, as the end of a sentence."""


class _Entries:
    """An object of the file and where it stands, read entry by entry."""

    def __init__(self, value: object, where: str) -> None:
        if not isinstance(value, dict):
            raise _Wrong(f"{where or 'the whole'} must be entries between braces")
        self._values = cast("dict[str, Any]", value)
        self._where = where

    def under(self, name: str) -> _Entries:
        return _Entries(self._value(name), self._path(name))

    def only(self, names: Mapping[str, object] | tuple[str, ...]) -> _Entries:
        """Refuse entries of other names, most likely misspelled."""
        for name in self._values:
            if name not in names:
                known = ", ".join(names)
                raise _Wrong(f"“{_short(self._path(name))}” is no entry; there are {known}")
        return self

    def text(self, name: str) -> str:
        value = self._value(name)
        if not isinstance(value, str) or not value.strip() or len(value) > 200:
            raise _Wrong(f"“{self._path(name)}” must be a text of at most 200 letters")
        return value

    def one_of(self, name: str, choices: tuple[str, ...]) -> str:
        value = self._value(name)
        if not isinstance(value, str) or value not in choices:
            raise _Wrong(f"“{self._path(name)}” is {_short(value)}; it may be {', '.join(choices)}")
        return value

    def per_cent(self, name: str, least: float, most: float) -> float:
        value = self._value(name)
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if not number or not least <= value <= most:
            raise _Wrong(
                f"“{self._path(name)}” is {_short(value)}; it may be {least:g} to {most:g}"
            )
        return float(value) / 100

    def colour(self, name: str) -> str:
        value = self._value(name)
        if not isinstance(value, str) or not _COLOUR.fullmatch(value):
            raise _Wrong(
                f"“{self._path(name)}” is {_short(value)}; it must be a colour such as #1b1b1b"
            )
        return value.lower()

    def _value(self, name: str) -> Any:
        if name not in self._values:
            raise _Wrong(f"“{self._path(name)}” is missing")
        return self._values[name]

    def _path(self, name: str) -> str:
        return f"{self._where} {name}".strip()


def _parsed(data: bytes) -> object:
    try:
        return json.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise _Wrong("it is no text in UTF-8") from None
    except json.JSONDecodeError as error:
        raise _Wrong(f"line {error.lineno} is not JSON ({error.msg.lower()})") from error
    except (ValueError, RecursionError) as error:
        raise _Wrong("it is not JSON that can be read") from error


def _theme_of(entries: _Entries) -> Theme:
    entries.only(
        ("name", "about", "fonts", "sizes", "layout", "plate", "animation", "light", "dark")
    )
    entries.one_of("animation", ("none",))
    fonts = entries.under("fonts").only(("title", "body", "small"))
    sizes = entries.under("sizes").only(_SIZES)
    layout = entries.under("layout").only((*_LENGTHS, "place", "opening"))
    plate = entries.under("plate").only(("opacity",))
    size = {name: sizes.per_cent(name, *limits) for name, limits in _SIZES.items()}
    length = {name: layout.per_cent(name, *limits) for name, limits in _LENGTHS.items()}
    faces = get_args(Face)
    return Theme(
        name=entries.text("name"),
        about=entries.text("about"),
        light=_palette(entries.under("light")),
        dark=_palette(entries.under("dark")),
        title_face=cast("Face", fonts.one_of("title", faces)),
        body_face=cast("Face", fonts.one_of("body", faces)),
        small_face=cast("Face", fonts.one_of("small", faces)),
        **size,
        **length,
        opacity=plate.per_cent("opacity", 80, 100),
        place=cast("Place", layout.one_of("place", get_args(Place))),
        opening=cast("Opening", layout.one_of("opening", get_args(Opening))),
    )


def _palette(entries: _Entries) -> Palette:
    entries.only(("ground", *_TONES))
    return Palette(entries.colour("ground"), *(entries.colour(tone) for tone in _TONES))


def _check_contrasts(theme: Theme) -> None:
    for which, palette in (("light", theme.light), ("dark", theme.dark)):
        grounds = [mixed(palette.ground, below, theme.opacity) for below in _FOOTAGE] + [
            palette.tint
        ]
        for tone in _TONES:
            text = tone in TEXT_TONES
            least = TEXT_CONTRAST if text else GRAPHICS_CONTRAST
            against = grounds if text else [palette.ground]
            found = min(contrast(palette.colour(tone), ground) for ground in against)
            if found < least:
                raise _Wrong(
                    f"“{which} {tone}” has a contrast of {found:.1f} : 1 with its plate, "
                    f"and {least:g} : 1 is the least that can be read"
                )


def _short(value: object) -> str:
    """A value as the file has it, cut where it is long."""
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    text = "".join(one if one.isprintable() else "�" for one in text[:41])
    return text if len(text) <= 40 else text[:39] + "…"


#: The theme where nothing else is said.
BARLINE: Final = read_theme_file(_FOLDER / "barline.json")
