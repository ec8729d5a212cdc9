"""Passages in another scale than their harmony: one statement, not a ring for every note.

Pentatonic melodies that move freely of their chords: D. Temperley, "The melodic-harmonic divorce in
rock", *Popular Music* 26/2, 2007. Bounds of length are this project's own.
"""

from __future__ import annotations

from tests.analysis.tunes import shown, study, tune

PENTATONIC = "C5:1 Eb5:1 F5:1 Eb5:1 C5:1 Bb4:1 G4:1 Bb4:1 C5:1 Eb5:1 C5:2"


def test_a_minor_pentatonic_melody_over_major_chords_is_one_statement() -> None:
    (mark,) = shown(study(tune(PENTATONIC, "C:4 F:4 C:4")), "melody", "mixed third", "passage")
    assert (mark.kind, mark.label) == ("passage", "minor pentatonic")
    assert mark.sentence == "The melody keeps to C minor pentatonic over major chords."
    assert len(mark.elements) == 11


def test_a_melody_in_the_parallel_minor() -> None:
    melody = "C5:1 D5:1 Eb5:1 F5:1 G5:1 Ab5:1 G5:1 Eb5:1 D5:1 Eb5:1 D5:1 C5:1"
    marks = shown(study(tune(melody, "C:4 G:4 C:4")), "melody", "mixed third", "passage")
    assert [(mark.kind, mark.label) for mark in marks] == [("passage", "parallel minor")]


def test_mixture_that_the_chords_share_is_no_passage() -> None:
    melody = "C5:1 D5:1 Eb5:1 F5:1 Ab5:1 F5:1 Eb5:1 C5:1 D5:1 Eb5:1 D5:1 C5:1"
    marks = shown(study(tune(melody, "Cm:4 Fm:4 Cm:4")), "melody", "mixed third", "passage")
    assert marks == []


def test_over_minor_chords_it_is_no_passage() -> None:
    assert shown(study(tune(PENTATONIC, "Cm:4 Fm:4 Cm:4"), "C minor"), "passage") == []


def test_a_natural_third_ends_it() -> None:
    melody = "C5:1 Eb5:1 F5:1 Eb5:1 C5:1 E5:1 G4:1 Bb4:1 C5:1 Eb5:1 C5:2"
    assert shown(study(tune(melody, "C:4 F:4 C:4")), "passage") == []


def test_a_short_stretch_stays_single_notes() -> None:
    marks = shown(study(tune("C5:1 Eb5:1 F5:1 C5:1", "C:4")), "melody", "passage")
    assert [mark.kind for mark in marks] == ["melody"]


def test_where_one_passage_ends_another_may_begin() -> None:
    """Pentatonic first, then with second and lowered sixth: two statements, no single rings."""
    minor = "C5:1 D5:1 Eb5:1 F5:1 G5:1 Ab5:1 G5:1 Eb5:1 D5:1 Eb5:1 D5:1 C5:1 Ab4:1 Eb5:1 D5:1 C5:1"
    score = tune(f"{PENTATONIC} {minor}", "C:4 F:4 C:4 C:4 G:4 C:4 C:4")
    marks = shown(study(score), "melody", "mixed third", "passage")
    assert [mark.label for mark in marks] == ["minor pentatonic", "parallel minor"]
    assert not marks[0].span.overlaps(marks[1].span)


def test_another_voice_against_a_passage_is_told_too() -> None:
    score = tune(PENTATONIC, "C:4 F:4 C:4", backing="G4:1=oo E4:1 F4:1 r:1 r:8")
    marks = shown(study(score, roles=(("backing", "backing"),)), "mixed third", "passage")
    assert sorted(mark.kind for mark in marks) == ["mixed third", "passage"]
