"""Lyrics under the notes."""

from __future__ import annotations

import pytest

from analysis.score import Lyric
from tests.analysis.snippets import attributes, note, one


def _lyric(text: str, syllabic: str = "single", verse: str = "1") -> str:
    return f'<lyric number="{verse}"><syllabic>{syllabic}</syllabic><text>{text}</text></lyric>'


def test_lyrics_by_verse_with_their_hyphens() -> None:
    notes = one(
        attributes()
        + note("C4", 4, _lyric("ket", "begin") + _lyric("tea", verse="2"))
        + note("D4", 4, _lyric("tle", "end"))
        + note("E4", 4, '<lyric><extend type="stop"/></lyric>')
        + note("F4", 4, _lyric("  "))
    )
    assert notes[0].lyrics == (Lyric("1", "ket", "begin"), Lyric("2", "tea", "single"))
    assert notes[1].lyrics == (Lyric("1", "tle", "end"),)
    assert notes[2].lyrics == notes[3].lyrics == ()


@pytest.mark.parametrize(
    ("elision", "joined"), [("<elision>‿</elision>", "la‿un"), ("<elision/>", "la‿un")]
)
def test_elisions_join_syllables(elision: str, joined: str) -> None:
    lyric = (
        "<lyric><syllabic>end</syllabic><text>la</text>"
        f"{elision}<syllabic>begin</syllabic><text>un</text></lyric>"
    )
    notes = one(attributes() + note("C4", 16, lyric))
    assert notes[0].lyrics == (Lyric("1", joined, "middle"),)
