"""Shapes of dominants, what lies outside a key, and dominant sevenths in a blues."""

from __future__ import annotations

import pytest

from analysis.pitch import Key
from analysis.vocabulary.dominants import has_dominant_shape, is_outside
from tests.analysis.rows import chord, facts

#: White keys, and those of A minor with its raised seventh: OMT v1 *majorScales*, *minorScales*.
_SCALES = {"C major": {0, 2, 4, 5, 7, 9, 11}, "A minor": {0, 2, 4, 5, 7, 8, 9, 11}}
_FOLDED = {"G mixolydian": "G major", "F lydian": "F major", "D dorian": "D minor"}
#: Root and fifth, with the third where there is one (OMT v1 *triads*).
_TRIADS = {
    "": (0, 4, 7), "m": (0, 3, 7), "dim": (0, 3, 6), "aug": (0, 4, 8), "sus4": (0, 7), "5": (0, 7),
}  # fmt: skip
_ROOTS = {"C": 0, "Db": 1, "D": 2, "Eb": 3, "E": 4, "F": 5, "F#": 6, "G": 7, "Ab": 8, "A": 9,
          "Bb": 10, "B": 11}  # fmt: skip


@pytest.mark.parametrize("key", sorted(_SCALES))
@pytest.mark.parametrize("kind", sorted(_TRIADS))
def test_outside_is_what_has_a_tone_beside_the_scale(key: str, kind: str) -> None:
    for name, root in _ROOTS.items():
        tones = {(root + step) % 12 for step in _TRIADS[kind]}
        foreign = not tones <= _SCALES[key]
        assert is_outside(chord(name + kind), Key.parse(key)) == foreign, name + kind


@pytest.mark.parametrize("mode", sorted(_FOLDED))
def test_modes_are_judged_as_the_major_or_minor_they_are_like(mode: str) -> None:
    for name in _ROOTS:
        for kind in _TRIADS:
            one = chord(name + kind)
            folded = is_outside(one, Key.parse(_FOLDED[mode]))
            assert is_outside(one, Key.parse(mode)) == folded, name + kind


# A dominant has a major third and no major seventh; a sixth in its place makes a tonic or a
# subdominant of it. The suspended dominant has its seventh. Common practice, no source.
@pytest.mark.parametrize(
    ("symbol", "shape"),
    [
        ("E", True), ("E7", True), ("Eaug", True), ("E7b9", True), ("E7sus4", True),
        ("Emaj7", False), ("E6", False), ("Esus4", False), ("E5", False), ("Em7", False),
        ("Edim7", False), ("E7sus2", False),
    ],
)  # fmt: skip
def test_the_shape_of_a_dominant(symbol: str, shape: bool) -> None:
    assert has_dominant_shape(chord(symbol)) == shape


def test_the_sevenths_of_a_blues_are_colour_until_they_lead_on() -> None:
    """I7 and IV7 of a blues are T and S; IV7 sliding to iii is its substitute dominant.

    Common practice, no source.
    """
    found = facts("C7 F7 C7 F7 C7 G7 C7 F7 Em7 A7 Dm7 G7 C7", "C major")
    assert [one.function for one in found[:5]] == ["T", "S", "T", "S", "T"]
    assert all("subV" not in one.tags for one in found[:7])
    assert found[7].function == "D"
    assert "subV" in found[7].tags


# II7 over the cadential six-four is held back, as that belongs to V; where VI7 goes on to it,
# nothing is held back. III and VI before IV are deceptive, as IV shares two tones with vi and ii;
# before V they are not. A minor key's IV7 that goes back to i is its dorian subdominant. Common
# practice, no source.
@pytest.mark.parametrize(
    ("symbols", "key", "resolution"),
    [
        ("C D7 C/G G C", "C major", "delayed"),
        ("C A7 C/G G C", "C major", "unresolved"),
        ("C E F C", "C major", "deceptive"),
        ("C A F C", "C major", "deceptive"),
        ("C E G C", "C major", ""),
        ("Cm F7 Cm", "C minor", ""),
    ],
)
def test_what_becomes_of_a_dominant_of_another_degree(
    symbols: str, key: str, resolution: str
) -> None:
    assert facts(symbols, key)[1].resolution == resolution
