"""The words sung under each mark, so that a mark can be found and told by its lyric."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import replace

from analysis.marks import Mark
from analysis.timebase import Span
from analysis.vocabulary.voices import HeldNote, SungWord, join_words, sung_words


class SungLine:
    """A melody with its words, to be asked for those sung in a span.

    Parameters
    ----------
    line
        The melody in order of time.
    words
        The words sung on its notes, where they are at hand.
    """

    def __init__(
        self, line: Sequence[HeldNote], words: Sequence[SungWord | None] | None = None
    ) -> None:
        self._line = line
        self._words = sung_words(line) if words is None else words
        # Equal fractions are equal floats, which compare much faster.
        self._onsets = [float(note.onset) for note in line]

    def words_in(self, span: Span) -> str:
        """The words that begin in a span."""
        first, last = (bisect_left(self._onsets, float(at)) for at in (span.start, span.end))
        return join_words(self._words[first:last])

    def words_from(self, span: Span) -> str:
        """The words of a span, that which is still sung where it begins among them."""
        first = bisect_left(self._onsets, float(span.start))
        if first > 0 and self._line[first - 1].end > span.start:
            first -= 1
        last = max(bisect_left(self._onsets, float(span.end)), first)
        return join_words(self._words[first:last])

    def add_to(self, marks: Iterable[Mark]) -> tuple[Mark, ...]:
        """The marks with the words sung from their beginning; those that have words keep them."""
        found = ((mark, mark.words or self.words_from(mark.span)) for mark in marks)
        return tuple(
            replace(mark, words=words) if words != mark.words else mark for mark, words in found
        )
