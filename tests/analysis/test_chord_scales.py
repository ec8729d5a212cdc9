"""Chord scales: which note decides, and that none is claimed where none does."""

from __future__ import annotations

import pytest
from music21 import scale

from analysis.chords import KIND_DEGREES, Chord
from analysis.harmony.chord_scales import _CHOICES, SCALES
from analysis.marks import ChordFact
from analysis.pitch import PitchName
from tests.analysis.rows import SHIFTS, facts, moved
from tests.analysis.tunes import study, tune


def over(melody: str, chords: str, key: str = "C major", at: int = 1) -> ChordFact:
    """The fact of one chord of a tune."""
    return study(tune(melody, chords), key).chords[at]


def test_the_backdoor_dominant_with_the_perfect_eleventh() -> None:
    """Over ♭VII7 the key's lowered third points to mixolydian (pop teaching, no source)."""
    fact = over("C5:4 D5:2 Eb5:2 C5:4", "F:4 Bb7:4 C:4")
    assert fact.scale == "B♭ mixolydian"
    assert any("E♭ in the melody, the perfect eleventh" in one for one in fact.reasons)


def test_the_backdoor_dominant_with_the_raised_eleventh() -> None:
    fact = over("C5:4 D5:2 E5:2 C5:4", "F:4 Bb7:4 C:4")
    assert fact.scale == "B♭ lydian dominant"
    assert any("E in the melody, the raised eleventh" in one for one in fact.reasons)


def test_a_neighbouring_chord_decides_where_the_melody_is_silent() -> None:
    fact = facts("C Bb7 Cm", "C major")[1]
    assert fact.scale == "B♭ mixolydian"
    assert any("E♭ in Cm" in one for one in fact.reasons)


def test_where_no_note_decides_both_are_offered() -> None:
    fact = facts("C E7 C", "C major")[1]
    assert " or " in fact.scale
    assert any("No note" in one for one in fact.reasons)


# A lowered fifth is written b5, an augmented fourth above the octave #11: the spelling is the name.
@pytest.mark.parametrize(
    ("symbol", "said"),
    [
        ("Ab7b5", "E♭♭, the lowered fifth of A♭7(♭5), decides its scale."),
        ("Ab7#11", "D, the raised eleventh of A♭7(♯11), decides its scale."),
    ],
)
def test_a_lowered_fifth_is_no_raised_eleventh(symbol: str, said: str) -> None:
    fact = facts(f"C F {symbol} G C", "C major")[2]
    assert fact.scale == "A♭ lydian dominant"
    assert said in fact.reasons


@pytest.mark.parametrize(
    ("note", "symbol", "said"),
    [
        ("G#5", "Cm7", "the raised fifth"),
        ("Ab5", "Cm7", "the lowered thirteenth"),
        ("Gb5", "C7", "the lowered fifth"),
        ("F#5", "C7", "the raised eleventh"),
    ],
)
def test_a_sung_tone_is_named_as_it_is_spelled(note: str, symbol: str, said: str) -> None:
    fact = over(f"E5:4 {note}:4 C5:4", f"C:4 {symbol}:4 F:4")
    assert any(f"in the melody, {said} of {symbol}" in one for one in fact.reasons), fact.reasons


@pytest.mark.parametrize("fifths", SHIFTS)
def test_the_chord_itself_decides(fifths: int) -> None:
    """Tensions that only one scale has (common practice, no source)."""
    for symbol, name in (
        ("G7#9b13", "altered"),
        ("G7b9", "phrygian dominant"),
        ("Cmaj7#11", "lydian"),
    ):
        fact = moved(f"C {symbol} C", "C major", fifths)[1]
        assert name in fact.scale, (symbol, fact.scale)


def test_chords_of_the_key_need_no_scale() -> None:
    assert {fact.scale for fact in facts("C Am Dm7 G7 Cmaj7", "C major")} == {""}


def test_every_scale_begins_on_its_root_and_climbs() -> None:
    for steps in SCALES.values():
        assert steps[0] == 0
        assert list(steps) == sorted(set(steps))
        assert steps[-1] < 12


