"""Lowered thirds planted in random songs, and what is nearly one.

Over major tonic chords a note becomes the lowered third, alone, beside the natural one or against
the natural one of a backing voice; or what is nearly that takes its place: a raised second on its
way up, a chord that has the note itself or shares its mixture (a sharp ninth, the minor tonic,
chords borrowed from the parallel minor), a backing voice in unison, a whole passage in the minor
pentatonic or in the parallel minor.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from random import Random
from typing import Final

from analysis.timebase import Offset, Span
from tests.bench.songs import BACKING, Harmony, Phrase, Song, Tone, draw_song, harmony_at

#: Steps of the minor pentatonic with their alterations.
_PENTATONIC: Final = ((0, 0), (2, -1), (3, 0), (4, 0), (6, -1), (7, 0), (9, -1))
#: Steps of the natural minor scale.
_MINOR: Final = ((0, 0), (1, 0), (2, -1), (3, 0), (4, 0), (5, -1), (6, -1), (7, 0))


@dataclass(frozen=True, slots=True)
class PlantedThirds:
    """What was planted: where lowered thirds begin, which waver, which stretches have a scale.

    ``kinds`` says what was planted in which phrase.
    """

    kinds: tuple[tuple[Span, str], ...]
    lowered: frozenset[Offset]
    wavering: tuple[frozenset[Offset], ...]
    passages: tuple[tuple[Span, str], ...]

    def kind_at(self, onset: Offset) -> str:
        """What was planted in the phrase that holds an onset."""
        return next((kind for span, kind in self.kinds if onset in span), "nothing")


@dataclass(frozen=True, slots=True)
class _Planted:
    """A phrase with what was planted in it; onsets from its beginning.

    ``wavering`` are lowered thirds that belong to a group, ``backing`` what a second voice sings.
    """

    phrase: Phrase
    single: frozenset[Offset] = frozenset()
    wavering: frozenset[Offset] = frozenset()
    passage: str = ""
    backing: tuple[Tone, ...] = ()


_Plant = Callable[[Random, Phrase, Song], _Planted | None]


def song_with_thirds(random: Random) -> tuple[Song, PlantedThirds]:
    """A song of six phrases; in every second one thing is planted."""
    song = draw_song(random, 6)
    phrases, kinds = list(song.phrases), []
    lowered: set[Offset] = set()
    wavering, passages = [], []
    backing: list[Tone] = []
    for number in (1, 3, 5):
        kind = random.choice((*_PLANTS, *_LOOKED_FOR, *_LOOKED_FOR))
        planted = _PLANTS[kind](random, phrases[number], song)
        if planted is None:
            continue
        phrases[number] = planted.phrase
        kinds.append((song.span(number), kind))
        start = song.start(number)
        lowered |= {onset + start for onset in planted.single | planted.wavering}
        if planted.wavering:
            wavering.append(frozenset(onset + start for onset in planted.wavering))
        if planted.passage:
            passages.append((song.span(number), planted.passage))
            phrases[number - 1] = _without_third_at_the_end(phrases[number - 1])
        backing += [replace(tone, onset=tone.onset + start) for tone in planted.backing]
    others = ((BACKING, tuple(backing)),) if backing else ()
    built = replace(song, phrases=tuple(phrases), others=others)
    return built, PlantedThirds(tuple(kinds), frozenset(lowered), tuple(wavering), tuple(passages))


def _without_third_at_the_end(phrase: Phrase) -> Phrase:
    """The phrase with the fifth for thirds among its last two notes."""
    last = [
        replace(tone, step=tone.step + 2) if tone.step % 7 == 2 else tone
        for tone in phrase.tones[-2:]
    ]
    return replace(phrase, tones=(*phrase.tones[:-2], *last))


def _place(random: Random, phrase: Phrase) -> tuple[Phrase, int] | None:
    """A measure set over the tonic, with the index of its first tone; it has three or more."""
    starts = {tone.onset: at for at, tone in enumerate(phrase.tones)}
    places = []
    for number, harmony in enumerate(phrase.harmonies):
        inside = [one for one in phrase.tones if harmony_at(phrase, one.onset) is harmony]
        if number and len(inside) >= 3 and inside[0].onset == harmony.onset:
            places.append(number)
    if not places:
        return None
    number = random.choice(places)
    row = list(phrase.harmonies)
    row[number] = Harmony(row[number].onset, 0, "major")
    return replace(phrase, harmonies=tuple(row), symbols=tuple(row)), starts[row[number].onset]


def _with_third(
    phrase: Phrase, at: int, alter: int, after: tuple[int, int], step: int = 2
) -> Phrase:
    """A tone made the (altered) third, the next one ``after``; other thirds near it are moved."""
    tones = list(phrase.tones)
    octave = 7 if tones[at].step > 5 else 0
    for near in range(max(at - 3, 0), min(at + 5, len(tones))):
        if tones[near].step % 7 == 2:
            tones[near] = replace(tones[near], step=tones[near].step + 2)
    tones[at] = replace(tones[at], step=step + octave, alter=alter)
    tones[at + 1] = replace(tones[at + 1], step=after[0] + octave, alter=after[1])
    return replace(phrase, tones=tuple(tones))


def _single(random: Random, phrase: Phrase, song: Song) -> _Planted | None:
    placed = _place(random, phrase)
    if placed is None:
        return None
    phrase, at = placed
    built = _with_third(phrase, at, -1, random.choice(((0, 0), (1, 0), (3, 0))))
    return _Planted(built, single=frozenset({phrase.tones[at].onset}))


def _wavering(random: Random, phrase: Phrase, song: Song) -> _Planted | None:
    """Lowered, then natural within a beat; or natural, lowered, natural."""
    placed = _place(random, phrase)
    if placed is None:
        return None
    phrase, at = placed
    built = _with_third(phrase, at, -1, (2, 0))
    tones = list(built.tones)
    tone = tones[at]
    onset = tone.onset
    if tone.length > 1 or random.random() < 0.3:
        half = tone.length / 2
        last = replace(tone, onset=onset + half, length=half, alter=0)
        tones[at : at + 1] = [replace(tone, length=half), last]
        if random.random() < 0.5:
            third = replace(last, length=half / 2)
            low = replace(third, onset=third.onset + half / 2, alter=-1)
            tones[at : at + 2] = [replace(tone, length=half, alter=0), third, low]
            tones[at + 1] = replace(third, alter=0)
            onset = low.onset
    return _Planted(replace(built, tones=tuple(tones)), wavering=frozenset({onset}))


def _against_backing(alter: int) -> _Plant:
    """The lowered third while a backing voice sings the natural one, or the same."""

    def plant(random: Random, phrase: Phrase, song: Song) -> _Planted | None:
        placed = _place(random, phrase)
        if placed is None:
            return None
        phrase, at = placed
        built = _with_third(phrase, at, -1, random.choice(((0, 0), (1, 0), (3, 0))))
        onset, length = built.tones[at].onset, built.tones[at].length
        chord = [tone for tone in built.tones if tone.onset < onset]
        # Elsewhere the backing voice holds the tonic or the fifth, a step of its own kind.
        backing = (
            *(replace(tone, step=4, alter=0) for tone in chord[-1:]),
            Tone(onset, length, 2, alter),
            Tone(onset + length, length, 4),
        )
        here = frozenset({onset})
        waver = alter == 0
        single, wavering = (frozenset[Offset](), here) if waver else (here, frozenset[Offset]())
        return _Planted(built, single, wavering, backing=backing)

    return plant


def _raised_second(over: int) -> _Plant:
    """A raised second on its way up to the third, over a chord of the key."""

    def plant(random: Random, phrase: Phrase, song: Song) -> _Planted | None:
        placed = _place(random, phrase)
        if placed is None:
            return None
        phrase, at = placed
        onset = harmony_at(phrase, phrase.tones[at].onset).onset
        row = tuple(
            replace(one, step=over) if one.onset == onset else one for one in phrase.harmonies
        )
        built = _with_third(phrase, at, 1, (2, 0), step=1)
        return _Planted(replace(built, harmonies=row, symbols=row))

    return plant


def _on_chord(harmony: Harmony, *, raised: bool = False) -> _Plant:
    """The lowered third over a chord that has it or shares its mixture."""

    def plant(random: Random, phrase: Phrase, song: Song) -> _Planted | None:
        placed = _place(random, phrase)
        if placed is None:
            return None
        phrase, at = placed
        onset = harmony_at(phrase, phrase.tones[at].onset).onset
        row = tuple(
            replace(harmony, onset=onset) if one.onset == onset else one for one in phrase.harmonies
        )
        after = (1, 0) if harmony.step else (0, 0)
        step, alter = (1, 1) if raised else (2, -1)
        built = _with_third(phrase, at, alter, after, step=step)
        return _Planted(replace(built, harmonies=row, symbols=row))

    return plant


def _wandering(random: Random, count: int) -> Iterator[int]:
    place = 2
    while True:
        place = max(0, min(count - 1, place + random.choice((-1, 1))))
        yield place


def _up_and_down(random: Random) -> Iterator[int]:
    """Places of a scale from around its tonic up to the sixth or seventh, and back."""
    place, way = 0, 1
    while True:
        yield place
        way = -1 if place >= random.choice((5, 6)) else 1 if place <= random.choice((0, 1)) else way
        place += way


def _passage(name: str, scale: tuple[tuple[int, int], ...], roots: tuple[int, ...]) -> _Plant:
    """A phrase in another scale than its chords, three lowered thirds among its notes or more."""

    def plant(random: Random, phrase: Phrase, song: Song) -> _Planted | None:
        harmonies = tuple(
            Harmony(one.onset, step, "major")
            for one, step in zip(phrase.harmonies, roots, strict=True)
        )
        places = _up_and_down(random) if scale is _MINOR else _wandering(random, len(scale))
        tones = [
            Tone(tone.onset, tone.length, *scale[place])
            for tone, place in zip(phrase.tones, places, strict=False)
        ]
        # It begins and ends on the tonic, so that no third of a neighbour phrase is near its own.
        tones[0], tones[-1] = (replace(one, step=0, alter=0) for one in (tones[0], tones[-1]))
        thirds = [tone for tone in tones if tone.step % 7 == 2]
        sixths = [tone for tone in tones if tone.step % 7 == 5]
        if len(thirds) < 3 or len(tones) < 10 or (scale is _MINOR and len(sixths) < 2):
            return None
        built = replace(phrase, tones=tuple(tones), harmonies=harmonies, symbols=harmonies)
        return _Planted(built, frozenset(tone.onset for tone in thirds), passage=name)

    return plant


_PLANTS: Final[dict[str, _Plant]] = {
    "single": _single,
    "wavering": _wavering,
    "cross relation": _against_backing(0),
    "backing in unison": _against_backing(-1),
    "raised second": _raised_second(0),
    "raised second over the dominant": _raised_second(4),
    "sharp ninth chord": _on_chord(Harmony(Offset(0), 0, "dominant", added=(9, 1))),
    "sharp ninth chord, raised second": _on_chord(
        Harmony(Offset(0), 0, "dominant", added=(9, 1)), raised=True
    ),
    "minor tonic": _on_chord(Harmony(Offset(0), 0, "minor")),
    "lowered submediant": _on_chord(Harmony(Offset(0), 5, "major", -1)),
    "lowered mediant": _on_chord(Harmony(Offset(0), 2, "major", -1)),
    "lowered subtonic": _on_chord(Harmony(Offset(0), 6, "major", -1)),
    "minor subdominant": _on_chord(Harmony(Offset(0), 3, "minor")),
    "pentatonic": _passage("minor pentatonic", _PENTATONIC, (0, 3, 0, 0)),
    "parallel minor": _passage("parallel minor", _MINOR, (0, 4, 0, 0)),
}
#: What is planted three times as often, being what is looked for.
_LOOKED_FOR: Final = ("single", "wavering", "cross relation", "pentatonic", "parallel minor")
