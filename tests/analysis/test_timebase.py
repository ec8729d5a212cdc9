"""Offsets, spans and meters; the beats of meters against music21's."""

import pytest
from music21 import meter

from analysis.timebase import Fraction, Meter, Span, parse_offset


def test_offsets_read_back_what_they_print() -> None:
    for value in (Fraction(0), Fraction(7, 2), Fraction(-4), Fraction(1, 3)):
        assert parse_offset(str(value)) == value
    for text in ("", "1.5", "1/0", "1e9", " 1", "9" * 13, "1/" + "9" * 13, "--1", "½"):
        with pytest.raises(ValueError, match="no number of quarter notes"):
            parse_offset(text)
    with pytest.raises(ValueError, match=f"^'{'x' * 40}' is"):
        parse_offset("x" * 41)


def test_a_span_holds_its_start_and_not_its_end() -> None:
    span = Span(Fraction(2), Fraction(5))
    assert span.duration == 3
    assert [Fraction(at) in span for at in (1, 2, 4, 5)] == [False, True, True, False]


def test_spans_that_touch_do_not_overlap() -> None:
    span = Span(Fraction(2), Fraction(5))
    cases = {(0, 2): False, (0, 3): True, (3, 4): True, (4, 9): True, (5, 9): False, (0, 9): True}
    for (start, end), expected in cases.items():
        other = Span(Fraction(start), Fraction(end))
        assert span.overlaps(other) is other.overlaps(span) is expected, other


@pytest.mark.parametrize(
    "text", ["4/4", "3/4", "2/2", "5/4", "6/8", "9/8", "12/8", "3/8", "7/8", "6/16", "3/2", "6/4"]
)
def test_measures_and_beats_are_as_long_as_music21_has_them(text: str) -> None:
    ours = Meter(*map(int, text.split("/")))
    theirs = meter.TimeSignature(text)
    assert ours.length == theirs.barDuration.quarterLength
    if text in ("6/4", "3/8", "7/8"):
        # Here they differ on purpose: 6/4 counts its quarters, 3/8 its eighths (a slow beat of
        # three eighths is a matter of tempo), 7/8 its eighths; music21 groups them.
        assert ours.beat == Fraction(4, ours.beat_type)
    else:
        assert ours.beat == theirs.beatDuration.quarterLength