def mode_of(steps: tuple[int, ...], degree: int) -> tuple[int, ...]:
    """The scale that begins on another degree of one."""
    start = steps[degree - 1]
    return tuple(sorted((step - start) % 12 for step in steps))


@pytest.mark.parametrize(
    ("name", "parent", "degree"),
    [
        # The church modes, and those of melodic and harmonic minor, as taught in jazz: M. Levine,
        # The Jazz Theory Book, Sher Music 1995 (from memory).
        ("dorian", "major", 2), ("phrygian", "major", 3), ("lydian", "major", 4),
        ("mixolydian", "major", 5), ("minor", "major", 6), ("locrian", "major", 7),
        ("lydian augmented", "melodic minor", 3), ("lydian dominant", "melodic minor", 4),
        ("mixolydian with a lowered sixth", "melodic minor", 5),
        ("locrian with a natural second", "melodic minor", 6), ("altered", "melodic minor", 7),
        ("phrygian dominant", "harmonic minor", 5),
        ("half-whole diminished", "whole-half diminished", 2),
        ("whole-half diminished", "half-whole diminished", 2),
        ("whole-tone", "whole-tone", 4),
    ],
)  # fmt: skip
def test_a_mode_has_the_tones_of_its_parent(name: str, parent: str, degree: int) -> None:
    assert SCALES[name] == mode_of(SCALES[parent], degree)


def test_the_parents_are_those_of_music21() -> None:
    parents = {
        "major": scale.MajorScale("C").getPitches("C4", "B4"),  # type: ignore[no-untyped-call]
        "minor": scale.MinorScale("C").getPitches("C4", "B4"),  # type: ignore[no-untyped-call]
        "harmonic minor": scale.HarmonicMinorScale("C").getPitches("C4", "B4"),  # type: ignore[no-untyped-call]
        "melodic minor": scale.MelodicMinorScale("C").getPitches("C4", "B4"),  # type: ignore[no-untyped-call]
        "whole-tone": scale.WholeToneScale("C").getPitches("C4", "B4"),  # type: ignore[no-untyped-call]
        "half-whole diminished": scale.OctatonicScale("C", "m2").getPitches("C4", "B4"),  # type: ignore[no-untyped-call]
    }
    for name, pitches in parents.items():
        assert SCALES[name] == tuple(sorted({pitch.pitchClass for pitch in pitches})), name


@pytest.mark.parametrize("triad_and_seventh", sorted(_CHOICES))
def test_every_scale_that_is_offered_holds_the_chords_tones(
    triad_and_seventh: tuple[str, str],
) -> None:
    triad, seventh = triad_and_seventh
    third = {"maj": 4, "aug": 4, "min": 3, "dim": 3}[triad]
    fifth = {"maj": 7, "min": 7, "aug": 8, "dim": 6}[triad]
    last = {"": None, "m7": 10, "M7": 11, "d7": 9}[seventh]
    offered = _CHOICES[triad_and_seventh]
    assert len(set(offered)) == len(offered)
    for name in offered:
        assert third in SCALES[name]
        assert last is None or last in SCALES[name]
        # Over an altered dominant or a whole-tone one the fifth itself is altered.
        assert fifth in SCALES[name] or name in ("altered", "whole-tone"), name


# The chord-scale chart of M. Levine, The Jazz Theory Book, Sher Music 1995 (from memory): chords
# with silence around them, so that nothing but their own tones and the key can decide.
@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("symbol", "names", "others"),
    [
        ("Abm7b5", ["locrian", "locrian with a natural second"], False),
        ("Ebdim7", ["whole-half diminished"], False),
        ("Ab+7", ["altered", "whole-tone"], False),
        ("Abm(maj7)", ["harmonic minor", "melodic minor"], False),
        ("Abmaj7#5", ["lydian augmented"], False),
        ("Abmaj7#11", ["lydian"], False),
        ("Ab7#9b13", ["altered"], False),
        ("Ab13b9", ["half-whole diminished"], False),
        ("Ab9#11", ["lydian dominant"], False),
        ("Ab7#11", ["lydian dominant"], True),
        ("Ab7b9b13", ["phrygian dominant"], True),
        ("Ab9", ["mixolydian", "lydian dominant"], False),
    ],
)
def test_the_usual_scales_of_a_chord(
    symbol: str, names: list[str], others: bool, fifths: int
) -> None:
    fact = moved(f"N.C. {symbol} N.C.", "C major", fifths)[1]
    offered = set(fact.scale.partition(" ")[2].split(" or "))
    assert set(names) <= offered
    assert others or set(names) == offered
    assert ("No note" in fact.reasons[-1]) == (len(offered) > 1)


