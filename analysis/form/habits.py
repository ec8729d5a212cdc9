"""Habits: what a piece does again and again is said once, with its other places.

The task: a listener who is told for the fifteenth time that the bass falls as it fell before stops
listening. Where more marks than a handful claim the same, a teacher says it at the first place and
adds that it is a habit.

Method
------
Marks claim the same where nothing but their place, their words and the names of measures differ:
the same cadence, the same notes in a line (or a piece of them), the same two chords changing places
under a melody that comes back, the same degree sung against the harmony. Up to `MOST` such marks
all stay. Of more the first stays, says how many there are and lists their places; the confidence
of the others goes below what is shown by default. Keys, sections and chords are the frame in which
all the rest is found and are never folded. The facts behind the marks stay as they are.

Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from analysis.marks import DEFAULT_CONFIDENCE, Evidence, Line, Mark, MelodyFact, Repeat
from analysis.melody.melody_wording import measures_text
from analysis.score import Score

#: So many marks that claim the same are all shown; more of what belongs to its very words, a third
#: that wavers or an instrument's answer to a line.
MOST: Final = 3
_MOST_OF: Final = {"mixed third": 5, "echo": 6}
#: Confidence that a mark keeps at most where another speaks for it.
FOLDED: Final = 0.45
_FRAME: Final = frozenset({"key", "section", "chord", "query"})
_PLACES: Final = re.compile(
    r"On “[^”]*”, |From “[^”]*” on, |“[^”]*”|\bmeasures? \S+|[\d.]+ quarter"
)
_MOST_WORDS: Final = 30

_Claim = tuple[object, ...]


def fold_habits(score: Score, marks: Sequence[Mark]) -> tuple[Mark, ...]:
    """The same marks in the same order, those that say what was said too often folded.

    Parameters
    ----------
    marks
        All marks of a piece, in any order.

    Returns
    -------
    tuple of Mark
        As many as before, with the same ids. Of each habit the first mark has one more evidence,
        whose elements are those of the others.
    """
    groups: list[list[Mark]] = []
    claims: dict[_Claim, list[Mark]] = {}
    lines: list[list[Mark]] = []
    told = (
        mark for mark in marks if mark.kind not in _FRAME and mark.confidence >= DEFAULT_CONFIDENCE
    )
    for mark in sorted(told, key=lambda one: (one.span, one.id)):
        if isinstance(mark.fact, Line):
            group = _same_line(mark, lines)
        else:
            group = claims.setdefault(_claim(mark), [])
        if not group:
            groups.append(group)
        group.append(mark)
    changed = {
        mark.id: mark
        for group in groups
        if len(group) > _most(group[0])
        for mark in _folded(score, group)
    }
    return tuple(changed.get(mark.id, mark) for mark in marks)


def _most(mark: Mark) -> int:
    """How many marks like this are all shown; what the melody echoes of itself is its style."""
    if mark.kind == "echo" and mark.sentence.startswith("The melody"):
        return MOST
    return _MOST_OF.get(mark.kind, MOST)


def _claim(mark: Mark) -> _Claim:
    """What a mark says, whatever its place."""
    fact = mark.fact
    if isinstance(fact, Repeat) and fact.differences:
        told = next((one for one in fact.differences if one.roles), fact.differences[0])
        return (mark.kind, frozenset({told.was, told.now}))
    if isinstance(fact, MelodyFact):
        return (mark.kind, mark.label, fact.blue or fact.role)
    if mark.kind in ("cadence", "rhythm"):
        return (mark.kind, mark.label)
    return (mark.kind, mark.label, mark.parts, _PLACES.sub("", mark.sentence).lower())


def _same_line(mark: Mark, lines: list[list[Mark]]) -> list[Mark]:
    """The group of a line: that of an earlier one with its notes, or with a piece of them."""
    row, voice = _row(mark), _voice(mark)
    for group in lines:
        if voice == _voice(group[0]) and any(
            _holds(_row(other), row) or _holds(row, _row(other)) for other in group
        ):
            return group
    lines.append([])
    return lines[-1]


def _row(mark: Mark) -> tuple[int, ...]:
    """The pitch classes of a line; of anything else none."""
    return tuple(name.pc for name in mark.fact.notes) if isinstance(mark.fact, Line) else ()


def _voice(mark: Mark) -> _Claim:
    """Which voice moves, and how: the sentence says so before it names the notes."""
    return (mark.kind, mark.parts, mark.sentence.partition(":")[0])


def _holds(row: Sequence[int], piece: Sequence[int]) -> bool:
    """Whether a row has a piece in it, without a gap."""
    count = len(piece)
    return any(tuple(row[at : at + count]) == tuple(piece) for at in range(len(row) - count + 1))


def _folded(score: Score, group: Sequence[Mark]) -> list[Mark]:
    """The first of a group with the others listed, and the others below what is shown.

    Of lines the longest is taken, which holds the others.
    """
    first = max(group, key=lambda mark: len(_row(mark)))
    others = [mark for mark in group if mark is not first]
    numbers = [score.measure_at(mark.span.start).number for mark in others]
    elements = tuple(dict.fromkeys(one for mark in others for one in mark.elements))
    more = Evidence(f"The same comes in {measures_text(numbers)} too.", elements)
    sentence = f"{first.sentence} One of {len(group)} such places."
    if len(sentence.split()) > _MOST_WORDS:
        sentence = first.sentence
    return [
        replace(first, sentence=sentence, evidence=(*first.evidence, more)),
        *(replace(mark, confidence=min(mark.confidence, FOLDED)) for mark in others),
    ]
