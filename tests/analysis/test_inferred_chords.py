"""Chords and keys from notes alone: small pieces whose answer any musician would give.

The progressions are those of the textbooks (common practice); spellings follow from the line of
fifths. Confidence is checked for order only: what it is worth is measured by tests.bench.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest

from analysis.harmony.typed_chords import read_chord
from analysis.inference.chord_lattices import ChordLattice
from analysis.inference.chord_vocabularies import QUALITIES
from analysis.inference.chord_weights import merge_weights, read_model
from analysis.inference.inferred_chords import infer_chords, is_plain, is_songlike
from analysis.inference.note_segments import GridSegments
from analysis.marks import Corrections, KeyRegion, PlacedChord, Settings
from analysis.pitch import STEPS, Key, Pitch, PitchName
from analysis.score import KeySignature, Measure, Note, Part, Score
from analysis.timebase import Meter, Span
from analysis.vocabulary.note_grid import read_grid
from tests.bench.inferred_gradients import Gradient

FOUR = Meter(4, 4)


def transposed(pitch: Pitch, fifths: int) -> Pitch:
    """The pitch so many fifths up, within half an octave."""
    name = pitch.name + fifths
    steps = (STEPS.index(name.step) - STEPS.index(pitch.name.step)) % 7
    up = pitch.diatonic + (steps if steps <= 3 else steps - 7)
    return Pitch(name, up // 7)


def chorale(beats: Sequence[str], fifths: int = 0, signature: int | None = 0) -> Score:
    """A score in 4/4, one string a beat: pitches from the bass up, ``-`` holds, ``.`` is silence.

    Pitches joined by ``_`` share the beat in one voice, each an equal part of it.
    """
    notes: list[Note] = []
    held: list[int] = []
    for at, beat in enumerate(beats):
        if beat == "-":
            for number in held:
                old = notes[number]
                notes[number] = Note(
                    old.id, "P", 0, old.onset, old.duration + 1, old.pitch, old.voice
                )
            continue
        held = []
        for voice, run in enumerate(beat.split() if beat != "." else []):
            parts = run.split("_")
            for place, text in enumerate(parts):
                length = Fraction(1, len(parts))
                pitch = transposed(Pitch.parse(text), fifths)
                held.append(len(notes))
                onset = at + place * length
                identity = f"n{len(notes)}"
                notes.append(Note(identity, "P", 0, onset, length, pitch, str(voice)))
    count = -(-len(beats) // 4)
    measures = tuple(
        Measure(index, str(index + 1), Fraction(4 * index), Fraction(4), FOUR, f"m{index}")
        for index in range(count)
    )
    signatures = () if signature is None else (KeySignature(Fraction(0), signature + fifths),)
    return Score("", "", (Part("P", "", "", tuple(notes)),), measures, key_signatures=signatures)


CADENCE = ("C3 E4 G4 C5", "F3 F4 A4 C5", "G3 D4 G4 B4", "C3 E4 G4 C5") * 3 + (
    "F3 F4 A4 C5",
    "G3 F4 G4 B4",
    "C3 E4 G4 C5",
    "-",
)
MINOR = ("A2 E4 A4 C5", "D3 F4 A4 D5", "E3 E4 G#4 B4", "A2 E4 A4 C5") * 4


def chord_at(placed: Sequence[PlacedChord], beat: int) -> PlacedChord:
    return next(one for one in placed if Fraction(beat) in one.span)


def named(one: PlacedChord) -> tuple[str, str, str, int]:
    assert one.chord is not None
    chord = one.chord
    return str(chord.root), chord.triad, chord.seventh, chord.inversion


def test_a_cadence_in_major() -> None:
    regions, placed = infer_chords(chorale(CADENCE))
    assert [region.key for region in regions] == [Key(PitchName(0), "major")]
    assert [named(chord_at(placed, beat))[:2] for beat in range(4)] == [
        ("C", "maj"),
        ("F", "maj"),
        ("G", "maj"),
        ("C", "maj"),
    ]
    assert named(chord_at(placed, 13)) == ("G", "maj", "m7", 0)


def test_the_raised_leading_tone_of_minor() -> None:
    regions, placed = infer_chords(chorale(MINOR))
    assert [region.key for region in regions] == [Key(PitchName.parse("A"), "minor")]
    assert named(chord_at(placed, 2)) == ("E", "maj", "", 0)


@pytest.mark.parametrize("fifths", range(-5, 7))
def test_every_key_is_read_and_spelled_alike(fifths: int) -> None:
    home, at_home = infer_chords(chorale(CADENCE))
    moved, there = infer_chords(chorale(CADENCE, fifths))
    assert [region.key.tonic for region in moved] == [region.key.tonic + fifths for region in home]
    assert [one.span for one in there] == [one.span for one in at_home]
    for one, other in zip(at_home, there, strict=True):
        assert one.chord is not None
        assert other.chord is not None
        assert other.chord.root == one.chord.root + fifths
        assert other.chord.bass == one.chord.bass + fifths
        assert other.chord.degrees == one.chord.degrees


def test_inversions_come_from_the_bass() -> None:
    beats = ("C3 E4 G4 C5", "E3 C4 G4 C5", "F3 C4 A4 C5", "A3 C4 F4 C5") * 4
    _, placed = infer_chords(chorale(beats))
    assert [named(chord_at(placed, beat))[3] for beat in range(4)] == [0, 1, 0, 1]
    assert [named(chord_at(placed, beat))[0] for beat in range(4)] == ["C", "C", "F", "F"]


def test_passing_and_neighbour_notes_are_no_chords() -> None:
    moving = ("C3 E4 G4 C5_D5", "C3 E4_F4 G4 E5", "F3 F4 A4 C5_B4", "F3 F4 A4_G4 A4")
    _, placed = infer_chords(chorale((*moving, *CADENCE)))
    assert {named(one)[0] for one in placed if one.span.start < 4} == {"C", "F"}
    assert chord_at(placed, 0).span.end >= 2


def test_an_applied_dominant_hands_on_its_target() -> None:
    beats = (*CADENCE[:8], "D3 F#4 A4 C5", "G3 D4 G4 B4", "C3 E4 G4 C5", "-", *CADENCE[:8])
    regions, placed = infer_chords(chorale(beats))
    assert [str(region.key.tonic) for region in regions] == ["C"]
    applied = chord_at(placed, 8)
    assert named(applied)[:3] == ("D", "maj", "m7")
    assert applied.applied_root == PitchName.parse("G")
    assert all(one.applied_root is None for one in placed if one is not applied)


def test_keys_set_by_hand_are_followed_with_their_borders() -> None:
    score = chorale(CADENCE)
    by_hand = Key(PitchName.parse("F"), "mixolydian")
    span = Span(Fraction(4), Fraction(10))
    regions, placed = infer_chords(score, Settings(), Corrections(keys=((span, by_hand),)))
    set_region = [region for region in regions if region.key == by_hand]
    assert [region.span for region in set_region] == [span]
    assert set_region[0].confidence == 1.0
    assert regions[0].span.start == 0
    assert regions[-1].span.end == score.end
    assert named(chord_at(placed, 6))[0] == "G"
    assert chord_at(placed, 4).span.start == 4


def test_the_signature_is_one_hint_among_others() -> None:
    for score in (chorale(CADENCE, signature=None), chorale(CADENCE, signature=1)):
        regions, _ = infer_chords(score)
        assert [str(region.key) for region in regions] == ["C major"]
    regions, _ = infer_chords(chorale(CADENCE, signature=4), Settings(use_key_signature=False))
    assert [str(region.key) for region in regions] == ["C major"]


def test_elements_are_the_chords_own_notes() -> None:
    score = chorale(("C3 E4 G4 C5_D5", *CADENCE[1:]))
    _, placed = infer_chords(score)
    tones = {note.id: note.pitch for note in score.parts[0].notes}
    first = placed[0]
    assert first.chord is not None
    pitches = [tones[one] for one in first.elements]
    assert {str(pitch.name) for pitch in pitches if pitch} == {"C", "E", "G"}


def test_silence_has_no_chord() -> None:
    _, placed = infer_chords(chorale((*CADENCE, *["."] * 8, *CADENCE)))
    assert not [one for one in placed if one.span.start >= 16 and one.span.end <= 24]
    assert chord_at(placed, 24).chord is not None
    assert infer_chords(chorale(["."] * 8)) == ((), ())
    assert infer_chords(Score("", "", (), ())) == ((), ())


def test_regions_tile_and_chords_do_not_overlap() -> None:
    score = chorale((*CADENCE, *MINOR))
    regions, placed = infer_chords(score)
    assert [one.span.start for one in regions[1:]] == [one.span.end for one in regions[:-1]]
    assert (regions[0].span.start, regions[-1].span.end) == (Fraction(0), score.end)
    assert all(one.span.end <= other.span.start for one, other in pairwise(placed))
    assert all(0 <= one.confidence <= 1 for one in placed)


def test_one_voice_is_less_certain_than_four() -> None:
    whole = chorale(CADENCE)
    top = chorale([beat if beat == "-" else beat.split()[-1] for beat in CADENCE])
    mean = [
        float(np.mean([one.confidence for one in infer_chords(score)[1]])) for score in (whole, top)
    ]
    assert mean[0] > mean[1] + 0.1


def test_plain_chords_say_less_about_the_key() -> None:
    loop = ("A2 E4 A4 C5", "F2 F4 A4 C5", "C3 E4 G4 C5", "G2 D4 G4 B4") * 4
    regions, placed = infer_chords(chorale(loop))
    assert is_plain(placed)
    assert max(region.confidence for region in regions) <= 0.75
    inverted = ("E3 G4 C5 C5", "B2 D4 G4 F4", "C3 E4 G4 C5", "A2 C4 F4 A4") * 4
    assert not is_plain(infer_chords(chorale(inverted))[1])


def test_probabilities_of_a_step_sum_to_one() -> None:
    lattice = ChordLattice(read_model().tables, GridSegments(read_grid(chorale(CADENCE))))
    marginals = lattice.backward(lattice.forward())
    assert marginals.sum(axis=(1, 2)) == pytest.approx(1, abs=2e-3)


def test_the_gradient_is_the_slope_of_the_loss() -> None:
    tables = read_model().tables
    segments = GridSegments(read_grid(chorale(CADENCE[:8])))
    lattice = ChordLattice(tables, segments)
    states = tables.vocabulary.states[0]
    tonic = next(
        at for at, one in enumerate(states) if (one.root, one.quality, one.inversion) == (0, 0, 0)
    )
    key = lattice.keys.tolist().index(0)
    gold = np.full(lattice.steps, key * tables.vocabulary.size + tonic)
    slopes = Gradient(lattice, gold).run()
    draw = np.random.default_rng(1)
    for name in ("tones", "basses_by_tone", "types", "boundary_change", "key_changes", "keys"):
        way = draw.normal(0, 0.02, tables.weights[name].shape).astype(np.float32)
        losses = []
        for sign in (1, -1):
            moved = {**tables.weights, name: tables.weights[name] + sign * way}
            near = Gradient(ChordLattice(merge_weights(tables.vocabulary, moved), segments), gold)
            near.run()
            losses.append(near.loss)
        slope = float((slopes[name] * way).sum())
        assert (losses[1] - losses[0]) / 2 == pytest.approx(slope, rel=0.1, abs=2e-3)


def test_the_table_names_its_sources_and_licence() -> None:
    held = json.loads(files("analysis").joinpath("tables/inferred.json").read_text("utf-8"))
    assert "CC BY-SA 4.0" in held["licence"]
    assert any("When in Rome" in source for source in held["sources"])
    said, stood = zip(*held["reliability"], strict=True)
    assert list(said) == sorted(said)
    assert list(stood) == sorted(stood)


def test_the_tones_of_each_quality_lie_as_they_are_spelled() -> None:
    tones = {quality.kind: quality.tones for quality in QUALITIES}
    assert tones["dominant"] == (0, 4, 1, -2)
    assert tones["diminished-seventh"] == (0, -3, -6, -9)
    assert tones["German"] == (0, -10, -6, -9)


def test_a_song_is_told_from_common_practice_by_its_dominants() -> None:
    """Dominants that go home and carry sevenths tell keys in the one, not in the other."""
    spans = [Span(Fraction(4 * at), Fraction(4 * at + 4)) for at in range(8)]
    region = KeyRegion(Span(Fraction(0), Fraction(32)), Key.parse("C major"), 1.0)

    def songlike(symbols: str) -> bool:
        placed = [
            PlacedChord(span, read_chord(symbol))
            for span, symbol in zip(spans, symbols.split(), strict=True)
        ]
        return is_songlike(placed, (region,))

    assert songlike("C Bb F C C Bb F C")
    assert songlike("C Am F G C Am F G")
    assert not songlike("C G7 C F C G7 C G7")
    assert not songlike("C/E G/B C F/A C/G G7 C Am")
