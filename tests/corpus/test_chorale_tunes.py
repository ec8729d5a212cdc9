"""The same chorale tune set by Bach more than once: true returns with other chords.

The music21 package carries several tunes in several settings. Two settings put one after the other
make a piece in which the whole tune comes back reharmonised; where it carries one setting twice, in
another key or with another text, nothing is. Chords come from the notes.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from analysis.marks import Corrections, Repeat
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import KeySignature, Note, Part, Score
from tests.corpus.pieces import corpus_folder

#: Two settings of one tune with other chords: the basses agree on 18 to 71 % of the beats.
OTHER_CHORDS = [
    ("bwv244.46", "bwv245.3"),
    ("bwv245.15", "bwv245.37"),
    ("bwv155.5", "bwv9.7"),
    ("bwv179.6", "bwv434"),
    ("bwv252", "bwv386"),
    ("bwv159.5", "bwv245.14"),
]
#: One setting that the package carries twice, two of them in another key: the basses agree.
SAME_CHORDS = [("bwv253", "bwv414"), ("bwv274", "bwv62.6"), ("bwv197.7-a", "bwv398")]


@cache
def chorale(name: str) -> Score:
    return read_score(read_source(corpus_folder() / "bach" / f"{name}.mxl"))


def joined(first: Score, later: Score) -> Score:
    """Both scores in one: the four voices of the second follow those of the first."""
    shift, count = first.end, len(first.measures)
    parts = []
    for number, (one, two) in enumerate(zip(first.parts[:4], later.parts[:4], strict=True)):
        name = f"voice {number}"
        notes = [_named(note, name, "a") for note in one.notes]
        notes += [
            replace(_named(note, name, "b"), onset=note.onset + shift, measure=note.measure + count)
            for note in two.notes
        ]
        parts.append(Part(name, one.name, one.abbreviation, tuple(notes)))
    measures = (
        *first.measures,
        *(
            replace(one, index=one.index + count, onset=one.onset + shift, id=f"b{one.id}")
            for one in later.measures
        ),
    )
    keys = (
        *first.key_signatures,
        *(KeySignature(key.onset + shift, key.fifths, key.mode) for key in later.key_signatures),
    )
    return Score(
        title="Two settings",
        composer="",
        parts=tuple(parts),
        measures=measures,
        key_signatures=keys,
        played=tuple(range(len(measures))),
    )


def _named(note: Note, part: str, mark: str) -> Note:
    return replace(note, id=f"{mark}{note.id}", part=part)


@cache
def the_tune(first: str, later: str) -> tuple[Score, Repeat]:
    """The second setting, and the longest return that leads to it from the first."""
    one, two = chorale(first), chorale(later)
    found = analyse(joined(one, two), corrections=Corrections(melody_part="voice 0"))
    across = [
        repeat
        for repeat in found.repeats
        if repeat.first.end <= one.end <= repeat.later.start and not repeat.later_part
    ]
    return two, max(across, key=lambda repeat: repeat.later.duration)


@pytest.mark.parametrize(("first", "later"), OTHER_CHORDS + SAME_CHORDS)
def test_the_whole_tune_returns(first: str, later: str) -> None:
    two, tune = the_tune(first, later)
    assert tune.later.duration >= two.end - 4
    assert tune.similarity >= 0.9
    sopranos = [chorale(name).parts[0].notes[0].pitch for name in (first, later)]
    assert sopranos[0] is not None
    assert sopranos[1] is not None
    assert tune.transposition == sopranos[1].midi - sopranos[0].midi


@pytest.mark.parametrize(("first", "later"), OTHER_CHORDS)
def test_another_setting_has_other_chords(first: str, later: str) -> None:
    _, tune = the_tune(first, later)
    assert tune.reharmonised
    assert len([one for one in tune.differences if one.roles]) >= 8


@pytest.mark.parametrize(("first", "later"), SAME_CHORDS)
def test_the_same_setting_has_not(first: str, later: str) -> None:
    _, tune = the_tune(first, later)
    assert not tune.reharmonised
