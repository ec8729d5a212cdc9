"""The sample scores: what is sung against the harmony and which lines there are, and nothing else.

What was planted is in ``sample_scores/planted.json``; the keys are taken from there too, so that
these lists stand by themselves. Lines that were composed without being planted are listed with the
reason for which a musician would point at them.
"""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from analysis.marks import DEFAULT_CONFIDENCE, Analysis, Corrections, Mark, MelodyFact
from analysis.pipeline import analyse
from analysis.pitch import Key, Pitch, PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.score import Part, Score
from analysis.timebase import Span

FOLDER = Path(__file__).parents[2] / "sample_scores"
PLANTED: dict[str, Any] = json.loads((FOLDER / "planted.json").read_text(encoding="utf-8"))
STEMS = list(PLANTED["scores"])
OURS = ("melody", "mixed third", "passage", "line", "pedal", "shape")

#: Measure, beat, kind, label of every mark of these kinds that is shown by default.
EXPECTED = {
    "wednesday-table": [
        ("1", 1, "pedal", "pedal G"),
        ("13", 1, "line", "diatonic ↘"),
        ("14", 4, "line", "diatonic ↗"),  # G A B C: the bass climbs into the chorus
        ("35", 1, "line", "diatonic ↗"),  # A B C# D under the last chorus
        ("41", 2.5, "shape", "climax"),  # E5, long, in the last chorus alone
        ("42", 1, "pedal", "pedal A"),
    ],
    "slow-to-warm": [
        ("1", 1, "line", "chromatic ↘"),
        ("12", 1, "line", "chromatic ↗"),
        ("19", 1, "line", "chromatic ↘"),
        ("21", 3, "line", "chromatic ↘"),  # begins a chord before what was planted, on D flat
    ],
    "seven-small-screws": [
        ("1", 1, "line", "diatonic ↘"),
        ("9", 1, "line", "fifths ↘"),
        ("21", 1, "line", "fifths ↘"),  # vi ii V I of B flat
        ("25", 1, "line", "chromatic ↗"),
        ("27", 1, "pedal", "common tone D"),  # D sung through Bb/F, D7/F# and Gm
    ],
    "kettle-wont-sing": [
        ("1", 2.5, "mixed third", "♭3/3"),
        ("13", 2.5, "mixed third", "♭3/3"),
        ("17", 1, "line", "chromatic ↗"),
        ("22", 3, "pedal", "common tone E"),
        ("23", 1, "line", "chromatic ↘"),
        ("24", 3, "shape", "climax"),  # “Whee!”
    ],
}  # fmt: skip


def at(score: Score, measure: str, beat: float) -> Fraction:
    """The offset of a beat of a printed measure."""
    place = next(one for one in score.measures if one.number == measure)
    missing = place.meter.length - place.length if place.pickup else 0
    return place.onset + Fraction(beat) - 1 - missing


@cache
def read(stem: str) -> Score:
    return read_score(read_source(FOLDER / f"{stem}.musicxml"))


def in_its_keys(score: Score, stem: str, fifths: int = 0) -> Analysis:
    """The analysis in the keys that are meant, ``fifths`` higher on the line of fifths."""
    rows = PLANTED["scores"][stem]["keys"]
    starts = [Fraction(0), *(at(score, row["measure"], row["beat"]) for row in rows[1:])]
    ends = [*starts[1:], score.end]
    keys = tuple(
        (Span(start, end), Key(PitchName.parse(row["tonic"]) + fifths, row["mode"]))
        for start, end, row in zip(starts, ends, rows, strict=True)
    )
    return analyse(score, corrections=Corrections(keys=keys))


def shown(analysis: Analysis) -> list[Mark]:
    return [
        mark
        for mark in analysis.marks
        if mark.kind in OURS and mark.confidence >= DEFAULT_CONFIDENCE
    ]


@pytest.mark.parametrize("keys", ["meant", "found"])
@pytest.mark.parametrize("stem", STEMS)
def test_what_is_shown_is_what_there_is(stem: str, keys: str) -> None:
    score = read(stem)
    found = [
        (
            score.measure_at(mark.span.start).number,
            float(score.beat_at(mark.span.start)),
            mark.kind,
            mark.label,
        )
        for mark in shown(in_its_keys(score, stem) if keys == "meant" else analyse(score))
    ]
    assert found == EXPECTED[stem]


COVERED = {"a": ("mixed third",), "b": ("pedal",), "j": ("line",)}
ALSO_COVERED = {
    "bass line": "line",
    "falling fifths": "line",
    "pedal": "pedal",
    "common tone": "pedal",
}


