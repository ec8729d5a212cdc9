"""Bass lines, pedals, common tones and inner lines: every kind and what is nearly that kind.

Common practice, no source; line clichés over one root and guide-tone lines as jazz teaching has
them. The pedal six-four against the cadential one: textbook practice (from memory).
"""

from __future__ import annotations

import pytest

from analysis.marks import Line
from tests.analysis.tunes import shown, study, tune

SUNG = "r:1 G5:1=la r:14"


def lines(chords: str, key: str = "C major", *, sung: str = SUNG, **parts: str) -> list[str]:
    """The lines shown by default: kind, direction, notes."""
    analysis = study(tune(sung, chords, **parts), key)
    facts = [mark.fact for mark in shown(analysis, "line", "pedal")]
    return [
        f"{fact.kind} {fact.direction}: {' '.join(str(name) for name in fact.notes)}"
        for fact in facts
        if isinstance(fact, Line)
    ]


@pytest.mark.parametrize(
    ("chords", "expected"),
    [
        ("C:4 G/B:4 Am:4 C/G:4 F:4", "diatonic down: C B A G F"),
        ("Dm:4 C/E:4 F:4 G:4", "diatonic up: D E F G"),
        ("F:4 C/E:4 B7/D#:4 Dm:4", "chromatic down: F E D# D"),
        ("F:4 F#dim7:4 C/G:4", "chromatic up: F F# G"),
        ("Am7:4 Dm7:4 G7:4 Cmaj7:4 Fmaj7:4", "fifths down: A D G C"),
        ("F:4 C:4 G:4 D:4", "fifths up: F C G D"),
    ],
)
def test_bass_lines_from_chord_symbols(chords: str, expected: str) -> None:
    found = lines(chords)
    assert [line for line in found if line == expected] == [expected]


@pytest.mark.parametrize(
    "chords",
    [
        pytest.param("C:4 G:4 Am:4 F:4", id="leaps"),
        pytest.param("F:4 G:4 Am:4 C:4", id="three by step are common"),
        pytest.param("Dm7:4 G7:4 C:4", id="ii V I is no circle"),
        pytest.param("C:4 Dm:4 C:4 Dm:4 C:4", id="to and fro"),
        pytest.param("C:4 G/B:4 NC:4 Am:4 C/G:4", id="silence between"),
    ],
)
def test_no_bass_line(chords: str) -> None:
    assert [line for line in lines(chords) if not line.startswith("pedal")] == []


def test_fifths_go_on_through_the_tonic_where_they_go_far() -> None:
    chords = "Am7:4 Dm7:4 G7:4 C:4 Fmaj7:4 Bdim:4 Em:4"
    assert "fifths down: A D G C F B E" in lines(chords)


def test_a_bass_part_is_believed_before_the_symbols() -> None:
    bass = "C3:4 B2:4 A2:4 G2:4"
    assert lines("C:4 G:4 Am:4 C:4", bass=bass) == ["diatonic down: C B A G"]
    assert lines("C:4 G/B:4 Am:4 C/G:4", bass="C3:4 G2:4 A2:4 G2:4") == []


def test_a_bass_that_falls_under_one_chord() -> None:
    bass = "A2:4 G#2:4 G2:4 F#2:4"
    assert lines("Am:16", "A minor", bass=bass) == ["chromatic down: A G# G F#"]


def test_a_walking_bass_is_no_line_of_the_harmony() -> None:
    bass = "C3:1 E3:1 G3:1 A3:1 F2:1 A2:1 C3:1 D3:1 C3:1 D3:1 E3:1 F3:1 G3:1 F3:1 E3:1 D3:1"
    assert lines("C:4 F:4 C:4 G:4", bass=bass) == []


def test_a_line_ends_where_it_comes_to_rest() -> None:
    bass = "G2:2 A2:2 B2:2 C3:8 D3:2"
    found = lines("G:2 Am:2 G/B:2 C:8 G/D:2", "G major", bass=bass)
    assert found == ["diatonic up: G A B C"]


