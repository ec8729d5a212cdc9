"""Rehearsal marks and tempos."""

from __future__ import annotations

import pytest

from analysis.score import Score
from tests.analysis.snippets import attributes, note, read

WHOLE = note("C4", 16)
HALF = note("C4", 8)


def direction(content: str, more: str = "", attribute: str = "") -> str:
    return f"<direction {attribute}><direction-type>{content}</direction-type>{more}</direction>"


def rehearsal(text: str) -> str:
    return direction(f"<rehearsal>{text}</rehearsal>")


def metronome(*units: str, minute: str = "") -> str:
    beats = "".join(
        f"<beat-unit>{unit.rstrip('.')}</beat-unit>" + "<beat-unit-dot/>" * unit.count(".")
        for unit in units
    )
    return direction(
        f"<metronome>{beats}{f'<per-minute>{minute}</per-minute>' if minute else ''}</metronome>"
    )


def tempos(score: Score) -> list[tuple[float, float]]:
    return [(float(tempo.onset), tempo.quarters_per_minute) for tempo in score.tempos]


def test_rehearsal_marks_have_id_place_and_text() -> None:
    words = direction("<words>slow</words>")
    score = read(
        [attributes() + words + rehearsal("A") + WHOLE, HALF + rehearsal(" Pre-\nchorus ") + HALF]
    )
    marks = [
        (mark.id, mark.measure, float(mark.onset), mark.text) for mark in score.rehearsal_marks
    ]
    assert marks == [("p1m1d1", 0, 0, "A"), ("p1m2d1", 1, 6, "Pre- chorus")]


def test_a_mark_in_every_part_counts_once_and_an_empty_one_not_at_all() -> None:
    marked = [attributes() + rehearsal("A") + rehearsal("") + WHOLE]
    assert [mark.id for mark in read(marked, marked).rehearsal_marks] == ["p1m1d1"]


def test_a_mark_keeps_its_own_id() -> None:
    own = direction("<rehearsal>B</rehearsal>", attribute='id="mark-b"')
    assert read([attributes() + own + WHOLE]).rehearsal_marks[0].id == "mark-b"


@pytest.mark.parametrize(
    ("written", "tempo"),
    [
        (metronome("quarter", minute="96"), 96),
        (metronome("half", minute="60"), 120),
        (metronome("quarter.", minute="80"), 120),
        (metronome("quarter..", minute="80"), 140),
        (metronome("eighth", minute="c. 120"), 60),
        (metronome("quarter", minute="100–112"), 100),
        (metronome("quarter", minute="92,5"), 92.5),
        ('<sound tempo="104"/>', 104),
        (direction("<words>fast</words>", '<sound tempo="152"/>'), 152),
        (
            direction("<metronome><beat-unit>half</beat-unit></metronome>", '<sound tempo="88"/>'),
            88,
        ),
    ],
)
def test_tempos_in_quarter_notes_a_minute(written: str, tempo: float) -> None:
    assert tempos(read([attributes() + written + WHOLE])) == [(0, tempo)]


@pytest.mark.parametrize(
    "written",
    [
        metronome("quarter", minute="fast"),
        metronome("quarter", minute="0"),
        '<sound tempo="-1"/>',
        '<sound tempo="99999999"/>',
        '<sound tempo="nan"/>',
        direction("<metronome/>"),
    ],
)
def test_what_cannot_be_played_is_no_tempo(written: str) -> None:
    assert tempos(read([attributes() + written + WHOLE])) == []


def test_tempos_change_and_an_equation_of_notes_counts_from_the_old_one() -> None:
    score = read(
        [
            attributes() + metronome("quarter", minute="120") + WHOLE,
            HALF + metronome("quarter", "quarter.") + HALF,
            metronome("half", minute="90") + WHOLE,
        ]
    )
    assert tempos(score) == [(0, 120), (6, 180)]


def test_the_first_part_decides_at_one_place() -> None:
    first = [attributes() + metronome("quarter", minute="90") + WHOLE]
    second = [attributes() + metronome("quarter", minute="100") + WHOLE]
    assert tempos(read(first, second)) == [(0, 90)]
