"""Key regions: which tonic and mode is heard, and from where to where.

The task is to tile a piece with keys, from its chords and melody, with the written key signature
as no more than a hint: take it away and the answer should seldom change. A chord outside the key
is not a change of key; a stretch that is at home elsewhere is.

Method
------
Cues (`analysis.keys.key_cues`) are weighed under all 24 keys by counted tables
(`analysis.keys.key_tables`), far places that are alike are tied (`analysis.keys.key_evidence`), and
the likeliest row of keys is taken (`analysis.keys.key_paths`). The modes beyond major and minor are
named afterwards from the chords of a region: mixolydian where its seventh degree is the lowered
one, dorian where its sixth is the raised one, and so on; sevenths of a blues do not count for that.

What it cannot do: hear a change of key under one chord that goes on, or a tonic that never sounds
where another chord is long. Loops that leave the key open get the other readings as alternatives,
and so does a tonic whose third is heard both ways or not at all: its parallel mode.

References
----------
D. Temperley & T. de Clercq, *Journal of New Music Research* 42/3, 2013 (roots, melody and meter
find the key). Open Music Theory v1, *popRockHarmony* (vi–IV–I–V and its rotations leave the mode
open).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from analysis.keys.key_cues import ChordEvent, Cues, Floats, find_cues, read_events
from analysis.keys.key_evidence import (
    block_evidence,
    costs_of,
    darkened_evidence,
    frame_evidence,
    openness,
    signature_evidence,
    tie_twins,
    written_borders,
)
from analysis.keys.key_paths import best_states
from analysis.keys.key_reasons import (
    change_of,
    explain_region,
    find_lift,
    open_readings,
    other_third,
    parallel_reading,
    phrase_ends,
)
from analysis.keys.key_tables import KeyTables, read_key_tables
from analysis.marks import KeyRegion, PlacedChord, Settings
from analysis.pitch import Key, Mode, PitchName
from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.vocabulary.voices import HeldNote

#: What the summed evidence of a region is divided by before it is read as odds.
_CAUTION: Final = 3.0
#: What even odds of a region are believed, and certain ones. Ties with far places make the path
#: better than a region's own odds: on songs left out regions with odds of 0.2 to 0.5 were right
#: for 88 % of their time, of 0.5 to 0.85 for 91, above for 97.
_BELIEF: Final = (0.75, 0.97)
#: The first reading of a loop that leaves its key open is believed at most so far.
_OPEN_BELIEF: Final = 0.7
#: The parallel mode is at most so likely, as a share of the tonic's chance.
_MOST_PARALLEL: Final = 0.45
#: From this share of major tonic chords on a region is major, whatever is sung over them.
_MAJOR_TONIC: Final = 0.75
#: Readings less likely than this are not offered.
_LEAST_READING: Final = 0.02
#: A mode shorter than this, in quarters, inside a longer one of the same tonic is passed over.
_SHORTEST_MODE: Final = 16.0
#: A scale degree is altered where its altered form has so many times the weight of the plain one.
_CLEARLY: Final = 3.0
#: Least share of a region's time for a chord tone to name a mode.
_HEARD: Final = 0.05


def find_key_regions(
    score: Score,
    placed: Sequence[PlacedChord],
    line: Sequence[HeldNote],
    settings: Settings = Settings(),
    tables: KeyTables | None = None,
) -> tuple[KeyRegion, ...]:
    """Key regions that tile the piece, in order.

    Parameters
    ----------
    score
        For its measures, signatures and rehearsal marks.
    placed
        Chords in order of time.
    line
        The melody; may be empty.
    settings
        Whether signatures and rehearsal marks may be used.
    tables
        Counted tables in place of those of the package, for measuring.

    Returns
    -------
    tuple of KeyRegion
        Empty where no chord sounds. Confidence is the chance that the tonic is right.
    """
    events = read_events(placed)
    if not events:
        return ()
    tables = tables or read_key_tables()
    cues = find_cues(events, line, score.measures)
    signs = [
        (float(sign.onset), sign.fifths)
        for sign in (score.key_signatures if settings.use_key_signature else ())
    ]
    named = [
        float(mark.onset)
        for mark in (score.rehearsal_marks if settings.use_rehearsal_marks else ())
    ]
    evidence = block_evidence(cues, tables) @ tables.weights.blocks
    evidence += signature_evidence(cues, signs) + frame_evidence(cues) + darkened_evidence(cues)
    opening = openness(cues, tables) + written_borders(cues, signs, named)[:, None]
    costs = costs_of(tables.weights)
    path = best_states(tie_twins(cues, evidence, costs, opening), costs, opening)
    runs = _smooth(path.tolist(), events)
    ends = phrase_ends(line)
    regions = [
        _region(score, placed, cues, line, ends, evidence, first, last, state)
        for first, last, state in runs
    ]
    return _tiled(score, placed, cues, regions, runs)


def _smooth(path: Sequence[int], events: Sequence[ChordEvent]) -> list[tuple[int, int, int]]:
    """Runs of one state, first and one past the last event.

    Short changes of mode are undone, and one short chord is no key of its own.
    """
    runs: list[list[int]] = []
    for at, state in enumerate(path):
        if runs and runs[-1][2] == state:
            runs[-1][1] = at + 1
        else:
            runs.append([at, at + 1, state])
    while True:
        short: list[tuple[float, int, int, list[int]]] = []
        for number, (first, last, state) in enumerate(runs):
            length = events[last - 1].end - events[first].start
            near = [other for other in (number - 1, number + 1) if 0 <= other < len(runs)]
            alike = [other for other in near if runs[other][2] // 2 == state // 2]
            if length < _SHORTEST_MODE and (alike or (near and last - first == 1)):
                short.append((length, -len(alike), number, alike or near))
        if not short:
            return [(first, last, state) for first, last, state in runs]
        # The shortest first, and of two as short the one that stands in another.
        *_, number, into = min(short)
        runs[number][2] = runs[into[0]][2]
        runs = _joined(runs)


def _joined(runs: Sequence[Sequence[int]]) -> list[list[int]]:
    joined: list[list[int]] = []
    for first, last, state in runs:
        if joined and joined[-1][2] == state:
            joined[-1][1] = last
        else:
            joined.append([first, last, state])
    return joined


def _region(
    score: Score,
    placed: Sequence[PlacedChord],
    cues: Cues,
    line: Sequence[HeldNote],
    ends: Sequence[HeldNote],
    evidence: Floats,
    first: int,
    last: int,
    state: int,
) -> KeyRegion:
    """One region with its key named and spelled, its evidence and its rivals."""
    events = cues.events[first:last]
    inside = placed[events[0].first : events[-1].last + 1]
    key = Key(_spell(state // 2, state % 2, inside), "minor" if state % 2 else "major")
    if key.is_minor_like and other_third(key, inside) > _MAJOR_TONIC:
        key = Key(key.tonic, "major")  # a blues that sings the lowered third is no minor key
    key = Key(key.tonic, _name_mode(key, inside))
    span = Span(inside[0].span.start, inside[-1].span.end)
    belief, rivals = _weigh(key, _chances(evidence[first:last]), inside, open_readings(key, events))
    parallel = parallel_reading(key, inside, line)
    if parallel is not None:
        other = parallel[0], min(parallel[1], _MOST_PARALLEL) * belief
        rivals = tuple(sorted((*rivals, other), key=lambda rival: -rival[1]))
    return KeyRegion(
        span=span,
        key=key,
        confidence=belief,
        alternatives=rivals,
        evidence=explain_region(key, span, inside, ends, score),
    )


def _weigh(
    key: Key, chances: Floats, placed: Sequence[PlacedChord], open_to: Sequence[Key]
) -> tuple[float, tuple[tuple[Key, float], ...]]:
    """How far a key is believed, and the other readings with what is left for them, best first.

    A loop that leaves its key open (``open_to`` its other keys) is never believed quite.
    """
    least, most = _BELIEF
    belief = least + (most - least) * float(chances[key.tonic.pc].sum())
    rivals: dict[Key, float] = {}
    for other in np.argsort(-chances.max(axis=1))[:4]:
        tonic, mode = int(other), int(chances[other].argmax())
        if tonic != key.tonic.pc:
            rival = Key(_spell(tonic, mode, placed), "minor" if mode else "major")
            rival = Key(rival.tonic, _name_mode(rival, placed))
            rivals[rival] = float(chances[other].sum())
    if open_to:
        belief = min(belief, _OPEN_BELIEF)
        rivals |= dict.fromkeys(open_to, 10.0)
    scale = (1 - belief) / max(sum(rivals.values()), 1e-9)
    ranked = sorted(rivals.items(), key=lambda one: -one[1])
    offered = ((rival, chance * scale) for rival, chance in ranked)
    return belief, tuple(one for one in offered if one[1] >= _LEAST_READING)


def _chances(evidence: Floats) -> Floats:
    """(12, 2) odds of every key over a region, cautious where it is short."""
    total = evidence.sum(axis=0) / _CAUTION
    odds = np.exp(total - total.max())
    return np.asarray((odds / odds.sum()).reshape(12, 2))


def _spell(tonic: int, mode: int, placed: Sequence[PlacedChord]) -> PitchName:
    """The name of a tonic whose scale lies nearest the chords as written."""
    centre = -1 if mode else 2

    time: defaultdict[int, float] = defaultdict(float)
    for one in placed:
        if one.chord is not None:
            time[one.chord.root.fifths] += float(one.span.duration)

    def distance(fifths: int) -> float:
        return sum(length * abs(root - fifths - centre) for root, length in time.items())

    near = [fifths for fifths in range(-15, 20) if fifths * 7 % 12 == tonic]
    return PitchName(min(near, key=lambda fifths: (distance(fifths), abs(fifths + centre))))


def _name_mode(key: Key, placed: Sequence[PlacedChord]) -> Mode:
    """The mode that the tones of a region's chords tell, by the degrees in which modes differ."""
    weight = np.zeros(12)
    total = 0.0
    for one in placed:
        if one.chord is None:
            continue
        length = float(one.span.duration)
        total += length
        for tone in one.chord.tones:
            # A seventh on I or IV is colour (blues); on other chords it belongs to the scale.
            interval = (one.chord.root.pc - key.tonic.pc) % 12
            is_seventh = (tone.pc - one.chord.root.pc) % 12 in (9, 10, 11)
            if not (is_seventh and interval in (0, 5)):
                weight[(tone.pc - key.tonic.pc) % 12] += length

    def clear(altered: int, plain: int) -> bool:
        enough = weight[altered] > _HEARD * total
        return bool(enough and weight[altered] > _CLEARLY * weight[plain])

    if not key.is_minor_like:
        # Where the lowered sixth is as common, both are borrowed from minor.
        if clear(10, 11) and weight[10] > weight[8]:
            return "mixolydian"
        return "lydian" if clear(6, 5) else "major"
    if clear(1, 2) and not clear(9, 8):
        return "phrygian"
    return "dorian" if clear(9, 8) else "minor"


def _tiled(
    score: Score,
    placed: Sequence[PlacedChord],
    cues: Cues,
    regions: Sequence[KeyRegion],
    runs: Sequence[tuple[int, int, int]],
) -> tuple[KeyRegion, ...]:
    """The regions stretched to tile the piece, with how each change came about."""
    starts = [Offset(0), *(region.span.start for region in regions[1:])]
    ends = [*starts[1:], score.end]
    tiled: list[KeyRegion] = []
    for number, region in enumerate(regions):
        span = Span(starts[number], ends[number])
        before, first = tiled[-1] if tiled else None, runs[number][0]
        change, why = change_of(placed, before, region)
        lift = find_lift(score, placed, cues, first) if change else None
        told = (lift,) if lift is not None else ()
        tiled.append(
            replace(
                region,
                span=span,
                change=change,
                evidence=(*told, *why, *region.evidence),
                lift=lift.statement if lift is not None else "",
            )
        )
    return tuple(tiled)
