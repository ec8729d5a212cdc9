"""Lines planted in random songs: basses and inner voices that slide by half steps, or walk.

One phrase or two of a song are set over a progression whose bass or inner voice makes the line, or
nearly makes one: a bass that leaves a note and comes back, three steps of the scale, broken chords.
The other phrases have chords of the key in root position, so that no chromatic line is there by
accident.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random
from typing import Final

from analysis.pitch import Key
from analysis.timebase import Span
from tests.bench.songs import MEASURES, Harmony, Song, draw_song, name_of

_Row = tuple[tuple[int, int, str, tuple[int, int]], ...]
#: Root step, alteration, kind, bass; then the notes of the line.
_LINES: Final[dict[str, tuple[_Row, tuple[tuple[int, int], ...]]]] = {
    "bass falls": (
        (
            (0, 0, "major", (0, 0)),
            (4, 0, "major", (6, 0)),
            (4, 0, "minor", (6, -1)),
            (3, 0, "major", (5, 0)),
            (3, 0, "minor", (5, -1)),
            (0, 0, "major", (4, 0)),
        ),
        ((0, 0), (6, 0), (6, -1), (5, 0), (5, -1), (4, 0)),
    ),
    "bass climbs": (
        (
            (0, 0, "major", (0, 0)),
            (0, 1, "diminished-seventh", (0, 1)),
            (1, 0, "minor", (1, 0)),
            (1, 1, "diminished-seventh", (1, 1)),
            (0, 0, "major", (2, 0)),
        ),
        ((0, 0), (0, 1), (1, 0), (1, 1), (2, 0)),
    ),
    "bass climbs from the fourth": (
        (
            (3, 0, "major", (3, 0)),
            (3, 1, "diminished-seventh", (3, 1)),
            (0, 0, "major", (4, 0)),
            (4, 1, "diminished-seventh", (4, 1)),
            (5, 0, "minor", (5, 0)),
        ),
        ((3, 0), (3, 1), (4, 0), (4, 1), (5, 0)),
    ),
    "inner voice climbs": (
        tuple((0, 0, kind, (0, 0)) for kind in ("major", "augmented", "major-sixth", "dominant")),
        ((4, 0), (4, 1), (5, 0), (6, -1)),
    ),
    "inner voice falls": (
        tuple(
            (5, 0, kind, (5, 0))
            for kind in ("minor", "major-minor", "minor-seventh", "minor-sixth")
        ),
        ((5, 0), (4, 1), (4, 0), (3, 1)),
    ),
}
#: Basses that walk along the scale: lines, but not chromatic ones.
_WALKS: Final[dict[str, tuple[_Row, tuple[tuple[int, int], ...]]]] = {
    "scale bass falls": (
        (
            (0, 0, "major", (0, 0)),
            (4, 0, "major", (6, 0)),
            (5, 0, "minor", (5, 0)),
            (0, 0, "major", (4, 0)),
            (3, 0, "major", (3, 0)),
        ),
        ((0, 0), (6, 0), (5, 0), (4, 0), (3, 0)),
    ),
    "scale bass climbs": (
        (
            (0, 0, "major", (0, 0)),
            (1, 0, "minor", (1, 0)),
            (0, 0, "major", (2, 0)),
            (3, 0, "major", (3, 0)),
            (4, 0, "major", (4, 0)),
        ),
        ((0, 0), (1, 0), (2, 0), (3, 0), (4, 0)),
    ),
}
#: Basses that are no lines.
_NEAR_MISSES: Final[dict[str, _Row]] = {
    "neighbour bass": (
        (0, 0, "major", (0, 0)),
        (4, 0, "major", (6, 0)),
        (0, 0, "major", (0, 0)),
        (4, 0, "major", (6, 0)),
        (0, 0, "major", (0, 0)),
    ),
    "chromatic neighbour bass": (
        (5, 0, "minor", (5, 0)),
        (2, 0, "dominant", (4, 1)),
        (5, 0, "minor", (5, 0)),
        (3, 0, "major", (3, 0)),
    ),
    "three steps": (
        (0, 0, "major", (0, 0)),
        (1, 0, "minor", (1, 0)),
        (0, 0, "major", (2, 0)),
        (5, 0, "minor", (5, 0)),
    ),
}


@dataclass(frozen=True, slots=True)
class PlantedLine:
    """Where a line is, of what kind, and the pitch classes of its notes in order.

    What is nearly a line has no notes.
    """

    span: Span
    kind: str
    notes: tuple[int, ...]

    @property
    def chromatic(self) -> bool:
        """Whether it moves by half steps."""
        return self.kind in _LINES


def song_with_lines(random: Random) -> tuple[Song, tuple[PlantedLine, ...]]:
    """A song of four phrases, one or two of them over a line or what is nearly one.

    Where nothing is planted in the bass, an accompanied song may break its chords there.
    """
    song = draw_song(random, 4)
    phrases, planted = list(song.phrases), []
    rows = {**{kind: (row, ()) for kind, row in _NEAR_MISSES.items()}, **_WALKS, **_LINES}
    # Half of what is planted are the lines that are looked for.
    kinds = [*_LINES, *_LINES, *_WALKS, *_NEAR_MISSES]
    for number in sorted(random.sample(range(4), random.choice((1, 2)))):
        kind = random.choice(kinds)
        row, notes = rows[kind]
        phrase = phrases[number]
        each = phrase.length / 2 / MEASURES
        # What is left of the phrase stays on the tonic.
        harmonies = [
            Harmony(at * each, step, chord, alter, bass)
            for at, (step, alter, chord, bass) in enumerate(row)
        ]
        harmonies.append(Harmony(len(row) * each, 0, "major"))
        phrases[number] = replace(phrase, harmonies=tuple(harmonies), symbols=tuple(harmonies))
        start = song.start(number)
        planted.append(
            PlantedLine(Span(start, start + len(row) * each), kind, _pitch_classes(song.key, notes))
        )
    inner = all(one.kind.startswith("inner") for one in planted)
    broken = inner and random.random() < 0.6
    return replace(song, phrases=tuple(phrases), broken=broken), tuple(planted)


def _pitch_classes(key: Key, notes: tuple[tuple[int, int], ...]) -> tuple[int, ...]:
    return tuple(name_of(key, step, alter).pc for step, alter in notes)
