"""RomanText, read back by music21: same places, same roots."""

from __future__ import annotations

import warnings

import pytest
from music21 import converter, roman

from analysis.chords import KIND_DEGREES, Chord
from analysis.pitch import Key, PitchName
from app.export.romantext import figure, key_name, to_romantext
from app.review.edits import Decide
from tests.app.reviews import SAMPLES, read_sample


def _read_back(text: str) -> dict[tuple[int, float], int]:
    """Root pitch class of each numeral by measure number and offset in the measure."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = converter.parse(text, format="romanText")
    return {
        (
            measure.number,
            round(float(numeral.getOffsetInHierarchy(measure)), 2),
        ): numeral.root().pitchClass
        for measure in stream.recurse().getElementsByClass("Measure")
        for numeral in measure.recurse().getElementsByClass(roman.RomanNumeral)
    }


@pytest.mark.parametrize("name", SAMPLES)
def test_every_chord_comes_back_in_its_place_with_its_root(name: str) -> None:
    _, document = read_sample(name)
    score = document.score
    read = _read_back(to_romantext(document))
    first = 0 if score.measures[0].pickup else 1
    wanted = {}
    for fact in document.analysis.chords:
        if fact.chord is not None:
            measure = score.measure_at(fact.span.start)
            into = fact.span.start - measure.onset
            if measure.pickup:
                into += measure.meter.length - measure.length
            place = (first + measure.index, round(float(into), 2))
            wanted[place] = fact.chord.root.pc
    assert wanted
    assert {place: read.get(place) for place in wanted} == wanted


def test_a_rejected_chord_is_left_out() -> None:
    _, document = read_sample(SAMPLES[0])
    chords = [mark for mark in document.marks() if mark.mark.kind == "chord"]
    before = to_romantext(document)
    after = to_romantext(Decide((chords[1].id,), "rejected").apply(document))
    assert len(after.splitlines()) < len(before.splitlines())
    assert "Analyst: Overstave\n" in before
    assert "Analyst: Overstave, reviewed by hand\n" in after


@pytest.mark.parametrize("tonic", ["C", "F#", "Eb", "Ab"])
@pytest.mark.parametrize("mode", ["major", "minor"])
@pytest.mark.parametrize("kind", ["major", "minor", "dominant", "half-diminished", "power"])
def test_any_root_in_any_key_is_written_so_that_it_comes_back(
    tonic: str, mode: str, kind: str
) -> None:
    key = Key.parse(f"{tonic} {mode}")
    for fifths in range(key.tonic.fifths - 6, key.tonic.fifths + 7):
        root = PitchName(fifths)
        text = figure(Chord(root, KIND_DEGREES[kind], root, kind), key, None)
        assert roman.RomanNumeral(text, key_name(key)).root().pitchClass == root.pc, text


def test_a_dominant_seventh_on_the_tonic_keeps_its_seventh() -> None:
    # music21 reads a plain I7 in a major key as a major seventh chord.
    key = Key.parse("C")
    text = figure(Chord(key.tonic, KIND_DEGREES["dominant"], key.tonic), key, None)
    read = roman.RomanNumeral(text, "C")
    assert [pitch.name for pitch in read.pitches] == ["C", "E", "G", "B-"]


@pytest.mark.parametrize("key", ["C major", "Eb major", "A minor", "C minor"])
@pytest.mark.parametrize("kind", ["major-minor", "minor-sixth", "major-sixth", "dominant-ninth"])
@pytest.mark.parametrize("degree", [0, 1, 3, 5])
def test_sevenths_and_added_tones_come_back(key: str, kind: str, degree: int) -> None:
    """music21 counts them from the scale: vi7 of C is A C E G, vi[add6] holds F."""
    home = Key.parse(key)
    root = home.scale[degree]
    text = figure(Chord(root, KIND_DEGREES[kind], root, kind), home, None)
    read = {tone.pitchClass for tone in roman.RomanNumeral(text, key_name(home)).pitches}
    assert read == Chord(root, KIND_DEGREES[kind], root, kind).pitch_classes, text
