"""Places and elements in words."""

from fractions import Fraction

import pytest

from analysis.timebase import Span
from app.views.places import beat_text, element_text, place_text, span_text
from tests.app.reviews import read_sample


@pytest.mark.parametrize(
    ("beat", "text"),
    [(1, "1"), (Fraction(5, 2), "2½"), (Fraction(4, 3), "1⅓"), (Fraction(29, 8), "3 5/8")],
)
def test_beats_read_as_people_write_them(beat: Fraction, text: str) -> None:
    assert beat_text(Fraction(beat)) == text


def test_the_first_beat_goes_without_saying() -> None:
    _, document = read_sample("wednesday-table")
    score = document.score
    third = score.measures[3]
    assert place_text(score, third.onset) == f"m. {third.number}"
    assert place_text(score, third.onset + 1) == f"m. {third.number} b. 2"


def test_a_span_names_its_last_measure_and_not_the_one_after() -> None:
    _, document = read_sample("wednesday-table")
    score = document.score
    first, last = score.measures[3], score.measures[5]
    span = Span(first.onset, last.span.end)
    assert span_text(score, span) == f"m. {first.number}–{last.number}"
    assert span_text(score, first.span) == f"m. {first.number}"
    within = Span(first.onset + 2, last.span.end)
    assert span_text(score, within) == f"m. {first.number} b. 3 – m. {last.number}"


def test_a_chord_symbol_says_numeral_key_and_function() -> None:
    _, document = read_sample("wednesday-table")
    fact = next(f for f in document.analysis.chords if f.numeral and f.numeral.text == "V7/vi")
    text = element_text(document, fact.symbol)
    assert "V⁷/vi in G major" in text
    assert "dominant" in text


def test_a_note_says_pitch_part_and_chord() -> None:
    _, document = read_sample("wednesday-table")
    note = next(n for n in document.score.parts[0].notes if n.pitch and n.measure > 6)
    text = element_text(document, note.id)
    assert text.startswith(f"{note.pitch}".replace("#", "♯").replace("b", "♭"))
    assert document.score.parts[0].name in text
    assert "over " in text


def test_an_unknown_element_says_nothing() -> None:
    _, document = read_sample("wednesday-table")
    assert element_text(document, "no such id") == ""