#: Kinds that stack thirds; the others lack one or stand for a function.
STACKED = sorted(
    kind
    for kind, degrees in KIND_DEGREES.items()
    if any(number == 3 for number, _ in degrees)
    and kind not in ("Neapolitan", "Italian", "French", "German")
)


@pytest.mark.parametrize("kind", STACKED)
@pytest.mark.parametrize("key", ["C major", "C minor"])
def test_a_chord_outside_the_key_gets_scales_that_hold_its_tones(kind: str, key: str) -> None:
    """An augmented dominant gets none; in the key tensions and applied dominants have theirs.

    A fifth beside a lowered thirteenth is not asked for, as players leave it out.
    """
    for name in ("Db", "D", "Eb", "E", "F#", "Ab", "A", "Bb", "B"):
        root = PitchName.parse(name)
        one = Chord(root, KIND_DEGREES[kind], root, kind)
        fact = facts([None, one, None], key)[1]
        open_fifth = one.triad == "aug" and not one.seventh and fact.function == "D"
        tense = any(number > 7 for number, _ in one.degrees)
        asks = fact.outside_key or tense or {"applied", "backdoor"} & set(fact.tags)
        assert bool(fact.scale) == (bool(asks) and not open_fifth), name
        steps = {(tone.pc - root.pc) % 12 for tone in one.tones}
        for offered in fact.scale.partition(" ")[2].split(" or ") if fact.scale else ():
            assert steps - ({7} if 8 in steps else set()) <= set(SCALES[offered]), name


# Over B flat 7 the eleventh tells mixolydian (E flat) from lydian dominant (E). Which of the two
# sounds clearly longer decides, and where neither does, the neighbouring chords do.
@pytest.mark.parametrize(
    ("melody", "chords", "scale"),
    [
        ("C5:4 E5:1 Eb5:3 C5:4", "N.C.:4 Bb7:4 N.C.:4", "B♭ mixolydian"),
        ("C5:4 E5:3 Eb5:1 C5:4", "N.C.:4 Bb7:4 N.C.:4", "B♭ lydian dominant"),
        ("C5:4 E5:2 Eb5:2 C5:4", "N.C.:4 Bb7:4 N.C.:4", "B♭ lydian dominant or mixolydian"),
        ("C5:4 E5:2 Eb5:2 C5:4", "N.C.:4 Bb7:4 Cm:4", "B♭ mixolydian"),
        ("C5:4 D5:4 C5:4", "C:4 Bb7:4 N.C.:4", "B♭ lydian dominant"),
        ("C5:4 D5:4 C5:4", "C:4 Bb7:4 Cm:4", "B♭ mixolydian"),
        # What is held into the chord counts, what has ended before it or begins after it not.
        ("C5:2 Eb5:4 D5:2 C5:4", "N.C.:4 Bb7:4 N.C.:4", "B♭ mixolydian"),
        ("C5:2 Eb5:2 D5:4 E5:4", "N.C.:4 Bb7:4 N.C.:4", "B♭ lydian dominant or mixolydian"),
    ],
)
def test_what_sounds_longer_decides(melody: str, chords: str, scale: str) -> None:
    found = over(melody, chords).scale
    assert found.partition(" ")[0] == scale.partition(" ")[0]
    assert set(found.partition(" ")[2].split(" or ")) == set(scale.partition(" ")[2].split(" or "))
