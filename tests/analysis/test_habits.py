"""What a piece does again and again is said once: tiny scores and marks with known answers."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from analysis.form.habits import FOLDED, MOST, fold_habits
from analysis.marks import DEFAULT_CONFIDENCE, Evidence, Line, Mark
from analysis.pipeline import analyse
from analysis.pitch import PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.timebase import Fraction, Span
from tests.analysis.tunes import shown as marks_of
from tests.analysis.tunes import study, tune

FOLDABLE = (
    "melody",
    "mixed third",
    "passage",
    "line",
    "pedal",
    "echo",
    "repeat",
    "rhythm",
    "cadence",
)
SCORE = tune("C4:4 " * 40, "C:4 " * 40)


def mark(number: int, kind: str = "cadence", **more: object) -> Mark:
    """A mark in a measure of its own."""
    held = {
        "id": f"{kind}-{number}",
        "kind": kind,
        "span": Span(Fraction(4 * number), Fraction(4 * number + 4)),
        "parts": ("P1",),
        "elements": (f"n{number}",),
        "label": "HC",
        "sentence": "A half cadence.",
        "confidence": 0.6,
    } | more
    return Mark(**held)  # type: ignore[arg-type]


def line(number: int, notes: str, voice: str = "The bass", way: str = "down") -> Mark:
    names = tuple(PitchName.parse(name) for name in notes.split())
    span = Span(Fraction(4 * number), Fraction(4 * number + 4))
    fact = Line(span, "diatonic", "", way, names)  # type: ignore[arg-type]
    return mark(
        number, "line", fact=fact, label="diatonic", sentence=f"{voice} falls: {notes}.", span=span
    )


def shown(marks: tuple[Mark, ...]) -> list[str]:
    return [one.id for one in marks if one.confidence >= DEFAULT_CONFIDENCE]


def test_a_handful_stays() -> None:
    marks = tuple(mark(number) for number in range(MOST))
    assert fold_habits(SCORE, marks) == marks


def test_more_are_one_statement_that_lists_the_others() -> None:
    marks = tuple(mark(number) for number in range(12))
    folded = fold_habits(SCORE, marks)
    assert [one.id for one in folded] == [one.id for one in marks]
    assert shown(folded) == ["cadence-0"]
    assert folded[0].sentence == "A half cadence. One of 12 such places."
    assert folded[0].evidence == (
        Evidence(
            "The same comes in measures 2, 3, 4, 5, 6, 7 and 5 more too.",
            tuple(f"n{number}" for number in range(1, 12)),
        ),
    )
    assert {one.confidence for one in folded[1:]} == {FOLDED}


def test_other_claims_are_others() -> None:
    marks = tuple(mark(number, label="HC" if number % 2 else "PC") for number in range(6))
    assert fold_habits(SCORE, marks) == marks


def test_what_is_not_shown_neither_counts_nor_changes() -> None:
    marks = tuple(mark(number, confidence=0.4 if number < 3 else 0.6) for number in range(6))
    assert fold_habits(SCORE, marks) == marks


def test_the_frame_of_a_piece_is_never_folded() -> None:
    marks = tuple(mark(number, kind) for kind in ("key", "section", "chord") for number in range(9))
    assert fold_habits(SCORE, marks) == marks


def test_a_piece_of_a_line_is_that_line() -> None:
    marks = (line(0, "G F E"), line(1, "C B A G F E"), line(2, "A G F"), line(3, "C B A G F E"))
    assert shown(fold_habits(SCORE, marks)) == ["line-1"]


def test_the_same_notes_in_another_voice_are_another_line() -> None:
    marks = tuple(
        line(number, "G F E", "The bass" if number % 2 else "Inside the chords a voice")
        for number in range(6)
    )
    assert fold_habits(SCORE, marks) == marks


def test_lowered_thirds_in_many_places_are_one_mark_a_section() -> None:
    """A lowered third over the tonic in every other measure, natural ones far from it."""
    two = "C4:1 Eb4:1 D4:1 C4:1 G4:1 A4:1 G4:1 C4:1 "
    analysis = study(tune(two * 8, "C:4 " * 16))
    lowered = [fact for fact in analysis.melody if fact.blue_third]
    rings = marks_of(analysis, "melody")
    assert len(lowered) == 8
    assert [one for ring in rings for one in ring.elements] == [fact.note for fact in lowered]
    assert len(rings) <= len(analysis.sections)
    assert rings[0].evidence[0].statement == (
        "E♭, lowered, at measure 1, beat 2 over C, down to D."
    )
    assert "E♭, the lowered third of C major, is sung" in rings[0].sentence


SONGS = Path(__file__).parents[3] / "shared" / "reference" / "rock"


@pytest.mark.skipif(not SONGS.is_dir(), reason="The songs with analyses are not at hand.")
@pytest.mark.parametrize("number", ["014", "024", "030", "041", "049"])
def test_no_song_shows_more_than_a_handful_of_one_kind(number: str) -> None:
    """Songs in which, mark by mark, up to 27 of one kind were told.

    Facts stay as they are: each lowered third over the tonic is in the melody's list.
    """
    analysis = analyse(read_score(read_source(SONGS / f"rock-{number}.mxl")))
    kinds = Counter((one.kind, one.label) for one in marks_of(analysis, *FOLDABLE))
    assert max(kinds.values()) <= 6
    told = {
        element
        for one in analysis.marks
        for element in (*one.elements, *(e for each in one.evidence for e in each.elements))
        if one.confidence >= DEFAULT_CONFIDENCE
    }
    lowered = [fact for fact in analysis.melody if fact.blue == "3"]
    assert {fact.note for fact in lowered} <= told