def test_inversions_for_the_sake_of_the_line_are_its_evidence() -> None:
    analysis = study(tune(SUNG, "C:4 G/B:4 Am:4 C/G:4"))
    (mark,) = shown(analysis, "line")
    assert [one.statement for one in mark.evidence] == [
        "It goes through C – G/B – Am – C/G.",
        "G/B has B in the bass, for the sake of the line.",
        "C/G has G in the bass, for the sake of the line.",
    ]


def test_contrary_and_parallel_motion_with_the_melody() -> None:
    against = study(tune("C5:4 D5:4 E5:4 G5:4", "C:4 G/B:4 Am:4 C/G:4"))
    along = study(tune("E5:4 D5:4 C5:4 B4:4", "C:4 G/B:4 Am:4 C/G:4"))
    told = [shown(analysis, "line")[0].evidence[0].statement for analysis in (against, along)]
    assert told == [
        "It moves against the melody, step for step.",
        "It runs in parallel with the melody.",
    ]


@pytest.mark.parametrize(
    ("chords", "bass"),
    [
        pytest.param("C:4 F/C:4 C:4", "", id="IV over 1 and back"),
        pytest.param("C:4 F:4 C:4", "C3:4 C3:4 C3:4", id="played, not written"),
        pytest.param("C:4 F/C:4", "", id="IV over 1 after I"),
        pytest.param("G:4 F/G:4 Am/G:4 G:4", "", id="on the dominant"),
    ],
)
def test_pedals(chords: str, bass: str) -> None:
    found = lines(chords, **({"bass": bass} if bass else {}))
    assert [line.split()[0] for line in found] == ["pedal"]


@pytest.mark.parametrize(
    "chords",
    [
        pytest.param("C/G:2 G7:2 C:4", id="cadential six-four"),
        pytest.param("C:4 Cmaj7:4 C7:4", id="one root that changes its quality"),
        pytest.param("C:4 Am/C:4", id="two chords with a common bass"),
        pytest.param("Gsus4:4 G7:4 C:4", id="a suspension resolved"),
        pytest.param("C:4 F:4 C:4", id="the bass moves"),
    ],
)
def test_no_pedal(chords: str) -> None:
    assert [line for line in lines(chords) if line.startswith("pedal")] == []


def test_a_common_tone_through_chords_outside_the_key() -> None:
    analysis = study(tune("C5:4~ C5:4~ C5:4~ C5:4", "C:4 Ab:4 Fm:4 C:4"))
    (mark,) = shown(analysis, "pedal")
    assert mark.label == "common tone C"
    inside = study(tune("C5:4~ C5:4~ C5:4~ C5:4", "C:4 Am:4 F:4 C:4"))
    assert shown(inside, "pedal") == []


@pytest.mark.parametrize(
    ("chords", "key", "expected"),
    [
        ("Am:4 Ammaj7:4 Am7:4 Am6:4", "A minor", "chromatic down: A G# G F#"),
        ("C:4 C+:4 C6:4 C7:4", "C major", "chromatic up: G G# A Bb"),
        ("E7:4 A7:4 D7:4 G7:4", "C major", "chromatic down: G# G F# F"),
    ],
)
def test_guide_tones_where_no_inner_voice_is_written(chords: str, key: str, expected: str) -> None:
    assert expected in lines(chords, key)


def test_a_chord_written_again_does_not_break_the_line() -> None:
    chords = "Am:2 Am:2 Ammaj7:2 Ammaj7:2 Am7:2 Am7:2 Am6:4"
    assert "chromatic down: A G# G F#" in lines(chords, "A minor")


def test_written_inner_voices_are_believed_before_guide_tones() -> None:
    assert (
        lines("Am:4 Ammaj7:4 Am7:4 Am6:4", "A minor", keys="C4+E4:4 C4+E4:4 C4+E4:4 C4+E4:4") == []
    )


def test_a_line_inside_a_pianists_chords() -> None:
    keys = "C4+E4+G4:4 B3+E4+G4:4 Bb3+E4+G4:4 A3+C4+F4:4"
    assert lines("C:4 Cmaj7:4 C7:4 F:4", keys=keys, bass="C2:4 C2:4 C2:4 F2:4") == [
        "chromatic down: C B Bb A"
    ]


