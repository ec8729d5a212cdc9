"""Sections of the form, from the rehearsal marks that are written.

The task: one section for each rehearsal mark, and a letter for each that like-named ones share.

Conventions. A name is kept as printed. What stands before the first mark is a section of its own,
unless it is a mere pickup, which belongs to the first section. Names are alike when they differ
only in numbers and in words that count or place (*Verse 1*, *Verse 2*; *Chorus*, *Last chorus*).
A printed letter is its own form letter (*A*, *A2* and *A'* are A); other names get the letters
that are not printed, in order of appearance.

References
----------
Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from string import ascii_uppercase
from typing import Final

from analysis.marks import Evidence, Section
from analysis.score import RehearsalMark, Score
from analysis.timebase import Offset, Span

#: Words that say which one of several, and not what it is.
_COUNTING: Final = frozenset(
    {"a", "again", "an", "another", "cont", "continued", "double", "final", "first", "fourth"}
    | {"half", "last", "long", "new", "next", "one", "other", "repeat", "reprise", "second"}
    | {"short", "the", "third", "three", "two", "with", "without"}
)


def find_written_sections(score: Score) -> tuple[Section, ...]:
    """The sections that rehearsal marks name; empty where there are none.

    Returns
    -------
    tuple of Section
        In order, tiling the piece.
    """
    marks = list(_one_each(score.rehearsal_marks))
    if not marks:
        return ()
    starts = [mark.onset for mark in marks]
    names = [mark.text.strip() for mark in marks]
    if starts[0] <= _end_of_pickup(score):
        starts[0] = score.span.start
    else:
        starts, names = [score.span.start, *starts], ["", *names]
    letters = share_letters(names)
    return tuple(
        Section(Span(start, end), letter, name, bool(name), _reason(name))
        for (start, end), name, letter in zip(
            pairwise([*starts, score.end]), names, letters, strict=True
        )
    )


def share_letters(names: Sequence[str]) -> list[str]:
    """A form letter for each name, in order; like names share one.

    Examples
    --------
    >>> share_letters(["Intro", "Verse 1", "Chorus", "Verse 2", "Last chorus"])
    ['A', 'B', 'C', 'B', 'C']
    >>> share_letters(["", "A", "B", "A2"])
    ['C', 'A', 'B', 'A']
    """
    kinds = [_kind(name) for name in names]
    printed = {kind for kind in kinds if len(kind) == 1}
    free = (letter for letter in _letters() if letter not in printed)
    letters: dict[str, str] = {kind: kind for kind in printed}
    row = []
    for kind in kinds:
        if kind not in letters:
            letters[kind] = next(free)
        row.append(letters[kind])
    return row


def _letters() -> Iterator[str]:
    """A to Z, then A1 to Z1 and so on."""
    yield from ascii_uppercase
    count = 1
    while True:
        yield from (f"{letter}{count}" for letter in ascii_uppercase)
        count += 1


def _kind(name: str) -> str:
    """What a section is, without which one of several it is: ``Verse 2`` is ``VERSE``."""
    letter = re.fullmatch(r"([A-Za-z])\W*\d*\W*", name.strip())
    if letter is not None:
        return letter[1].upper()
    words = re.sub(r"\(.*?\)|\d+(st|nd|rd|th)?\b", " ", name.lower())
    words = re.sub(r"\b(pre|post)[\s-]+", r"\1", words)
    told = [word for word in re.findall(r"[^\W\d_]+", words) if word not in _COUNTING]
    return " ".join(told).upper() or name.strip()


def _one_each(marks: Iterable[RehearsalMark]) -> Iterator[RehearsalMark]:
    """The first mark with a text at each place, in order of time."""
    last: Offset | None = None
    for mark in sorted(marks, key=lambda mark: mark.onset):
        if mark.text.strip() and mark.onset != last:
            last = mark.onset
            yield mark


def _end_of_pickup(score: Score) -> Offset:
    first = score.measures[0]
    return first.span.end if first.pickup or first.length < first.meter.length else first.onset


def _reason(name: str) -> tuple[Evidence, ...]:
    if name:
        return (Evidence(f"A rehearsal mark says “{name}”."),)
    return (Evidence("It comes before the first rehearsal mark."),)
