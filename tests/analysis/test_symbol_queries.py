"""Doubts about written symbols: a bass, a third or a whole chord that the notes contradict."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from analysis.chords import KIND_DEGREES, Chord
from analysis.inference.symbol_queries import SymbolQuery, check_symbols
from analysis.marks import PlacedChord
from analysis.pitch import Pitch, PitchName
from analysis.score import Lyric, Measure, Note, Part, Score
from analysis.timebase import Meter, Span

MEASURE = Fraction(4)


def part(name: str, measures: Sequence[str], words: bool = False) -> Part:
    """A part with one chord, or note, a measure."""
    notes = [
        Note(
            f"{name}{at}-{pitch}",
            name,
            at,
            at * MEASURE,
            MEASURE,
            Pitch.parse(pitch),
            lyrics=(Lyric("1", "la"),) if words else (),
        )
        for at, measure in enumerate(measures)
        for pitch in measure.split()
    ]
    return Part(name, name, "", tuple(notes))


def song(*parts: Part, count: int = 4) -> Score:
    measures = tuple(
        Measure(at, str(at + 1), at * MEASURE, MEASURE, Meter(4, 4), f"m{at}")
        for at in range(count)
    )
    return Score("", "", parts, measures)


def symbols(*chords: tuple[str, str]) -> tuple[PlacedChord, ...]:
    return tuple(
        PlacedChord(
            Span(at * MEASURE, (at + 1) * MEASURE),
            Chord(PitchName.parse(root), KIND_DEGREES[kind], PitchName.parse(root), kind),
            f"s{at}",
            (f"s{at}",),
        )
        for at, (root, kind) in enumerate(chords)
    )


def check(
    guitar: Sequence[str], bass: Sequence[str], *chords: tuple[str, str]
) -> list[SymbolQuery]:
    voice = part("voice", ["C5", "A4", "C5", "C5"], words=True)
    score = song(voice, part("guitar", guitar), part("bass", bass))
    return list(check_symbols(score, symbols(*chords)))


GUITAR = ("E4 G4 C5", "F4 A4 D5", "F4 G4 B4", "E4 G4 C5")
BASS = ("C3", "D3", "G2", "C3")
SYMBOLS = (("C", "major"), ("D", "minor"), ("G", "dominant"), ("C", "major"))


def test_symbols_that_agree_raise_no_doubt() -> None:
    assert check(GUITAR, BASS, *SYMBOLS) == []


def test_a_bass_that_is_no_chord_tone() -> None:
    guitar = ("E4 G4 C5", "F4 A4 C5", "F4 A4 C5", "E4 G4 C5")
    chords = (("C", "major"), ("A", "dominant"), ("F", "major"), ("C", "major"))
    doubts = check(guitar, ("C3", "F2", "A2", "C3"), *chords)
    assert [one.symbol for one in doubts] == ["s1"]
    assert doubts[0].statement == "The symbol says A7, the bass plays F."
    assert doubts[0].elements == ("s1", "bass1-F2")
    assert (doubts[0].likelier.root, doubts[0].likelier.triad) == (PitchName.parse("F"), "maj")


def test_the_other_third() -> None:
    chords = (SYMBOLS[0], ("D", "major"), *SYMBOLS[2:])
    doubts = check(GUITAR, BASS, *chords)
    assert [one.statement for one in doubts] == ["The symbol says D, but F sounds."]
    assert doubts[0].likelier.triad == "min"


def test_another_chord_altogether() -> None:
    chords = (SYMBOLS[0], ("Ab", "major"), *SYMBOLS[2:])
    doubts = check(GUITAR, BASS, *chords)
    assert [one.symbol for one in doubts] == ["s1"]
    assert doubts[0].likelier.root == PitchName.parse("D")


def test_a_pedal_raises_no_doubt() -> None:
    assert check(GUITAR, ("G2", "G2", "G2", "G2"), *SYMBOLS) == []


def test_a_blue_third_of_the_voice_raises_no_doubt() -> None:
    voice = part("voice", ["Eb5", "D5", "C5", "Eb5"], words=True)
    score = song(voice, part("guitar", GUITAR), part("bass", BASS))
    assert check_symbols(score, symbols(*SYMBOLS)) == ()


def test_a_melody_alone_raises_no_doubt() -> None:
    for words in (True, False):
        score = song(part("voice", ["F#5", "F#5", "C#5", "F#5"], words))
        assert check_symbols(score, symbols(*SYMBOLS)) == ()


def test_chords_that_are_not_written_are_passed_over() -> None:
    inferred = PlacedChord(
        Span(Fraction(0), MEASURE),
        Chord(PitchName.parse("Ab"), KIND_DEGREES["major"], PitchName.parse("Ab"), "major"),
    )
    score = song(part("guitar", GUITAR), part("bass", BASS))
    assert check_symbols(score, (inferred,)) == ()
