"""Echoes: a short figure of the melody taken up by another part.

The task: find where an instrument or a backing voice answers the melody, with the same notes, moved
to another pitch or octave, or in another rhythm; or where the melody itself takes a figure up at
another pitch.

Method. A figure is three notes or more that follow each other without a long rest. For every note
of the answering line, figures of the melody that began up to three measures before are laid on it,
and both are followed as long as they go on alike: in the distances between their notes' beginnings
and in the steps of the scale (one step may differ), or in exact intervals alone where the rhythm is
another. How much that says is counted in bits: a distance or a step that the answering line has
rarely says more than one that it has all the time, and an answer says more while the melody holds
still, and at the model's own place in the measure. Chance agreements stay below `LEAST_BITS`;
figures that the line plays anyway, over and over, are left out. What moves in parallel with the
melody is company and no echo.

What it cannot do: answers that keep neither rhythm nor intervals, and echoes after more than three
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
from itertools import pairwise
from math import log2
from typing import Final

from analysis.score import Score
from analysis.timebase import Fraction, Offset, Span
from analysis.vocabulary.accents import MetricGrid
from analysis.vocabulary.voices import HeldNote

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
_MEASURES_LATER: Final = 3
#: A step that differs takes away as much.
_PRICE_OF_A_STEP: Final = 3.5
#: A figure that the line also has so often without a model is its own pattern.
_OWN_PATTERN: Final = 3
#: So few notes of a scale with which a bass walks to its next chord answer nothing.
_A_WALK: Final = 4
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
    score: Score,
    melody: Sequence[HeldNote],
    others: Sequence[Sequence[HeldNote]],
    basses: Sequence[Sequence[HeldNote]] = (),
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
    basses
        Basses that may; a few notes with which one walks to its next note are no answer.
    """
    found: list[Echo] = []
    for at, line in enumerate((*others, *basses, melody)):
        if len(line) >= _LEAST_NOTES and melody:
            walking = at in range(len(others), len(others) + len(basses))
            answers = _Answers(score, tuple(melody), tuple(line), walking=walking)
            found += _best(list(answers.find()))
    return tuple(sorted(found, key=lambda echo: (echo.span, echo.answer[0].part)))


def _best(echoes: Sequence[Echo]) -> Iterator[Echo]:
    """Of echoes whose answers overlap, the one that says most."""
    taken: list[Span] = []
    for echo in sorted(echoes, key=lambda echo: (-echo.bits, echo.span)):
        # What is taken lies apart, so that only the two neighbours can be in the way.
        at = bisect_left(taken, echo.span)
        if not any(echo.span.overlaps(span) for span in taken[max(at - 1, 0) : at + 1]):
            taken.insert(at, echo.span)
            yield echo


#: A distance in time and in steps, and in half steps where they count.
_Sign = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class _Move:
    """From one note of a line to the next; distances are numbered, since fractions are slow."""

    distance: int
    step: int
    half_steps: int
    after_rest: bool


class _Moves:
    """The moves of one line, each from its note to the next, and how often figures of them come."""

    def __init__(self, line: Sequence[HeldNote], distances: dict[Offset, int]) -> None:
        self.row = [_move(first, later, distances) for first, later in pairwise(line)]
        self._figures: dict[tuple[int, bool], Counter[tuple[_Sign, ...]]] = {}
        #: How many moves follow from each on until a rest.
        self.ahead = [0] * len(line)
        for at in range(len(self.row) - 1, -1, -1):
            self.ahead[at] = 0 if self.row[at].after_rest else self.ahead[at + 1] + 1

    def count(self, figure: Sequence[_Move], *, exact: bool) -> int:
        """How often the line has a figure, in the same half steps or in steps of the scale."""
        length = len(figure)
        if (length, exact) not in self._figures:
            signs = _signs(self.row, exact=exact)
            figures = (signs[at : at + length] for at in range(len(signs) - length + 1))
            self._figures[length, exact] = Counter(figures)
        return self._figures[length, exact][_signs(figure, exact=exact)]


def _signs(moves: Sequence[_Move], *, exact: bool) -> tuple[_Sign, ...]:
    """What must be equal where figures are, for each move."""
    return tuple((one.distance, one.step, one.half_steps if exact else 0) for one in moves)


def _move(first: HeldNote, later: HeldNote, distances: dict[Offset, int]) -> _Move:
    return _Move(
        distances.setdefault(later.onset - first.onset, len(distances)),
        later.pitch.diatonic - first.pitch.diatonic,
        later.midi - first.midi,
        later.onset - first.end >= _REST,
    )


def _surprises(values: Sequence[int]) -> dict[int, float]:
    """Bits that each value says in a row of them, by how often the row has it."""
    total = len(values) + 1.0
    return {value: -log2((count + 0.5) / total) for value, count in Counter(values).items()}


