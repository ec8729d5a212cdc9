"""Text with music in it: what is raised, stacked or a sign, how wide it is, how lines break."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.engraving.bounds import shape_box, text_width
from app.engraving.metrics import CAP_HEIGHT, Face, kerning, letter, path_box, sign
from app.engraving.musictext import (
    break_lines,
    plain_text,
    read_chord_symbol,
    read_text,
    set_chord_symbol,
    set_text,
)
from app.engraving.pages import GlyphShape


def _runs(text: str) -> list[tuple[str, str]]:
    return [(run.text, run.place) for run in read_text(text)]


NUMERALS = {
    "♭VII⁷": [("♭VII", "line"), ("7", "raised")],
    "bVII7": [("♭VII", "line"), ("7", "raised")],
    "V⁶₅/vi": [("V", "line"), ("6", "upper"), ("5", "lower"), ("/vi", "line")],
    "V65/vi": [("V", "line"), ("6", "upper"), ("5", "lower"), ("/vi", "line")],
    "I⁶₄": [("I", "line"), ("6", "upper"), ("4", "lower")],
    "IV6": [("IV", "line"), ("6", "raised")],
    "ii°": [("ii°", "line")],
    "viio7/V": [("vii°", "line"), ("7", "raised"), ("/V", "line")],
    "viiø⁷": [("vii", "line"), ("ø7", "raised")],
    "vii%7": [("vii", "line"), ("ø7", "raised")],
    "♯ivø⁶₅": [("♯iv", "line"), ("ø", "raised"), ("6", "upper"), ("5", "lower")],
    "N⁶": [("N", "line"), ("6", "raised")],
    "It⁺⁶": [("It", "line"), ("+6", "raised")],
    "Ger65": [("Ger", "line"), ("6", "upper"), ("5", "lower")],
    "subV7/V": [("subV", "line"), ("7", "raised"), ("/V", "line")],
    "Imaj7": [("I", "line"), ("maj7", "raised")],
    "Vsus⁴": [("V", "line"), ("sus4", "raised")],
    "iv(add⁶)": [("iv", "line"), ("(add6)", "raised")],
    "V⁷(♭⁹)": [("V", "line"), ("7(♭9)", "raised")],
    "V7(b9)": [("V", "line"), ("7(♭9)", "raised")],
    "IV/1": [("IV/1", "line")],
    "N.C.": [("N.C.", "line")],
}


@pytest.mark.parametrize(("text", "runs"), NUMERALS.items())
def test_numerals_typographic_or_plain(text: str, runs: list[tuple[str, str]]) -> None:
    assert _runs(text) == runs


@pytest.mark.parametrize(
    "text",
    [
        "I sing it again in a minor key.",
        "It is Cadence, not vivid; via Volvo, Viola and Fritz.",
        "The bass of section B lies low, at 92 beats.",
        "Nothing here is Ivory.",
    ],
)
def test_words_stay_words(text: str) -> None:
    assert _runs(text) == [(text, "line")]


def test_numerals_and_notes_within_a_sentence() -> None:
    assert _runs("Bb7 is bVII7 of C, over b3.") == [
        ("B♭7 is ♭VII", "line"),
        ("7", "raised"),
        (" of C, over ♭3.", "line"),
    ]


@pytest.mark.parametrize(
    ("text", "runs"),
    [
        ("B♭m7(♭5)/D♭", [("B♭m", "line"), ("7(♭5)", "raised"), ("/D♭", "line")]),
        ("Bbm7(b5)/Db", [("B♭m", "line"), ("7(♭5)", "raised"), ("/D♭", "line")]),
        ("F#maj7", [("F♯", "line"), ("maj7", "raised")]),
        ("C6/9", [("C", "line"), ("6/9", "raised")]),
        ("C°7", [("C°", "line"), ("7", "raised")]),
        ("N.C.", [("N.C.", "line")]),
    ],
)
def test_chord_symbols(text: str, runs: list[tuple[str, str]]) -> None:
    assert [(run.text, run.place) for run in read_chord_symbol(text)] == runs


def test_plain_and_typographic_chord_symbols_are_set_alike() -> None:
    assert set_chord_symbol("Bbm7(b5)/Db", 40) == set_chord_symbol("B♭m7(♭5)/D♭", 40)


def test_letters_and_signs_are_the_fonts_own() -> None:
    # fontTools' own reading of the files: advance of V, kerning of A V, height of capitals.
    assert letter("V").advance == 556
    assert kerning("A", "V") == kerning("V", "A") == -14
    assert letter("H").box[3] == CAP_HEIGHT
    # SMuFL: a flat stands on its staff position, its stem about two spaces (500 units) above.
    _, top, _, height = sign("E260").box
    assert top == -439
    assert top + height == 175


def test_accidentals_are_about_as_high_as_capitals() -> None:
    size = 100.0
    for accidental in "♭♮♯":
        _, _, _, height = set_text(accidental, size).glyphs[0].box
        assert 0.65 * size < height < 1.0 * size


def test_stacked_figures_stand_above_each_other_and_clear() -> None:
    _, upper, lower = set_text("V⁶₅", 100.0).glyphs
    assert upper.x == lower.x
    assert upper.box[1] + upper.box[3] < lower.box[1]


def test_the_box_holds_the_ink_of_all_shapes() -> None:
    for text in (*NUMERALS, "A sentence, with ♭VII⁷ (and brackets)."):
        set_one = set_text(text, 30.0)
        x, y, width, height = set_one.box(10.0, 50.0)
        for shape in set_one.shapes(10.0, 50.0):
            left, top, ink_width, ink_height = shape_box(shape)
            assert x - 0.05 * 30 <= left
            assert left + ink_width <= x + width + 0.05 * 30
            assert y - 1e-6 <= top
            assert top + ink_height <= y + height + 1e-6


def test_accidentals_are_signs_of_the_music_font() -> None:
    codes = [s.code for s in set_text("B♭ F♯ E♮ 𝄫", 20).shapes(0, 0) if isinstance(s, GlyphShape)]
    assert codes == ["E260", "E262", "E261", "E264"]


def test_width_scales_with_size_and_adds_up() -> None:
    assert set_text("V⁶₅/vi", 60).width == pytest.approx(2 * set_text("V⁶₅/vi", 30).width)
    assert set_text("Tonic", 1000).width == pytest.approx(text_width("Tonic", "regular", 1000))


@pytest.mark.parametrize("face", ["regular", "italic", "medium", "semibold", "bold"])
def test_every_face_has_the_letters_that_are_set(face: Face) -> None:
    missing = letter("\U0010ffff", face)
    for character in "IVXivabcdefgABCDEFGTSDN0123456789°ø+−()/·–—“”’…Δáéüñçß":
        glyph = letter(character, face)
        assert glyph.outline != missing.outline, character


def test_slanted_arrows_are_the_straight_one_turned() -> None:
    right, up, down = letter("→"), letter("↗"), letter("↘")
    assert up.advance == down.advance == right.advance
    # Turned by 45 degrees the shaft is as high as wide, and the two mirror each other.
    assert up.box[2] == pytest.approx(up.box[3])
    assert up.box[::2] == pytest.approx(down.box[::2])
    tip_up = min(command[-1] for command in up.outline if command[0] == "L")
    assert tip_up == pytest.approx(up.box[1])


def test_curves_are_bounded_by_their_extremes() -> None:
    # A cubic from (0, 0) to (1, 0) with both controls at height 1 rises to 3/4.
    box = path_box([("M", 0.0, 0.0), ("C", 0.0, 1.0, 1.0, 1.0, 1.0, 0.0)])
    assert box == pytest.approx((0.0, 0.0, 1.0, 0.75))


SENTENCE = st.lists(st.text("abcdefghij", min_size=1, max_size=9), min_size=1, max_size=9)


@given(SENTENCE, st.floats(60, 400))
def test_lines_keep_all_words_and_are_as_few_and_even_as_can_be(
    words: list[str], width: float
) -> None:
    lines = break_lines(" ".join(words), 20.0, width)
    glyphs = sum(len([g for g in line.glyphs if g.glyph.outline]) for line in lines)
    assert glyphs == sum(len(word) for word in words)
    fewest, least = _best_breaks(words, 20.0, width)
    assert len(lines) == fewest
    assert sum(line.width**2 for line in lines) == pytest.approx(least, rel=1e-3)


def _best_breaks(words: list[str], size: float, width: float) -> tuple[int, float]:
    """Fewest lines, and the least sum of squared widths, over all ways to break."""
    for count in range(len(words)):
        sums = []
        for cuts in combinations(range(1, len(words)), count):
            ends = (0, *cuts, len(words))
            lines = [words[a:b] for a, b in pairwise(ends)]
            widths = [set_text(" ".join(line), size).width for line in lines]
            if all(w <= width or len(line) == 1 for w, line in zip(widths, lines, strict=True)):
                sums.append(sum(w * w for w in widths))
        if sums:
            return count + 1, min(sums)
    raise AssertionError("words alone always fit")


def test_no_break_space_holds_words_together() -> None:
    lines = break_lines("one two\u00a0three four", 20.0, 1.0)
    assert len(lines) == 3


def test_plain_text_for_names_of_files() -> None:
    assert plain_text("♭VII⁷, viiø⁷/V, V⁶₅") == "bVII7, viio7/V, V65"
