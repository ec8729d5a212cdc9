"""Measures of the whole score: how long each really is, and what is in force in it.

The task: bring the parts together measure by measure. Parts do not always agree on how long a
measure is (one of them is incomplete, or its rests say too much), and a part that falls behind must
not pull all that follows out of step.

Conventions: a measure is as long as the notes in the fullest of its parts, unless more parts keep
to the meter than exceed it. Rests and empty space fill it up to its meter and no further. In a
pickup only notes and plain rests count, since rests for the whole measure are written there as
well. Differences from the meter of less than a 32nd note come of rounding or of a slip in one voice
and are dropped. A short measure is a pickup where it is the first one, is implicit, or completes a
short one just before it (common practice, no source).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple
from xml.etree.ElementTree import Element

from analysis.reading.elements import Transposition
from analysis.reading.jumps import played_order, read_signs
from analysis.reading.walks import WrittenMeasure, WrittenPart
from analysis.score import KeySignature, Measure
from analysis.timebase import Fraction, Meter, Offset

#: Differences from the meter that are slips: less than a 32nd note, in quarter notes.
_SLIP: Final = Fraction(1, 8)


class Occurrence(NamedTuple):
    """An element with its place in the score. ``part`` is the id of the part it stands in."""

    onset: Offset
    part: str
    element: Element
    transposition: Transposition


def read_measures(parts: Sequence[WrittenPart]) -> tuple[Measure, ...]:
    """All measures with their places, as many as the longest part has.

    Parameters
    ----------
    parts
        The walked parts; the first of them says number, meter and whether a measure is implicit.
    """
    made: list[Measure] = []
    meter = Meter(4, 4)
    onset = Fraction(0)
    for index, column in enumerate(_columns(parts)):
        meter = next((measure.meter for measure in column if measure.meter is not None), meter)
        may_be_short = index == 0 or column[0].implicit
        length = _length(column, meter, may_be_short)
        before = made[-1] if made else None
        completes = (
            before is not None
            and not before.pickup
            and before.length < before.meter.length
            and before.length + length == meter.length
        )
        made.append(
            Measure(
                index=index,
                number=column[0].number,
                onset=onset,
                length=length,
                meter=meter,
                id=column[0].id,
                ids=tuple(measure.id for measure in column),
                pickup=length < meter.length and (may_be_short or completes),
            )
        )
        onset += length
    return tuple(made)


def _columns(parts: Sequence[WrittenPart]) -> Iterator[list[WrittenMeasure]]:
    """For each measure, what every part that reaches so far has there."""
    for index in range(max((len(part.measures) for part in parts), default=0)):
        yield [part.measures[index] for part in parts if index < len(part.measures)]


def _length(column: Sequence[WrittenMeasure], meter: Meter, may_be_short: bool) -> Offset:
    """How long a measure really is, from what its parts hold."""
    notes = max(measure.notes_end for measure in column)
    rests = max(measure.rests_end for measure in column)
    overfull = sum(measure.notes_end > meter.length for measure in column)
    ends = [max(measure.notes_end, measure.rests_end) for measure in column]
    if ends.count(meter.length) > overfull:
        notes = min(notes, meter.length)
    if not notes or not may_be_short:
        rests = max(rests, *(max(measure.whole_rests_end, measure.space_end) for measure in column))
    length = max(notes, min(rests, meter.length)) or meter.length
    return meter.length if abs(length - meter.length) < _SLIP else length


def read_played(parts: Sequence[WrittenPart]) -> tuple[int, ...]:
    """Played order, from the signs of all parts together."""
    return played_order(
        [
            read_signs(
                [barline for measure in column for barline in measure.barlines],
                [placed.element for measure in column for placed in measure.directions],
            )
            for column in _columns(parts)
        ]
    )


def read_key_signatures(
    parts: Sequence[WrittenPart], measures: Sequence[Measure]
) -> tuple[KeySignature, ...]:
    """Sounding key signatures where they change; what most parts say at a place counts.

    Percussion has no say, unless there is nothing else: its signature is often left empty.
    """
    votes: dict[Offset, Counter[tuple[int, str]]] = {}
    for part in [part for part in parts if not part.percussion_clef] or parts:
        for measure, written in zip(measures, part.measures, strict=False):
            for key in written.keys:
                at = measure.onset + key.onset
                votes.setdefault(at, Counter())[(key.fifths, key.mode)] += 1
    changes: list[KeySignature] = []
    for at in sorted(votes):
        fifths, mode = votes[at].most_common(1)[0][0]
        if not changes or (changes[-1].fifths, changes[-1].mode) != (fifths, mode):
            changes.append(KeySignature(at, fifths, mode))
    return tuple(changes)


def placed_harmonies(parts: Sequence[WrittenPart], measures: Sequence[Measure]) -> list[Occurrence]:
    """All harmonies by onset, then by part; none lies past the end."""
    return _placed(parts, measures, "harmonies")


def placed_directions(
    parts: Sequence[WrittenPart], measures: Sequence[Measure]
) -> list[Occurrence]:
    """All directions and sounds that matter, by onset, then by part; none lies past the end."""
    return _placed(parts, measures, "directions")


def _placed(
    parts: Sequence[WrittenPart], measures: Sequence[Measure], kind: str
) -> list[Occurrence]:
    end = measures[-1].span.end
    found = [
        Occurrence(min(measure.onset + at, end), part.id, element, transposition)
        for part in parts
        for measure, written in zip(measures, part.measures, strict=False)
        for at, element, transposition in getattr(written, kind)
    ]
    found.sort(key=lambda occurrence: occurrence.onset)
    return found