class _Answers:
    """One line held against the melody."""

    def __init__(
        self,
        score: Score,
        melody: tuple[HeldNote, ...],
        line: tuple[HeldNote, ...],
        *,
        walking: bool = False,
    ) -> None:
        self._walking = walking
        self._grid = grid = MetricGrid(score)
        self._melody = melody
        self._line = line
        self._within = line == melody
        self._measures = [grid.measure_at(note.onset) for note in melody]
        self._longest = [
            _MEASURES_LATER * grid.measure_at(note.onset).meter.length for note in line
        ]
        # Equal fractions are equal floats, which compare much faster.
        self._onsets = [float(note.onset) for note in melody]
        self._begins = [float(note.onset) for note in line]
        self._reached = [bisect_right(self._onsets, begin) for begin in self._begins]
        self._pitches = [note.midi % 12 for note in melody]
        self._sung = {onset: at for at, onset in enumerate(self._onsets)}
        distances: dict[Offset, int] = {}
        self._models = _Moves(melody, distances)
        self._moves = self._models if self._within else _Moves(line, distances)
        self._distances = _surprises([move.distance for move in self._moves.row])
        self._steps = _surprises([move.step for move in self._moves.row])

    def find(self) -> Iterator[Echo]:
        """Everything that agrees enough, overlapping answers too."""
        least = _LEAST_BITS_WITHIN if self._within else LEAST_BITS
        for at, note in enumerate(self._line):
            start = bisect_left(self._onsets, float(note.onset - self._longest[at]))
            candidates = [
                echo
                for model in range(start, bisect_left(self._onsets, self._begins[at]))
                for echo in (self._alike(model, at), self._in_another_rhythm(model, at))
                if echo is not None and echo.bits >= least
            ]
            if self._within:
                candidates = [echo for echo in candidates if echo.steps % 7]
            if candidates:
                best = max(candidates, key=lambda echo: (echo.bits, echo.model[0].onset))
                if not (
                    self._is_company(best)
                    or self._is_own_pattern(best, at)
                    or self._walks_on(best, at)
                ):
                    yield best

    def _alike(self, model: int, answer: int) -> Echo | None:
        """The figures from two notes on, as long as rhythm and steps agree but for one step."""
        best, best_bits, length, misses = 0, 0.0, 1, 0
        least = _LEAST_NOTES_WITHIN if self._within else _LEAST_NOTES
        most = self._most(model, answer)
        moves, answers = self._models.row, self._moves.row
        if most + 1 < least or moves[model].distance != answers[answer].distance:
            return None
        bits = self._start(model, answer)
        for ahead in range(most):
            move, mine = moves[model + ahead], answers[answer + ahead]
            if move.distance != mine.distance:
                break
            bits += self._distances[mine.distance]
            if abs(move.half_steps - mine.half_steps) <= 1 and move.step == mine.step:
                bits += self._steps[mine.step]
            else:
                misses += 1
                bits -= _PRICE_OF_A_STEP
            if misses > 1:
                break
            length += 1
            if bits > best_bits:
                best, best_bits = length, bits
        return self._echo(model, answer, best, best_bits, True) if best >= least else None

    def _in_another_rhythm(self, model: int, answer: int) -> Echo | None:
        """The figures from two notes on, as long as they have the same pitch classes."""
        if self._within or (self._line[answer].midi - self._pitches[model]) % 12:
            return None
        surprise, length, other = [], 1, False
        for ahead in range(self._most(model, answer)):
            move, mine = self._models.row[model + ahead], self._moves.row[answer + ahead]
            if move.half_steps != mine.half_steps or mine.step == 0:
                break
            surprise.append(self._steps[mine.step])
            other = other or move.distance != mine.distance
            length += 1
        if length < _LEAST_NOTES_OTHER_RHYTHM or not other:
            return None
        return self._echo(model, answer, length, sum(surprise, self._start(model, answer)), False)

    def _most(self, model: int, answer: int) -> int:
        """How many moves both figures can share: until one rests or the model meets the answer."""
        # The model's last note may begin with the answer, and no later.
        reached = self._reached[answer] - 1 - model
        return min(_MOST_NOTES - 1, reached, self._models.ahead[model], self._moves.ahead[answer])

    def _start(self, model: int, answer: int) -> float:
        """Bits that the place of two notes takes away."""
        later = self._line[answer].onset - self._melody[model].onset
        same = later % self._measures[model].length == 0
        return -(_SAME_PLACE if same else _OTHER_PLACE)

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
        inside = bisect_left(self._onsets, float(answer[-1].onset))
        begun = inside - bisect_right(self._onsets, float(answer[0].onset))
        return _WHILE_IT_RESTS if begun <= 0 else _WHILE_IT_RESTS / 2 if begun == 1 else 0.0

    def _is_company(self, echo: Echo) -> bool:
        """Whether the melody moves in parallel with the answer, all through but for one move."""
        if self._within:
            return False
        sung = [self._sung.get(float(note.onset)) for note in echo.answer]
        parallel = 0
        for (one, two), (first, later) in zip(pairwise(echo.answer), pairwise(sung), strict=True):
            if first is not None and later is not None:
                under = self._melody[later].pitch.diatonic - self._melody[first].pitch.diatonic
                parallel += under == two.pitch.diatonic - one.pitch.diatonic
        return parallel >= len(echo.answer) - 2

    def _is_own_pattern(self, echo: Echo, at: int) -> bool:
        """Whether the line has the figure anyway, as an accompaniment has its pattern."""
        if self._within:
            return False
        length, model = len(echo.answer) - 1, self._sung[float(echo.model[0].onset)]
        figure, shown = self._moves.row[at : at + length], self._models.row[model : model + length]
        elsewhere = self._moves.count(figure, exact=False)
        return elsewhere > _OWN_PATTERN + self._models.count(shown, exact=True)

    def _walks_on(self, echo: Echo, at: int) -> bool:
        """Whether a few notes of a bass walk along the scale, to the next measure or note."""
        length = len(echo.answer)
        walk = self._moves.row[at : at + length]
        if not self._walking or length > _A_WALK:
            return False
        if {move.step for move in walk[: length - 1]} not in ({1}, {-1}):
            return False
        arrival = echo.answer[-1].onset
        on = len(walk) == length and walk[-1].step == walk[0].step and not walk[-1].after_rest
        return on or arrival == self._grid.measure_at(arrival).onset