@pytest.mark.parametrize("stem", STEMS)
def test_every_planted_feature_is_under_a_mark(stem: str) -> None:
    score = read(stem)
    marks = shown(in_its_keys(score, stem))
    rows = [row for row in PLANTED["planted"] if row["score"] == stem]
    wanted = [(row, COVERED[row["feature"]]) for row in rows if row["feature"] in COVERED]
    wanted += [
        (row, (ALSO_COVERED[row["feature"]],))
        for row in PLANTED["scores"][stem]["also"]
        if row["feature"] in ALSO_COVERED
    ]
    for row, kinds in wanted:
        offset = at(score, row["measure"], row["beat"])
        parts = {part.id for part in score.parts if part.name == row["part"]}
        over = [
            mark
            for mark in marks
            if mark.kind in kinds and offset in mark.span and parts & set(mark.parts)
        ]
        assert over, row


def test_each_lowered_third_is_named_with_its_place() -> None:
    score = read("kettle-wont-sing")
    facts = in_its_keys(score, "kettle-wont-sing").melody
    lowered = [fact.span.start for fact in facts if fact.blue_third]
    planted = [row for row in PLANTED["planted"] if row["feature"] == "a"]
    assert lowered == [at(score, row["measure"], row["beat"]) for row in planted]
    assert all(fact.blue == "3" for fact in facts if fact.blue_third)


def test_lines_hold_their_notes() -> None:
    score = read("slow-to-warm")
    notes = [" ".join(map(str, line.notes)) for line in in_its_keys(score, "slow-to-warm").lines]
    assert notes == ["Eb D Db C Cb Bb", "G Ab A Bb", "C Cb Bb", "Db C Cb Bb"]


def split_in_two(part: Part) -> Part:
    """Every note of a quarter or more as two tied ones; the first keeps id and words."""
    notes = []
    for note in part.notes:
        if note.duration < 1 or note.grace or note.pitch is None:
            notes.append(note)
            continue
        half = note.duration / 2
        notes.append(replace(note, duration=half, tie_start=True))
        notes.append(
            replace(
                note,
                id=f"{note.id}-2",
                onset=note.onset + half,
                duration=half,
                tie_stop=True,
                lyrics=(),
            )
        )
    key = lambda note: (note.onset, note.pitch.midi if note.pitch else 0)  # noqa: E731
    return replace(part, notes=tuple(sorted(notes, key=key)))


@pytest.mark.parametrize("stem", STEMS)
@pytest.mark.parametrize("change", ["split", "silent", "renamed"])
def test_what_changes_nothing_to_the_ear_changes_no_mark(stem: str, change: str) -> None:
    score = read(stem)
    parts = {
        "split": tuple(split_in_two(part) for part in score.parts),
        "silent": (*score.parts, Part("silent", "Tacet", "", ())),
        "renamed": tuple(replace(part, name=f"Player {part.id}") for part in score.parts),
    }[change]
    changed = in_its_keys(replace(score, parts=parts), stem)
    assert [pointed(mark) for mark in shown(changed)] == [
        pointed(mark) for mark in shown(in_its_keys(score, stem))
    ]


def pointed(mark: Mark) -> tuple[object, ...]:
    """A mark without the names of parts that its sentence gives."""
    return (mark.id, mark.span, mark.label, mark.elements, mark.parts, mark.words, mark.confidence)


@pytest.mark.parametrize("fifths", [-4, -1, 2, 5])
@pytest.mark.parametrize("stem", STEMS)
def test_transposing_moves_nothing_but_pitch_names(stem: str, fifths: int) -> None:
    score = read(stem)
    moved = in_its_keys(transposed(score, fifths), stem, fifths)
    assert sorted(nameless(mark) for mark in shown(moved)) == sorted(
        nameless(mark) for mark in shown(in_its_keys(score, stem))
    )
    assert [named(fact) for fact in moved.melody] == [
        named(fact) for fact in in_its_keys(score, stem).melody
    ]


def nameless(mark: Mark) -> tuple[object, ...]:
    label = mark.label.rpartition(" ")[0] if mark.kind == "pedal" else mark.label
    return (mark.span, mark.kind, label, mark.elements, mark.parts, mark.confidence)


def named(fact: MelodyFact) -> tuple[object, ...]:
    return (fact.note, fact.degree, fact.role, fact.chord_degree, fact.blue, fact.blue_third)


def transposed(score: Score, fifths: int) -> Score:
    """The score so many fifths further on the line of fifths, moved by less than an octave."""
    half_steps = (7 * fifths + 5) % 12 - 5

    def move(pitch: Pitch | None) -> Pitch | None:
        if pitch is None:
            return None
        name = pitch.name + fifths
        octave = next(
            octave
            for octave in range(pitch.octave - 1, pitch.octave + 2)
            if Pitch(name, octave).midi == pitch.midi + half_steps
        )
        return Pitch(name, octave)

    parts = tuple(
        replace(part, notes=tuple(replace(note, pitch=move(note.pitch)) for note in part.notes))
        for part in score.parts
    )
    symbols = tuple(
        replace(
            symbol,
            root=symbol.root + fifths if symbol.root else None,
            bass=symbol.bass + fifths if symbol.bass else None,
        )
        for symbol in score.chord_symbols
    )
    return replace(score, parts=parts, chord_symbols=symbols)
