"""Bass lines: the bass that climbs or falls by step, by half steps, or by fifths.

The task is to find where the bass goes somewhere: three chords or more over a bass that moves by
step in one direction, or four or more over a bass that moves by fifths. A line says what chord
symbols do not show at a glance, and why some chords stand in inversion.

Method
------
The bass is a row of stays (see `analysis.lines.stays`), runs are found in it by arithmetic (see
`analysis.lines.line_runs`). A run by fifths that arrives on the tonic ends there, unless it goes on
for two chords more: what follows a cadence is a new start.

What it cannot do: it names no line that a bass player adds between the chords.

References
----------
Common practice, no source. The falling tetrachord and the chromatic fall as bass lines: Open Music
Theory v1 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from analysis.lines.line_chords import chords_evidence, degrees_over_root, spelled_in
from analysis.lines.line_finds import LineFind
from analysis.lines.line_runs import Run, find_fifth_runs, find_stepwise_runs, sides_of
from analysis.lines.stays import Stay
from analysis.marks import ChordFact, Evidence, Line
from analysis.timebase import Span
from analysis.vocabulary.voices import HeldNote, pitch_at
from analysis.vocabulary.wording import chord_text, name_text


def find_stepwise_lines(
    chords: Sequence[ChordFact],
    bass: Sequence[Stay],
    part: str,
    melody: Sequence[HeldNote] = (),
) -> tuple[LineFind, ...]:
    """Lines of the bass that move by step; in whatever key the chords are, they are the same.

    Parameters
    ----------
    chords
        Chord facts in order of time.
    bass, part
        The stays of the bass and the id of the part that plays it, empty for symbols alone.
    melody
        Its notes in order of time, to say whether it moves along or against.
    """
    runs = find_stepwise_runs([stay.step for stay in bass])
    return tuple(_finds(chords, bass, runs, part, melody))


def find_fifth_lines(
    chords: Sequence[ChordFact], bass: Sequence[Stay], part: str
) -> tuple[LineFind, ...]:
    """Lines of the bass that move by fifths; arguments as for those by step."""
    runs = _to_the_tonic(chords, bass, find_fifth_runs([stay.step for stay in bass]))
    return tuple(_finds(chords, bass, runs, part, ()))


def _finds(
    chords: Sequence[ChordFact],
    bass: Sequence[Stay],
    runs: Iterable[Run],
    part: str,
    melody: Sequence[HeldNote],
) -> Iterator[LineFind]:
    for run in runs:
        stays = bass[run.first : run.last + 1]
        # Three steps of the scale are in every song.
        if run.kind == "diatonic" and run.length < 4:
            continue
        if run.kind == "chromatic" or len(_chords_of(stays)) >= 3:
            yield _find(chords, stays, run, part, melody)


def _to_the_tonic(
    chords: Sequence[ChordFact], bass: Sequence[Stay], runs: Sequence[Run]
) -> list[Run]:
    """Runs by fifths, cut where they arrive on the tonic shortly before their end."""
    kept = []
    for run in runs:
        home = _is_home(chords, bass[run.last - 1])
        last = run.last - 1 if home else run.last
        if last - run.first >= 3:
            kept.append(Run(run.first, last, run.kind, run.direction))
    return kept


def _is_home(chords: Sequence[ChordFact], stay: Stay) -> bool:
    """Whether a stay is the tonic chord in root position, without a minor seventh."""
    fact = chords[stay.chords[0]]
    tonic = fact.key.tonic.pc
    chord = fact.chord
    return chord is not None and chord.root.pc == tonic == stay.name.pc and chord.seventh != "m7"


def _chords_of(stays: Sequence[Stay]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(index for stay in stays for index in stay.chords))


def _find(
    chords: Sequence[ChordFact],
    stays: Sequence[Stay],
    run: Run,
    part: str,
    melody: Sequence[HeldNote],
) -> LineFind:
    under = [chords[stay.chords[0]] for stay in stays]
    names = tuple(spelled_in(stay.name, fact) for stay, fact in zip(stays, under, strict=True))
    line = Line(
        span=Span(stays[0].span.start, stays[-1].span.end),
        kind=run.kind,
        part=part,
        direction=run.direction,
        notes=names,
        elements=tuple(stay.elements[0] for stay in stays if stay.elements),
        evidence=_inversions(chords, stays) if run.kind != "fifths" else (),
    )
    sung = [pitch_at(melody, stay.span.start) for stay in stays]
    motion = sides_of([stay.step for stay in stays], sung) if run.kind != "fifths" else ""
    return LineFind(
        line=replace(line, evidence=(chords_evidence(line, under), *line.evidence)),
        voice="bass",
        over=len(_chords_of(stays)),
        confidence=_confidence(run),
        at=tuple(stay.span.start for stay in stays),
        against=(("melody", motion),) if motion else (),
        degrees=degrees_over_root(names, under, run.direction) if run.kind != "fifths" else "",
    )


def _confidence(run: Run) -> float:
    """A longer line is heard more surely, a chromatic one sooner than one in the scale."""
    table = {
        "chromatic": {3: 0.7, 4: 0.9},
        "diatonic": {4: 0.65, 5: 0.8},
        "fifths": {4: 0.65, 5: 0.8},
    }[run.kind]
    return table.get(run.length, max(table.values()))


def _inversions(chords: Sequence[ChordFact], stays: Sequence[Stay]) -> tuple[Evidence, ...]:
    """The chords that are turned over so that the bass can step."""
    evidence = []
    for stay in stays:
        fact = chords[stay.chords[0]]
        if fact.chord is None or fact.chord.root.pc == stay.name.pc:
            continue
        if stay.name.pc in fact.chord.pitch_classes:
            chord, bass = chord_text(fact.chord), name_text(stay.name)
            what = f"{chord} has {bass} in the bass, for the sake of the line."
            evidence.append(Evidence(what, fact.elements))
    return tuple(evidence)
