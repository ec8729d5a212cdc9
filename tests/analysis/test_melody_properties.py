"""What holds of melody, lines and shape in any score."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from analysis.score import Score
from analysis.vocabulary.roles import ROLES, find_roles
from analysis.vocabulary.voices import hold_notes, lead_line
from tests.analysis.tunes import study, tune
from tests.strategies import chord_lines, keys, voice_lines

OURS = ("melody", "mixed third", "passage", "line", "pedal", "shape")
scores = st.builds(
    tune,
    voice_lines(4, 5),
    chord_lines(),
    meter=st.sampled_from(["4/4", "3/4", "6/8", "2/2", "5/4"]),
    second=voice_lines(3, 5),
    bass=voice_lines(1, 3),
)


@given(scores, keys.map(str))
def test_every_note_has_its_fact_and_every_mark_its_place(score: Score, key: str) -> None:
    analysis = study(score, key)
    elements = {note.id for part in score.parts for note in part.notes}
    elements |= {symbol.id for symbol in score.chord_symbols}
    melody = [one.part for one in find_roles(score) if one.role == "melody"]
    lines = [lead_line(score.part(part)) for part in melody]
    assert [fact.note for fact in analysis.melody] == [n.id for line in lines for n in line]
    for fact in analysis.melody:
        assert not (fact.blue and fact.role in ("chord tone", "anticipation"))
        assert bool(fact.role) == bool(fact.chord_degree)
    ids = [mark.id for mark in analysis.marks if mark.kind in OURS]
    assert len(ids) == len(set(ids))
    for mark in analysis.marks:
        if mark.kind in OURS:
            assert 0 < mark.confidence <= 1
            assert set(mark.elements) <= elements
            assert len(mark.elements) == len(set(mark.elements))
            assert 0 <= mark.span.start < mark.span.end <= score.end
            assert mark.label
            assert len(mark.sentence.split()) <= 30


@given(voice_lines())
def test_a_line_has_one_note_at_a_time_and_held_notes_lose_no_pitched_head(text: str) -> None:
    (part,) = tune(text).parts
    line = lead_line(part)
    assert all(left.end <= right.onset for left, right in pairwise(line))
    heads = {head for note in hold_notes(part.notes) for head in note.heads}
    assert heads == {note.id for note in part.notes if note.pitch and not note.grace}


@given(scores)
def test_every_part_has_one_role_and_at_most_one_is_the_melody(score: Score) -> None:
    roles = find_roles(score)
    assert [one.part for one in roles] == [part.id for part in score.parts]
    assert {one.role for one in roles} <= set(ROLES)
    assert sum(one.role == "melody" for one in roles) <= 1
