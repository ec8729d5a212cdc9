"""Shapes of dominants, what lies outside a key, and dominant sevenths in a blues."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from analysis.vocabulary.dominants import (
    ChordInKey,
    belongs_to_mode,
    blues_regions,
    has_dominant_shape,
    is_outside,
    next_root,
    target_in,
)
from analysis.vocabulary.numerals import Target
from tests.analysis.rows import SHIFTS, chord, facts, moved, numeral

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


def row_of(symbols: str, key: str = "C major") -> list[ChordInKey]:
    """Chords with their lengths in quarters, ``C7:4``; ``N.C.`` parts them."""
    row, start = [], Fraction(0)
    for token in symbols.split():
        symbol, _, length = token.partition(":")
        span = Span(start, start + Fraction(length or 4))
        sounding = None if symbol == "N.C." else chord(symbol)
        row.append(ChordInKey(span, sounding, Key.parse(key)))
        start = span.end
    return row


# Any major or minor triad of the key can be aimed at, a diminished one cannot (OMT
# *appliedChords*); borrowed from the parallel minor are bIII, bVI and bVII (OMT *modalMixture*); a
# minor key has the ii of its dorian form. The triads are stacked out of the key's own scale.
@pytest.mark.parametrize("tonic", range(-6, 7))
@pytest.mark.parametrize("mode", ["major", "minor"])
def test_the_triads_of_a_key_and_of_its_parallel_can_be_aimed_at(tonic: int, mode: str) -> None:
    home = Key.parse(f"{PitchName(tonic)} {mode}")
    wanted = _triads_of(home)
    if mode == "major":
        parallel = _triads_of(Key(home.tonic, "minor"))
        wanted |= {pc: aim for pc, aim in parallel.items() if pc not in wanted and not aim.minor}
    else:
        dorian = _triads_of(Key(home.tonic, "dorian"))
        second = (home.tonic + 2).pc
        wanted[second] = dorian[second]
    assert {pc: target_in(home, pc) for pc in range(12) if target_in(home, pc)} == wanted


def _triads_of(key: Key) -> dict[int, Target]:
    """The major and minor triads of a scale by the pitch class of their root."""
    scale = key.scale
    tones = [(scale[at], scale[(at + 2) % 7], scale[(at + 4) % 7]) for at in range(7)]
    return {
        root.pc: Target(root, (third.pc - root.pc) % 12 == 3)
        for root, third, fifth in tones
        if (fifth.pc - root.pc) % 12 == 7
    }


# The tonic's seventh is colour where it is there nearly always, or mostly and IV has one as well;
# what counts is how long each stands. Common practice, no source.
@pytest.mark.parametrize(
    ("symbols", "blues"),
    [
        ("C7 F7 C7 G7", True),
        ("C7 F C7 G", True),
        ("C C7 C7 F7 C7 G7", True),
        ("C C7 C7 F C7 G7", False),
        ("C C7 C7 Bb7 C7 G7", False),
        ("C:8 C7:4 C7:1 F7 C7:1", False),
        ("C:4 C7:8 F7 N.C. C7:1", True),
        ("C F7 C G7", False),
        ("F7 G7 F7", False),
        ("Cmaj7 F7 Cmaj7", False),
        ("Cm7 F7 Cm7", False),
    ],
)
def test_a_blues_is_told_by_its_tonics(symbols: str, blues: bool) -> None:
    row = row_of(symbols)
    assert blues_regions(row) == (frozenset({Key.parse("C major")}) if blues else frozenset())


def test_each_key_of_a_piece_is_a_blues_by_itself() -> None:
    """Were they told together, the plain tonics of the one would spoil the other."""
    row = [*row_of("C F C G C"), *row_of("G7 C7 G7", "G major")]
    assert blues_regions(row) == {Key.parse("G major")}


@pytest.mark.parametrize(
    ("symbols", "at", "found"),
    [
        ("C F", 0, 1),
        ("C C7 C/E F", 0, 3),
        ("C C7 F C", 1, 2),
        ("C N.C. F", 0, -1),
        ("C C7 N.C. F", 0, -1),
        ("N.C. F", 0, -1),
        ("C C7", 0, -1),
    ],
)
def test_the_next_root_is_another_and_comes_without_silence(
    symbols: str, at: int, found: int
) -> None:
    assert next_root(row_of(symbols), at) == found


#: Row, key, numeral, function and what became of the second chord, what it expects. Where a row
#: names no source it is common practice in pop and jazz teaching, no source.
LEADING = [
    # A suspended fourth is held back to the dominant on its own root.
    ("C Dsus4 D7 G", "C major", "Vsus4/V", "D", "resolves", "G"),
    ("C Dsus2 D7 G", "C major", "iisus2", "S", "", ""),
    ("C Dsus4 Dm G", "C major", "iisus4", "S", "", ""),
    ("C Gsus4 G7 Am", "C major", "Vsus4", "D", "deceptive", "C"),
    # A plain triad of the parallel mode is colour; with a seventh it leads (OMT *modalMixture*).
    ("C Eb Ab", "C major", "bIII", "T", "", ""),
    ("C Eb7 Ab", "C major", "V7/bVI", "D", "resolves", "Ab"),
    ("C Bb Eb", "C major", "bVII", "S", "", ""),
    ("Cm C Fm", "C minor", "V/iv", "D", "resolves", "Fm"),
    ("Cm C G", "C minor", "I", "T", "", ""),
    ("Cm C F", "C minor", "I", "T", "", ""),
    # VII7 of a minor key leads to III, its triad is the scale's.
    ("Cm Bb7 Eb", "C minor", "V7/III", "D", "resolves", "Eb"),
    ("Cm Bb Eb", "C minor", "VII", "S", "", ""),
    ("Cm Bb7 Fm", "C minor", "VII7", "S", "", ""),
    # A half-diminished ii is aimed at by the same dominant as the minor one.
    ("Cm A7 Dm7b5", "C minor", "V7/ii", "D", "resolves", "Dm"),
    # Of a half-diminished #iv the bass slides to IV; a triad there passes.
    ("C F#m7b5 F", "C major", "viiø7/V", "D", "deceptive", "G"),
    ("C F#dim F", "C major", "#ivo", "", "", ""),
    ("C F#dim C/G G", "C major", "viio/V", "D", "delayed", "G"),
    ("C F#dim C/G", "C major", "viio/V", "D", "unresolved", "G"),
    ("C D7/F# C/G Am", "C major", "V65/V", "D", "unresolved", "G"),
    ("C D7/F# C/G G", "C major", "V65/V", "D", "delayed", "G"),
    ("C F#dim7 C", "C major", "CTo7", "", "", ""),
    ("C Bdim F", "C major", "viio", "D", "unresolved", "C"),
    # What shares two tones with the expected chord takes its place, major or minor.
    ("C A7 Bb", "C major", "V7/ii", "D", "deceptive", "Dm"),
    ("C A7 Bm", "C major", "V7/ii", "D", "deceptive", "Dm"),
    ("C A7 Bdim", "C major", "V7/ii", "D", "unresolved", "Dm"),
    ("C A7 F", "C major", "V7/ii", "D", "unresolved", "Dm"),
    ("C G7 Adim", "C major", "V7", "D", "unresolved", "C"),
    # A substitute names what it slides to, minor as it is; on bII it is the key's own.
    ("C Bb7 Am", "C major", "subV7/vi", "D", "resolves", "Am"),
    ("Cm Db7 Cm", "C minor", "subV7", "D", "resolves", "Cm"),
    ("C Eb7 Dm7b5", "C major", "subV7/ii", "D", "resolves", "Dm"),
]


@pytest.mark.parametrize(
    ("row", "key", "text", "function", "resolution", "expected"), LEADING, ids=lambda one: str(one)
)
def test_what_leads_and_what_does_not(
    row: str, key: str, text: str, function: str, resolution: str, expected: str
) -> None:
    fact = facts(row, key)[1]
    assert (numeral(fact), fact.function, fact.resolution) == (text, function, resolution)
    assert fact.expected == expected
    for fifths in SHIFTS[::3]:
        same = moved(row, key, fifths)[1]
        assert (numeral(same), same.function, same.resolution) == (text, function, resolution)


@pytest.mark.parametrize(
    ("row", "at", "text"),
    [
        # The blue seventh of the tonic stays colour unless it goes down in the bass to IV.
        ("C7 F7 C7 C7/Bb F/A C7", 3, "V42/IV"),
        ("C7 F7 C7 C7/Bb F7 C7", 2, "I7"),
        ("C7 F7 C7 F7 C7", 2, "I7"),
        ("C7 F7 Em7 A7 C7", 1, "subV7/iii"),
        ("C7 F7 C7 D7 G7 C7", 3, "V7/V"),
    ],
)
def test_what_leads_on_in_a_blues(row: str, at: int, text: str) -> None:
    """Common practice, no source."""
    assert numeral(facts(row, "C major")[at]) == text


def test_a_chain_goes_on_to_another_dominant() -> None:
    """A minor seventh is none (common practice, no source)."""
    assert "chain" in facts("C A7 D7 G", "C major")[1].tags
    assert "chain" not in facts("C A7 Dm7 G", "C major")[1].tags
    assert "chain" not in facts("C A7 D G", "C major")[1].tags


# The chord that a mode has of its own: bVII in mixolydian, IV in dorian, bII in phrygian, II in
# lydian, by arithmetic on their scales; major and minor are judged otherwise.
@pytest.mark.parametrize(
    ("symbol", "key", "belongs"),
    [
        ("Bb", "C mixolydian", True),
        ("Gm", "C mixolydian", True),
        ("F", "C dorian", True),
        ("Db", "C phrygian", True),
        ("D", "C lydian", True),
        ("Bbmaj7", "C mixolydian", True),
        ("C7", "C lydian", True),
        ("Fm", "C dorian", False),
        ("Bb", "C lydian", False),
        ("Baug", "C mixolydian", False),
        ("Bb5", "C mixolydian", False),
        ("C", "C major", False),
        ("Cm", "C minor", False),
        ("Bb", "C major", False),
    ],
)
def test_the_chords_that_a_mode_has_of_its_own(symbol: str, key: str, belongs: bool) -> None:
    assert belongs_to_mode(chord(symbol), Key.parse(key)) == belongs


def test_no_reading_is_surer_than_its_chord() -> None:
    for fact in facts("C A7 Dm G7 C Bb7 C N.C. F#dim7 G", "C major"):
        assert 0 < fact.confidence <= 1
        assert all(0 < one.confidence < fact.confidence for one in fact.alternatives)
