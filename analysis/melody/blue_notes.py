"""Blue notes gathered: thirds that waver between natural and lowered, and runs of one blue note.

The task is to fold what a listener hears as one wavering third into one group: the lowered thirds
sung against a major chord or key and the natural ones close by, each with what it goes to. Lowered
thirds without a natural one near them stay single.

Method
------
All thirds of the melody are walked in order of time. A lowered one wavers if a natural one is at
most a beat away, other lowered ones between them not counted. Thirds belong together where at most
a measure lies between them; a run with both forms in it is a group, cut down to one natural third
before the first lowered one and one after the last.

References
----------
D. Temperley, I. Ren & Z. Duan, "Mediant mixture and ‘blue notes’ in rock", *Music Theory Online*
23.1, 2017.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

from analysis.marks import MelodyFact, Section
from analysis.pitch import PitchName
from analysis.timebase import Fraction, Offset, Span
from analysis.vocabulary.chord_rows import ChordRow

#: Quarter notes between a lowered third and the natural one beside which it wavers.
_BESIDE: Final = Fraction(1)
#: Places of one blue degree that are each marked by themselves.
_SINGLE: Final = 3
#: Quarter notes of silence or other notes that may lie between two thirds of one group.
_NEAR: Final = Fraction(4)


@dataclass(frozen=True, slots=True)
class MixedThird:
    """One group: indexes into the melody of all its thirds, and which of them are lowered."""

    span: Span
    at: tuple[int, ...]
    lowered: tuple[bool, ...]


def find_mixed_thirds(facts: Sequence[MelodyFact], row: ChordRow) -> tuple[MixedThird, ...]:
    """Groups of natural and lowered thirds, in order of time, no note in two of them.

    Parameters
    ----------
    facts
        The melody in order of time.
    row
        Chords and keys, to know the natural third.
    """
    if not any(fact.blue == "3" for fact in facts):
        return ()
    thirds = [at for at, fact in enumerate(facts) if _is_third(fact, row)]
    runs: list[list[int]] = []
    for place, at in enumerate(thirds):
        if facts[at].blue == "3" and not _beside_natural(facts, thirds, place):
            continue
        if runs and _gap(facts[runs[-1][-1]], facts[at]) <= _NEAR:
            runs[-1].append(at)
        else:
            runs.append([at])
    groups = (_trimmed(facts, run) for run in runs)
    return tuple(group for group in groups if group is not None)


def _beside_natural(facts: Sequence[MelodyFact], thirds: Sequence[int], place: int) -> bool:
    """Whether a natural third is near a lowered one, before or after it, or near one near it."""
    for way in (-1, 1):
        here, other = facts[thirds[place]], place + way
        while 0 <= other < len(thirds):
            fact = facts[thirds[other]]
            if (_gap(fact, here) if way < 0 else _gap(here, fact)) > _BESIDE:
                break
            if fact.blue != "3":
                return True
            here, other = fact, other + way
    return False


def _gap(left: MelodyFact, right: MelodyFact) -> Offset:
    return right.span.start - left.span.end


def find_blue_runs(
    facts: Sequence[MelodyFact], told: Collection[int] = ()
) -> tuple[tuple[int, ...], ...]:
    """The other blue notes: those of one degree and pitch that follow closely, as one run each.

    Parameters
    ----------
    facts
        The melody in order of time.
    told
        Indexes of notes that are in a group or passage already.
    """
    runs: list[list[int]] = []
    latest: dict[tuple[str, int], list[int]] = {}
    for at, fact in enumerate(facts):
        if not fact.blue or at in told:
            continue
        claim = (fact.blue, fact.pitch.midi)
        run = latest.get(claim)
        if run is not None and fact.span.start - facts[run[-1]].span.end <= _NEAR:
            run.append(at)
        else:
            latest[claim] = [at]
            runs.append(latest[claim])
    return tuple(tuple(run) for run in runs)


def gather_blue_runs(
    facts: Sequence[MelodyFact],
    runs: Sequence[tuple[int, ...]],
    sections: Sequence[Section],
) -> tuple[list[tuple[int, ...]], list[tuple[Section, tuple[int, ...]]]]:
    """Blue notes gathered by section where a piece has more places of one degree than a handful.

    Parameters
    ----------
    facts, runs
        The melody, and what `find_blue_runs` found in it.
    sections
        In order of time; may be empty.

    Returns
    -------
    tuple
        The runs that stand by themselves, and for each section and pitch name of a degree with
        several runs the indexes of all their notes.
    """
    places = Counter(facts[run[0]].blue for run in runs)
    starts = [section.span.start for section in sections]
    single: list[tuple[int, ...]] = []
    groups: dict[tuple[int, str, PitchName], list[tuple[int, ...]]] = {}
    for run in runs:
        fact = facts[run[0]]
        section = bisect_right(starts, fact.span.start) - 1
        if places[fact.blue] <= _SINGLE or section < 0:
            single.append(run)
        else:
            groups.setdefault((section, fact.blue, fact.pitch.name), []).append(run)
    gathered = []
    for (section, _, _), members in groups.items():
        if len(members) == 1:
            single += members
        else:
            at = tuple(sorted(index for run in members for index in run))
            gathered.append((sections[section], at))
    return single, gathered


def _is_third(fact: MelodyFact, row: ChordRow) -> bool:
    if fact.blue == "3":
        return True
    key = row.key_at(fact.span.start)
    return key is not None and (fact.pitch.midi - key.tonic.pc) % 12 == 4


def _trimmed(facts: Sequence[MelodyFact], run: Sequence[int]) -> MixedThird | None:
    """The run from the natural third before its first lowered one to that after its last."""
    lowered = [facts[at].blue == "3" for at in run]
    if all(lowered) or not any(lowered):
        return None
    first = max(lowered.index(True) - 1, 0)
    last = min(len(run) - lowered[::-1].index(True) + 1, len(run))
    at, low = tuple(run[first:last]), tuple(lowered[first:last])
    return MixedThird(Span(facts[at[0]].span.start, facts[at[-1]].span.end), at, low)
