"""Measures: real lengths, pickups, meters, keys by the vote of the parts."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.score import Score
from analysis.timebase import Meter
from tests.analysis.snippets import attributes, note, read

F = Fraction
WHOLE = note("C4", 16)
HALF = note("C4", 8)
QUARTER = note("C4", 4)


def spans(score: Score) -> list[tuple[float, float]]:
    return [(float(measure.onset), float(measure.length)) for measure in score.measures]


def test_a_pickup_is_short_and_its_beats_count_back_from_the_barline() -> None:
    score = read([f'@number="0" implicit="yes"@{attributes()}{QUARTER}', WHOLE, WHOLE])
    assert spans(score) == [(0, 1), (1, 4), (5, 4)]
    assert [measure.pickup for measure in score.measures] == [True, False, False]
    assert [measure.number for measure in score.measures] == ["0", "2", "3"]
    assert score.beat_at(F(0)) == 4
    assert score.beat_at(F(1)) == 1


def test_a_pickup_needs_no_word_for_it() -> None:
    assert read([attributes() + QUARTER, WHOLE]).measures[0].pickup


def test_a_pickup_with_rests_for_the_whole_measure_beside_it() -> None:
    resting = attributes() + '<note><rest measure="yes"/><duration>16</duration></note>'
    score = read([attributes() + QUARTER, WHOLE], [resting, WHOLE])
    assert spans(score) == [(0, 1), (1, 4)]
    assert [note.onset for note in score.parts[1].notes] == [1]


def test_a_measure_split_by_a_repeat() -> None:
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    score = read(
        [attributes() + WHOLE, note("C4", 12) + repeat, f'@number="X1"@{QUARTER}', WHOLE, HALF]
    )
    assert spans(score) == [(0, 4), (4, 3), (7, 1), (8, 4), (12, 2)]
    assert [measure.pickup for measure in score.measures] == [False, False, True, False, False]
    assert score.beat_at(F(7)) == 4


def test_an_incomplete_part_does_not_fall_behind() -> None:
    score = read([attributes() + WHOLE, HALF, WHOLE], [attributes() + WHOLE, WHOLE, WHOLE])
    assert spans(score) == [(0, 4), (4, 4), (8, 4)]
    assert [[float(note.onset) for note in part.notes] for part in score.parts] == [[0, 4, 8]] * 2


def test_rests_and_space_fill_a_measure_no_further_than_its_meter() -> None:
    long = note("rest", 16) * 2
    space = HALF + "<forward><duration>8</duration></forward>"
    score = read([attributes() + WHOLE, long, long, space, WHOLE], [attributes()] + [HALF * 2] * 4)
    assert spans(score) == [(0, 4), (4, 4), (8, 4), (12, 4), (16, 4)]


def test_notes_that_are_not_printed_fill_a_measure_as_rests_do() -> None:
    hidden = note("D4", 12, attributes='print-object="no"')
    assert spans(read([attributes() + WHOLE, QUARTER + hidden, WHOLE])) == [(0, 4), (4, 4), (8, 4)]


def test_a_rest_for_the_whole_measure_is_as_long_as_the_meter() -> None:
    rest = '<note><rest measure="yes"/><duration>16</duration></note>'
    typed = "<note><rest/><duration>16</duration><type>whole</type></note>"
    score = read([attributes(time="3/4") + note("C4", 12), rest, typed])
    assert spans(score) == [(0, 3), (3, 3), (6, 3)]


def test_a_measure_may_be_longer_than_its_meter_where_notes_say_so() -> None:
    assert spans(read([attributes(time="2/4") + WHOLE, HALF])) == [(0, 4), (4, 2)]


def test_one_part_of_three_that_is_overfull_does_not_delay_the_others() -> None:
    full = [attributes() + WHOLE, WHOLE, WHOLE]
    over = [attributes() + WHOLE, WHOLE + note("D4", 2), WHOLE]
    assert spans(read(full, over, full)) == [(0, 4), (4, 4), (8, 4)]
    assert spans(read(full, over)) == [(0, 4), (4, 4.5), (8.5, 4)]


def test_rounding_does_not_lengthen_a_measure() -> None:
    score = read([attributes(divisions=480) + note("C4", 1921), note("D4", 1920)])
    assert spans(score) == [(0, 4), (4, 4)]


def test_empty_measures_and_parts_that_end_early() -> None:
    score = read([attributes() + WHOLE, "", WHOLE], [attributes() + WHOLE])
    assert spans(score) == [(0, 4), (4, 4), (8, 4)]
    assert score.measures[0].ids == ("p1m1", "p2m1")
    assert score.measures[2].ids == ("p1m3",)


@pytest.mark.parametrize(
    ("time", "meter"),
    [
        ("<beats>6</beats><beat-type>8</beat-type>", Meter(6, 8)),
        ("<beats>3+2</beats><beat-type>8</beat-type>", Meter(5, 8)),
        (
            "<beats>2</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type>",
            Meter(7, 8),
        ),
        ("<senza-misura/>", Meter(4, 4)),
        ("<beats>0</beats><beat-type>4</beat-type>", Meter(4, 4)),
        ("<beats>x</beats><beat-type>0</beat-type>", Meter(4, 4)),
        ("<beats>3</beats>", Meter(4, 4)),
    ],
)
def test_meters(time: str, meter: Meter) -> None:
    score = read([f"<attributes><divisions>4</divisions><time>{time}</time></attributes>{HALF}"])
    assert score.measures[0].meter == meter


def test_a_meter_holds_until_the_next() -> None:
    change = "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    score = read([attributes() + WHOLE, change + note("C4", 12), note("C4", 12)])
    assert [measure.meter for measure in score.measures] == [Meter(4, 4), Meter(3, 4), Meter(3, 4)]
    assert spans(score) == [(0, 4), (4, 3), (7, 3)]


def keys(score: Score) -> list[tuple[float, int, str]]:
    return [(float(key.onset), key.fifths, key.mode) for key in score.key_signatures]


def test_keys_sound_and_change() -> None:
    down = "<transpose><chromatic>-2</chromatic></transpose>"
    change = "<attributes><key><fifths>-1</fifths><mode>minor</mode></key></attributes>"
    assert keys(read([attributes(down, fifths=2) + WHOLE, WHOLE, HALF + change + HALF])) == [
        (0, 0, ""),
        (10, -3, "minor"),
    ]


def test_most_parts_decide_about_the_key_and_percussion_does_not() -> None:
    drums = "<clef><sign>percussion</sign></clef>"
    beat = note("unpitched", 16)
    score = read(
        [attributes(drums) + beat], [attributes(drums) + beat], [attributes(fifths=3) + WHOLE]
    )
    assert keys(score) == [(0, 3, "")]
    horn = [attributes() + WHOLE]
    assert keys(read(horn, [attributes(fifths=-2) + WHOLE], [attributes(fifths=-2) + WHOLE])) == [
        (0, -2, "")
    ]


def test_a_key_said_again_is_no_change() -> None:
    again = "<attributes><key><fifths>0</fifths></key></attributes>"
    assert keys(read([attributes() + WHOLE, again + WHOLE])) == [(0, 0, "")]


def test_keys_of_single_accidentals_and_beyond_seven_sharps() -> None:
    odd = "<attributes><key><key-step>F</key-step><key-alter>1</key-alter></key></attributes>"
    assert keys(read([odd + WHOLE])) == []
    up = "<transpose><chromatic>2</chromatic></transpose>"
    assert keys(read([attributes(up, fifths=6) + WHOLE])) == [(0, -4, "")]
