"""Melody notes against their chords: every kind, and what is nearly that kind.

Kinds of non-chord tones are those of Open Music Theory v1, *embellishingTones*. Everything else is
common practice without a source unless a comment says otherwise.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.chords import KIND_DEGREES, Chord
from analysis.inference.chord_tones import chord_tone, key_degree
from analysis.melody.embellishments import Setting, name_kind
from analysis.pitch import Key, PitchName
from tests.analysis.tunes import facts, roles, shown, study, tune


@pytest.mark.parametrize(
    ("melody", "chords", "at", "role"),
    [
        pytest.param("C5:1 D5:1 E5:2", "C:4", 1, "passing", id="PT"),
        pytest.param("E5:1 D#5:1 D5:2", "C:2 G:2", 1, "passing", id="PT chromatic"),
        pytest.param("C5:1 D5:1 C5:2", "C:4", 1, "neighbour", id="NT upper"),
        pytest.param("C5:1 B4:1 C5:2", "C:4", 1, "neighbour", id="NT lower"),
        pytest.param("C5:1 D5:1 B4:1 C5:1", "C:4", 1, "double neighbour", id="NT double, first"),
        pytest.param("C5:1 D5:1 B4:1 C5:1", "C:4", 2, "double neighbour", id="NT double, second"),
        pytest.param("C5:4 A5:2 G5:2", "C:8", 1, "appoggiatura", id="APP"),
        pytest.param("C5:4 F5:2 D5:2", "C:4 G:4", 1, "added tone", id="leapt from: no APP"),
        pytest.param(
            "C5:4 F5:1 E5:1 D5:2", "C:4 G:4", 1, "added tone", id="steps to a tone foreign too"
        ),
        pytest.param("C5:1 r:3 A5:2 G5:2", "C:8", 1, "appoggiatura", id="APP after a rest"),
        pytest.param("C5:4 C5:2 B4:2", "C:4 G:4", 1, "suspension", id="SUS struck again"),
        pytest.param("C5:4~ C5:2 B4:2", "C:4 G:4", 0, "suspension", id="SUS tied"),
        pytest.param("B4:4 B4:2 C5:2", "G:4 C:4", 1, "retardation", id="RET"),
        pytest.param("E5:1 F5:1 C5:2", "C:4", 1, "escape", id="ESC"),
        pytest.param("D5:2 B4:1 C5:1 C5:4", "G:4 C:4", 2, "anticipation", id="ANT"),
    ],
)
def test_kinds_of_non_chord_tones(melody: str, chords: str, at: int, role: str) -> None:
    assert roles(melody, chords)[at] == role


@pytest.mark.parametrize(
    ("melody", "chords", "at", "role"),
    [
        # The note between is in the chord: no passing note.
        pytest.param("C5:1 D5:1 E5:2", "G7:4", 1, "chord tone", id="in the chord"),
        # Three half steps are a step of the pentatonic scale, none of this one.
        pytest.param("E5:1 F5:1 Ab5:2", "C:4", 1, "escape", id="a leap away is an escape"),
        pytest.param("C5:4 A5:2 C5:2", "C:8", 1, "added tone", id="left by leap: no appoggiatura"),
        pytest.param("C5:4~ C5:2 A4:2", "C:4 G:4", 0, "chord tone", id="no step: no suspension"),
        pytest.param("G4:4 C5:2 B4:2", "C:4 G:4", 1, "appoggiatura", id="unprepared"),
        pytest.param("C5:1 r:2 D5:1 r:2 E5:2", "C:8", 1, "added tone", id="rests part notes"),
        pytest.param("G4:1 B4:1 C5:2", "F:4", 1, "neighbour", id="leap and half step on"),
        # Alone at the same place of the measure, on a weak beat: an incomplete neighbour.
        pytest.param("C5:1 A5:1 G5:2", "C:4", 1, "neighbour", id="unaccented"),
    ],
)
def test_what_is_nearly_a_kind_is_not_called_it(
    melody: str, chords: str, at: int, role: str
) -> None:
    assert roles(melody, chords)[at] == role


def test_a_repeated_non_chord_tone_is_left_and_approached_as_one() -> None:
    assert roles("C5:1 D5:1/2 D5:1/2 E5:2", "C:4") == [
        "chord tone", "passing", "passing", "chord tone"
    ]  # fmt: skip


def test_no_departure_into_nothing() -> None:
    assert name_kind(Setting(approach=2, departure=None, accented=False)) == ""


@pytest.mark.parametrize("early", ["1/2", "1/4"])
def test_a_note_sung_early_belongs_to_the_coming_chord(early: str) -> None:
    before = Fraction(4) - Fraction(early)
    held = facts(f"E5:{before} B4:{early}~ B4:4", "C:4 G:4")
    struck = facts(f"E5:{before} B4:{early} B4:4", "C:4 G:4")
    for fact in (held[1], struck[1]):
        assert (fact.role, fact.chord_degree) == ("anticipation", "3")


def test_a_beat_early_is_no_anticipation_unless_the_note_comes_again() -> None:
    assert roles("E5:3 B4:1~ B4:4", "C:4 G:4")[1] != "anticipation"
    assert roles("E5:3 B4:1 B4:4", "C:4 G:4")[1] == "anticipation"


def test_what_is_sung_early_as_a_clash_is_judged_by_the_chord_it_stays_in() -> None:
    fact = facts("E5:7/2 A4:1/2~ A4:4", "F:4 C:4")[1]
    assert (fact.role, fact.chord_degree) == ("added tone", "6")


def test_an_early_note_common_to_both_chords_is_a_chord_tone() -> None:
    assert roles("E5:7/2 G4:1/2~ G4:4", "C:4 G:4")[1] == "chord tone"


@pytest.mark.parametrize(
    ("note", "chord", "degree"),
    [
        ("A", "G7", "9"), ("Ab", "G7", "b9"), ("A#", "G7", "#9"), ("Bb", "G7", "#9"),
        ("C#", "G7", "#11"), ("E", "G7", "13"), ("Eb", "G7", "b13"), ("G", "Dm7", "11"),
        ("D", "Cmaj7", "9"), ("A", "Cmaj7", "13"),
    ],
)  # fmt: skip
def test_tensions(note: str, chord: str, degree: str) -> None:
    fact = facts(f"r:4 {note}5:4", f"{chord}:8")[0]
    assert (fact.role, fact.chord_degree) == ("tension", degree)


@pytest.mark.parametrize(
    ("note", "chord", "role"),
    [
        # The fourth over a major triad, and the half steps above root and fifth of a minor one.
        ("F", "C", "foreign"), ("F", "Cmaj7", "foreign"), ("C", "G7", "foreign"),
        ("F", "Em7", "foreign"), ("C", "Em7", "foreign"),
        # Practice allows these.
        ("G", "Dm7", "tension"), ("B", "Dm7", "tension"), ("Ab", "G7", "tension"),
        ("D", "C", "added tone"), ("A", "C", "added tone"), ("F", "G", "added tone"),
    ],
)  # fmt: skip
def test_avoid_notes_only_where_practice_has_them(note: str, chord: str, role: str) -> None:
    fact = facts(f"r:4 {note}5:4", f"{chord}:8")[0]
    assert fact.role == role
    assert bool(fact.reasons) == (role == "foreign")


def test_foreign_to_chord_and_key() -> None:
    analysis = study(tune("C5:4 F#5:2 C5:2", "C:8"))
    fact = analysis.melody[1]
    assert (fact.role, fact.degree, fact.chord_degree) == ("foreign", "#4", "#4")
    (mark,) = shown(analysis, "melody")
    assert mark.sentence == "F♯ is no tone of C, nor of C major."


def test_the_bass_of_a_slash_chord_belongs_to_it() -> None:
    assert roles("D5:4", "C/D:4") == ["chord tone"]


def test_degrees_follow_the_key_in_every_transposition() -> None:
    for fifths in range(-6, 7):
        key = Key(PitchName(fifths))
        assert key_degree(PitchName(fifths - 3), key) == "b3"
        assert key_degree(PitchName(fifths + 9), key) == "#2"
        assert key_degree(PitchName(fifths - 3), Key(PitchName(fifths), "minor")) == "3"
        chord = Chord(PitchName(fifths + 1), KIND_DEGREES["dominant"], PitchName(fifths + 1))
        assert chord_tone(PitchName(fifths - 1), chord, key).degree == "b7"


def test_unpitched_grace_and_spoken_notes_are_passed_over() -> None:
    assert roles("C5:1 x:1 D#5:g E5:2", "C:4") == ["chord tone", "chord tone"]


def test_no_chord_is_no_role() -> None:
    fact = facts("C5:4 E5:4", "NC:4 C:4")[0]
    assert (fact.role, fact.chord_degree, fact.degree) == ("", "", "1")


def test_ordinary_embellishments_get_no_mark() -> None:
    melody = "C5:1 D5:1 E5:2 D5:1 C5:1 D5:1 C5:1 E5:1 F5:1 E5:2 D5:2 C5:2"
    assert shown(study(tune(melody, "C:16")), "melody", least=0.01) == []


def test_a_suspension_is_marked_once_and_its_likes_are_listed() -> None:
    score = tune("C5:4~ C5:2 B4:2 C5:4~ C5:2 B4:2 C5:4", "C:4 G:4 C:4 G:4 C:4")
    analysis = study(score)
    (mark,) = shown(analysis, "melody")
    assert (mark.label, float(mark.span.start)) == ("4–3", 0.0)
    assert mark.sentence == (
        "C is a suspension over G: held over from the chord before, it steps down."
    )
    assert [one.statement for one in mark.evidence] == [
        "It is held over from the chord before.",
        "The same comes again in measure 3.",
    ]
    assert len(shown(analysis, "melody", least=0.4)) == 2


def test_compound_meter_has_its_own_accents() -> None:
    # In 6/8 the fourth eighth is a beat: a leap to a non-chord tone there leans on the chord.
    score = tune("C5:3/2 A5:1 G5:1/2", "C:3", meter="6/8")
    assert study(score).melody[1].role == "appoggiatura"


_INTERVALS = (None, *range(-4, 5))


@pytest.mark.parametrize("accented", [True, False])
def test_the_kinds_are_those_of_the_table(accented: bool) -> None:
    """OMT *embellishingTones*: a step is one or two half steps; on, back, or across by leap."""
    for into in _INTERVALS:
        for out in _INTERVALS:
            kind = name_kind(Setting(into, out, accented))
            step_in, step_out = (one is not None and 0 < abs(one) < 3 for one in (into, out))
            case = (into, out, kind)
            if step_in and step_out:
                assert into is not None
                assert out is not None
                assert (kind == "passing") == ((into > 0) == (out > 0)), case
            if kind == "neighbour" and step_in:
                assert into is not None
                assert out is not None
                # Back to where it came from, by the other form of that degree at most.
                assert abs(into + out) <= 1, case
                assert into * out < 0, case
            if kind == "appoggiatura":
                assert accented, case
                assert step_out, case
                assert not step_in, case
            if kind == "escape":
                assert not accented, case
                assert step_in, case
                assert out is not None, case
                assert abs(out) > 2, case
            assert out is not None or kind == "", case


@pytest.mark.parametrize("second", [True, False])
@pytest.mark.parametrize("prepared", [True, False])
@pytest.mark.parametrize("accented", [True, False])
def test_turned_upside_down_a_kind_is_the_same(
    accented: bool, prepared: bool, second: bool
) -> None:
    """Only the suspension, which falls, becomes a retardation, which rises."""
    mirror = {"suspension": "retardation", "retardation": "suspension"}
    for into in _INTERVALS:
        for out in _INTERVALS:
            for across in (None, -2, 1):
                one = Setting(
                    into, out, accented, prepared, across=across, home=True, second=second
                )
                other = replace(
                    one,
                    approach=None if into is None else -into,
                    departure=None if out is None else -out,
                    across=None if across is None else -across,
                )
                kind = name_kind(one)
                assert name_kind(other) == mirror.get(kind, kind), one


def test_what_was_prepared_and_steps_is_held_over() -> None:
    """SUS steps down, RET up; a leap from it is neither (OMT *embellishingTones*)."""
    found = {out: name_kind(Setting(0, out, True, prepared=True)) for out in range(-3, 4) if out}
    assert (found[-1], found[-2], found[1], found[2]) == (
        "suspension", "suspension", "retardation", "retardation",
    )  # fmt: skip
    assert {found[-3], found[3]}.isdisjoint({"suspension", "retardation"})
    for out in (None, 0, 5, -2):
        assert name_kind(Setting(None, out, False, early=True)) == "anticipation"


def test_leaning_on_a_tone_asks_that_it_resolves() -> None:
    """An appoggiatura goes to a tone of its chord; unresolved it is none (OMT, same page)."""
    assert name_kind(Setting(5, -2, True, resolves=True)) == "appoggiatura"
    assert name_kind(Setting(5, -2, True, resolves=False)) == ""
    assert name_kind(Setting(None, -1, True)) == name_kind(Setting(0, -1, True)) == "appoggiatura"
    assert name_kind(Setting(5, 2, True)) == ""


def test_two_neighbours_turn_around_their_tone() -> None:
    """Up, across by leap, back by step, or the other way round (OMT, same page)."""
    for side in (1, -1):
        first = Setting(2 * side, -3 * side, False, across=side, home=True)
        assert name_kind(first) == "double neighbour"
        assert name_kind(Setting(-3 * side, side, False, second=True)) == "double neighbour"
        # Without the way home, or where it goes further out, it is an escape.
        assert name_kind(Setting(2 * side, -3 * side, False, across=side)) == "escape"
        assert name_kind(Setting(2 * side, 3 * side, False, across=-side, home=True)) == "escape"
        assert (
            name_kind(Setting(2 * side, -5 * side, False, across=3 * side, home=True)) == "escape"
        )
