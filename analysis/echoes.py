"""Echoes: a short figure of the melody taken up by another part.

The task: find where an instrument or a backing voice answers the melody, with the same notes, moved
to another pitch or octave, or in another rhythm; or where the melody itself takes a figure up at
another pitch.

Method. A figure is three notes or more that follow each other without a long rest. For every note
of the answering line, figures of the melody that began up to two measures before are laid on it,
and both are followed as long as they go on alike: in the distances between their notes' beginnings
and in the steps of the scale (one step may differ), or in exact intervals alone where the rhythm is
another. How much that says is counted in bits: a distance or a step that the answering line has
rarely says more than one that it has all the time, and an answer says more while the melody holds
still, and at the model's own place in the measure. Chance agreements stay below `LEAST_BITS`;
figures that the line plays anyway, over and over, are left out. What moves in parallel with the
melody is company and no echo.

What it cannot do: answers that keep neither rhythm nor intervals, and echoes after more than two
measures.

References
----------
Common practice, no source; the measure of surprise is Shannon's.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import log2
from typing import Final

from analysis.score import Score
from analysis.timebase import Offset, Span
from analysis.voices import HeldNote

LEAST_BITS: Final = 8.5
#: Within the melody itself more must agree: like figures belong to its style.
_LEAST_BITS_WITHIN: Final = 20.0
_LEAST_NOTES: Final = 3
_LEAST_NOTES_WITHIN: Final = 5
_LEAST_NOTES_OTHER_RHYTHM: Final = 4
_MOST_NOTES: Final = 12
#: A rest of so many quarters ends a figure.
_REST: Final = Fraction(2)
#: An answer begins at most so many measures after its model.
_MEASURES_LATER: Final = 2
#: A step that differs takes away as much.
_PRICE_OF_A_STEP: Final = 3.5
#: A figure that the line also has so often without a model is its own pattern.
_OWN_PATTERN: Final = 3
#: Bits for an answer while the melody holds still, and for one at the same pitches; bits taken for
#: the choice of a place, more where the answer does not stand at its model's place of the measure.
_WHILE_IT_RESTS: Final = 3.0
_SAME_PITCHES: Final = 2.0
_SAME_PLACE: Final = 1.0
_OTHER_PLACE: Final = 4.0


@dataclass(frozen=True, slots=True)
class Echo:
    """A figure and its echo, note by note.

    Parameters
    ----------
    model, answer
        The notes of both; equally many.
    same_rhythm
        Whether the distances between their beginnings agree.
    steps
        From the model's first note to the answer's, in steps of the scale; octaves are seven.
    half_steps
        The same in half steps.
    exact
        Whether all intervals agree in half steps.
    bits
        How much the agreement says.
    """

    model: tuple[HeldNote, ...]
    answer: tuple[HeldNote, ...]
    same_rhythm: bool
    steps: int
    half_steps: int
    exact: bool
    bits: float

    @property
    def span(self) -> Span:
        """From the answer's first note to the end of its last."""
        return Span(self.answer[0].onset, self.answer[-1].end)


def find_echoes(
    score: Score, melody: Sequence[HeldNote], others: Sequence[Sequence[HeldNote]]
) -> tuple[Echo, ...]:
    """Echoes of the melody, in order of time.

    Parameters
    ----------
    score
        For its measures.
    melody
        The melody as one line.
    others
        The lines that may answer it.
    """
    found: list[Echo] = []
    for line in (*others, melody):
        if len(line) >= _LEAST_NOTES and melody:
            found += _best(list(_Answers(score, tuple(melody), tuple(line)).find()))
    return tuple(sorted(found, key=lambda echo: (echo.span, echo.answer[0].part)))


def _best(echoes: Sequence[Echo]) -> Iterator[Echo]:
    """Of echoes whose answers overlap, the one that says most."""
    taken: list[Span] = []
    for echo in sorted(echoes, key=lambda echo: (-echo.bits, echo.span)):
        if not any(echo.span.overlaps(span) for span in taken):
            taken.append(echo.span)
            yield echo


@dataclass(frozen=True, slots=True)
class _Move:
    """From one note of a line to the next."""

    distance: Offset
    step: int
    half_steps: int


def _move(first: HeldNote, later: HeldNote) -> _Move:
    return _Move(
        later.onset - first.onset,
        later.pitch.diatonic - first.pitch.diatonic,
        later.midi - first.midi,
    )


