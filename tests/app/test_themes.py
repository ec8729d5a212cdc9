"""Theme files: the shipped ones, a user's own, and broken ones."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import ExportError
from app.engraving.palettes import GRAPHICS_CONTRAST, TEXT_TONES, contrast
from app.export.themes import BARLINE, read_theme, read_theme_file, shipped_themes, theme_named

SHIPPED = shipped_themes()


def _plain() -> dict[str, Any]:
    folder = Path(read_theme_file.__code__.co_filename).with_name("themes")
    entries: dict[str, Any] = json.loads((folder / "barline.json").read_text("utf-8"))
    return entries


def _read(entries: object) -> None:
    read_theme(json.dumps(entries).encode())


def test_three_themes_are_shipped_and_differ_in_more_than_colour() -> None:
    assert sorted(SHIPPED) == ["barline", "manuscript", "slate"]
    looks = {(t.title_face, t.opening, t.place, t.corner) for t in SHIPPED.values()}
    assert len(looks) == 3
    assert SHIPPED["barline"] == BARLINE


@pytest.mark.parametrize("name", sorted(SHIPPED))
def test_colours_of_shipped_themes_can_be_read(name: str) -> None:
    for palette in (SHIPPED[name].light, SHIPPED[name].dark):
        for tone in TEXT_TONES:
            assert contrast(palette.colour(tone), palette.ground) >= 4.5
        for other in (palette.foreign, palette.line):
            assert contrast(other, palette.ground) >= GRAPHICS_CONTRAST


def test_a_copy_that_a_user_has_changed(tmp_path: Path) -> None:
    entries = _plain()
    entries["name"] = "Mine"
    entries["sizes"]["title"] = 9
    path = tmp_path / "mine.json"
    # Some editors begin a file with a byte order mark.
    path.write_bytes(b"\xef\xbb\xbf" + json.dumps(entries).encode())
    assert theme_named(str(path)).title == pytest.approx(0.09)
    assert theme_named("Slate") == SHIPPED["slate"]
    with pytest.raises(ExportError, match="there are barline, manuscript, slate"):
        theme_named("chalk")
    with pytest.raises(ExportError, match="cannot be read"):
        theme_named(str(tmp_path / "gone.json"))


@pytest.mark.parametrize(
    ("where", "value", "said"),
    [
        (("fonts", "title"), "Comic", "“fonts title” is Comic; it may be regular, italic"),
        (("sizes", "body"), 40, "“sizes body” is 40; it may be 2.5 to 12"),
        (("sizes", "body"), True, "“sizes body” is true"),
        (("sizes", "staff"), float("nan"), "“sizes staff” is NaN"),
        (("layout", "margin"), 2, "“layout margin” is 2; it may be 5 to 20"),
        (("layout", "place"), "left", "it may be head, middle, foot"),
        (("light", "ink"), "black", "it must be a colour such as #1b1b1b"),
        (("light", "ink"), "#bbbbbb", "“light ink” has a contrast of 1.8 : 1"),
        (("dark", "line"), "#202020", "and 3 : 1 is the least"),
        (("animation",), "bounce", "it may be none"),
        (("plate",), 5, "plate must be entries between braces"),
        (("shadow",), 5, "“shadow” is no entry; there are name, about"),
        (("name",), "", "“name” must be a text"),
        (("light", "ink"), "a\0\n", "“light ink” is a��; it must be a colour"),
    ],
)
def test_what_is_wrong_is_said(where: tuple[str, ...], value: object, said: str) -> None:
    entries = _plain()
    inner = entries
    for name in where[:-1]:
        inner = inner[name]
    inner[where[-1]] = value
    with pytest.raises(ExportError) as caught:
        _read(entries)
    assert said in str(caught.value)


def test_what_is_missing_is_named() -> None:
    for name in _plain():
        entries = _plain()
        del entries[name]
        with pytest.raises(ExportError, match=f"“{name}” is missing"):
            _read(entries)


@given(st.binary(max_size=200))
def test_any_bytes_are_a_theme_or_an_error_in_words(data: bytes) -> None:
    with pytest.raises(ExportError, match=r"cannot be used: .+\."):
        read_theme(data)


@given(st.data())
def test_a_theme_with_any_bytes_changed(data: st.DataObject) -> None:
    whole = bytearray(json.dumps(_plain()).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(whole) - 1))
        whole[at] = data.draw(st.integers(0, 255))
    # Any other error fails the test.
    with contextlib.suppress(ExportError):
        read_theme(bytes(whole))


def test_deep_and_huge_files() -> None:
    for data in (b"[" * 60000, b" " * 100000, b'{"name":' * 8000, b"1" * 6000):
        with pytest.raises(ExportError):
            read_theme(data)