def test_over_one_root_the_line_may_change_its_octave() -> None:
    """G G# A Bb inside C, the last two an octave lower, as chords in close position have them."""
    keys = "E4+G4+C5:4 E4+G#4+C5:4 A3+C4+E4:4 Bb3+C4+E4:4"
    found = lines("C:4 C+:4 C6:4 C7:4", keys=keys, bass="C2:4 C2:4 C2:4 C2:4")
    assert found == ["chromatic up: G G# A Bb"]
    other = "E4+G4+C5:4 E4+G#4+B4:4 A3+C4+E4:4 A3+C4+F4:4"
    assert lines("C:4 E:4 Am:4 F:4", keys=other, bass="C2:4 E2:4 A2:4 F2:4") == []


def test_an_implied_line_that_doubles_the_bass_is_that_bass() -> None:
    assert lines("F#m7:4 F7:4 E7:4 B:4", "E major") == ["chromatic down: F# F E"]


def test_an_implied_line_begins_when_its_first_chord_is_written_last() -> None:
    facts = study(tune(SUNG, "Am:12 Am:4 Ammaj7:4 Am7:4 Am6:4"), "A minor").lines
    (line,) = facts
    assert [float(at) for at in line.implied_at] == [12, 16, 20, 24]


def test_a_backing_voice_that_slides() -> None:
    backing = "G4:4=ooh F#4:4=ooh F4:4=ooh E4:4=ooh"
    found = lines(
        "C:4 D7:4 G7:4 C:4", sung="C5:4=a D5:2=b D5:2=b D5:2=c D5:2=c C5:4=d", second=backing
    )
    assert found == ["chromatic down: G F# F E"]


def test_broken_chords_make_no_inner_line() -> None:
    keys = "C4:1 E4:1 G4:1 C5:1 B3:1 D4:1 G4:1 B4:1 Bb3:1 D4:1 G4:1 Bb4:1 A3:1 C4:1 F4:1 A4:1"
    assert lines("C:4 G:4 Gm:4 F:4", keys=keys, bass="C2:4 G2:4 G2:4 F2:4") == []


def sentences(chords: str, key: str = "C major", **parts: str) -> list[str]:
    """The sentences of the lines that are shown."""
    return [mark.sentence for mark in shown(study(tune(SUNG, chords, **parts), key), "line")]


def test_half_steps_are_claimed_only_where_all_are() -> None:
    assert sentences("C:4 C7/Bb:4 F/A:4 Fm/Ab:4 C/G:4 F:4") == [
        "The bass falls mostly by half steps: C – B♭ – A – A♭ – G."
    ]
    assert sentences("C/G:4 D7/F#:4 F:4 C/E:4 Dm:4 F:4") == [
        "The bass falls by half steps: G – F♯ – F – E."
    ]


def test_over_one_root_a_line_is_named_by_its_degrees() -> None:
    # 1–7–♭7–6 over a minor chord, 5–♯5–6–♭7 over a major one: common practice, no source.
    assert sentences("Am:4 Ammaj7:4 Am7:4 Am6:4 F:4", "A minor")[0].endswith(
        "A – G♯ – G – F♯ – F, 8–♯7–♭7–6 over Am."
    )
    assert sentences("C:4 C+:4 C6:4 C7:4 F:4")[0].endswith("5–♯5–6–♭7 over C.")


def test_a_tone_of_its_chord_is_spelled_as_the_chord_spells_it() -> None:
    # Written C♭; over Em7 and Cmaj7 that is their B.
    inner = "C4:4 Cb4:4 Bb3:4 A3:4"
    (line,) = [
        sentence
        for sentence in sentences("C:4 Em7:4 C7:4 F:4", inner=inner, bass="C3:4 E3:4 C3:4 F3:4")
        if "inner" in sentence
    ]
    assert "C – B – B♭ – A" in line


def test_a_line_tells_its_chords() -> None:
    (mark,) = shown(study(tune(SUNG, "C:4 G/B:4 Bb:4 F/A:4"), "C major"), "line")
    assert mark.evidence[0].statement == "It goes through C – G/B – B♭ – F/A."
    assert mark.evidence[0].elements == mark.elements