class _Answers:
    """One line held against the melody."""

    def __init__(
        self, score: Score, melody: tuple[HeldNote, ...], line: tuple[HeldNote, ...]
    ) -> None:
        self._score = score
        self._melody = melody
        self._line = line
        self._within = line == melody
        self._onsets = [note.onset for note in melody]
        self._sung = {note.onset: note for note in melody}
        self._moves = [_move(*pair) for pair in pairwise(line)]
        self._distances = Counter(move.distance for move in self._moves)
        self._steps = Counter(move.step for move in self._moves)

    def find(self) -> Iterator[Echo]:
        """Everything that agrees enough, overlapping answers too."""
        least = _LEAST_BITS_WITHIN if self._within else LEAST_BITS
        for at, note in enumerate(self._line):
            longest = _MEASURES_LATER * self._score.measure_at(note.onset).meter.length
            start = bisect_left(self._onsets, note.onset - longest)
            candidates = [
                echo
                for model in range(start, bisect_left(self._onsets, note.onset))
                for echo in (self._alike(model, at), self._in_another_rhythm(model, at))
                if echo is not None and echo.bits >= least
            ]
            if self._within:
                candidates = [echo for echo in candidates if echo.steps % 7]
            if candidates:
                best = max(candidates, key=lambda echo: (echo.bits, echo.model[0].onset))
                if not self._is_company(best) and not self._is_own_pattern(best, at):
                    yield best

    def _alike(self, model: int, answer: int) -> Echo | None:
        """The figures from two notes on, as long as rhythm and steps agree but for one step."""
        bits = self._start(model, answer)
        best, best_bits, length, misses = 0, 0.0, 1, 0
        for move, mine in self._pairs(model, answer):
            if move.distance != mine.distance:
                break
            bits += self._surprise(self._distances, mine.distance)
            if abs(move.half_steps - mine.half_steps) <= 1 and move.step == mine.step:
                bits += self._surprise(self._steps, mine.step)
            else:
                misses += 1
                bits -= _PRICE_OF_A_STEP
            if misses > 1:
                break
            length += 1
            if bits > best_bits:
                best, best_bits = length, bits
        least = _LEAST_NOTES_WITHIN if self._within else _LEAST_NOTES
        return self._echo(model, answer, best, best_bits, True) if best >= least else None

    def _in_another_rhythm(self, model: int, answer: int) -> Echo | None:
        """The figures from two notes on, as long as they have the same pitch classes."""
        if self._within or (self._line[answer].midi - self._melody[model].midi) % 12:
            return None
        bits, length, other = self._start(model, answer), 1, False
        for move, mine in self._pairs(model, answer):
            if move.half_steps != mine.half_steps or mine.step == 0:
                break
            bits += self._surprise(self._steps, mine.step)
            other = other or move.distance != mine.distance
            length += 1
        if length < _LEAST_NOTES_OTHER_RHYTHM or not other:
            return None
        return self._echo(model, answer, length, bits, False)

    def _pairs(self, model: int, answer: int) -> Iterator[tuple[_Move, _Move]]:
        """Moves of both figures side by side, until one rests or the model reaches the answer."""
        begin = self._line[answer].onset
        for ahead in range(
            min(_MOST_NOTES, len(self._line) - answer, len(self._melody) - model) - 1
        ):
            one, two = self._melody[model + ahead], self._melody[model + ahead + 1]
            mine, next_mine = self._line[answer + ahead], self._line[answer + ahead + 1]
            if two.onset - one.end >= _REST or next_mine.onset - mine.end >= _REST:
                return
            if two.onset > begin:
                return
            yield _move(one, two), _move(mine, next_mine)

    def _surprise(self, known: Counter[Offset] | Counter[int], value: Offset | int) -> float:
        """Bits that a distance or step says, by how often the answering line has it."""
        total = sum(known.values())
        return -log2((known[value] + 0.5) / (total + 1.0))  # type: ignore[index]

    def _start(self, model: int, answer: int) -> float:
        """Bits that the place of two notes takes away."""
        measure = self._score.measure_at(self._melody[model].onset)
        later = self._line[answer].onset - self._melody[model].onset
        return -(_SAME_PLACE if later % measure.length == 0 else _OTHER_PLACE)

    def _echo(self, model: int, answer: int, length: int, bits: float, rhythm: bool) -> Echo:
        one = self._melody[model : model + length]
        two = self._line[answer : answer + length]
        half_steps = two[0].midi - one[0].midi
        exact = all(b.midi - a.midi == half_steps for a, b in zip(one, two, strict=True))
        if exact and half_steps % 12 == 0 and self._start(model, answer) == -_SAME_PLACE:
            bits += _SAME_PITCHES
        return Echo(
            model=one,
            answer=two,
            same_rhythm=rhythm,
            steps=two[0].pitch.diatonic - one[0].pitch.diatonic,
            half_steps=half_steps,
            exact=exact,
            bits=bits + self._stillness(two),
        )

    def _stillness(self, answer: Sequence[HeldNote]) -> float:
        """Bits for a melody that begins no note, or one, after the answer has begun."""
        if self._within:
            return 0.0
        inside = bisect_left(self._onsets, answer[-1].onset)
        begun = inside - bisect_right(self._onsets, answer[0].onset)
        return _WHILE_IT_RESTS if begun <= 0 else _WHILE_IT_RESTS / 2 if begun == 1 else 0.0

    def _is_company(self, echo: Echo) -> bool:
        """Whether the melody moves in parallel with the answer, all through but for one move."""
        if self._within:
            return False
        parallel = 0
        for one, two in pairwise(echo.answer):
            sung = self._sung.get(one.onset), self._sung.get(two.onset)
            if sung[0] is not None and sung[1] is not None:
                parallel += _move(sung[0], sung[1]).step == _move(one, two).step
        return parallel >= len(echo.answer) - 2

    def _is_own_pattern(self, echo: Echo, at: int) -> bool:
        """Whether the line has the figure anyway, as an accompaniment has its pattern."""
        if self._within:
            return False
        length = len(echo.answer) - 1
        figure = tuple((move.distance, move.step) for move in self._moves[at : at + length])
        elsewhere = 0
        for place in range(len(self._moves) - length + 1):
            moves = tuple((m.distance, m.step) for m in self._moves[place : place + length])
            elsewhere += moves == figure
        return elsewhere > _OWN_PATTERN + self._models_of(echo)

    def _models_of(self, echo: Echo) -> int:
        """How often the melody has the model."""
        moves = [_move(*pair) for pair in pairwise(echo.model)]
        count = 0
        for place in range(len(self._melody) - len(moves)):
            row = self._melody[place : place + len(moves) + 1]
            count += all(
                _move(*pair) == move for pair, move in zip(pairwise(row), moves, strict=True)
            )
        return count
