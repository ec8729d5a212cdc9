"""The words sung under each mark, so that a mark can be found and told by its lyric."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import replace

from analysis.marks import Mark
from analysis.vocabulary.voices import HeldNote, SungWord, join_words, sung_words


def add_words(
    marks: Iterable[Mark],
    line: Sequence[HeldNote],
    words: Sequence[SungWord | None] | None = None,
) -> tuple[Mark, ...]:
    """The marks with the words sung from their beginning on; those that have words keep them.

    Parameters
    ----------
    line
        The melody in order of time. A word that is still sung where a mark begins counts.
    words
        The words sung on its notes, where they are at hand.
    """
    onsets = [float(note.onset) for note in line]
    words = sung_words(line) if words is None else words
    named = []
    for mark in marks:
        if not mark.words:
            first = bisect_left(onsets, float(mark.span.start))
            if first > 0 and line[first - 1].end > mark.span.start:
                first -= 1
            last = max(bisect_left(onsets, float(mark.span.end)), first)
            mark = replace(mark, words=join_words(words[first:last]))
        named.append(mark)
    return tuple(named)
