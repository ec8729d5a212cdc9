"""Lowered thirds planted in random songs, and what is nearly one.

Over major tonic chords a note becomes the lowered third, alone or beside the natural one; or one of
`NEAR_MISSES` takes its place: a raised second on its way up, a chord that has the note itself (a
sharp ninth, the minor tonic, a borrowed submediant), a whole passage in the minor pentatonic.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random
from typing import Final

from analysis.timebase import Offset, Span
from tests.bench.songs import Harmony, Phrase, Song, Tone, draw_song, harmony_at

#: Steps of the minor pentatonic with their alterations.
_PENTATONIC: Final = ((0, 0), (2, -1), (3, 0), (4, 0), (6, -1), (7, 0), (9, -1))


@dataclass(frozen=True, slots=True)
class PlantedThirds:
    """What was planted: where lowered thirds begin, which waver, which stretches are pentatonic."""

    kinds: tuple[str, ...]
    lowered: frozenset[Offset]
    wavering: tuple[frozenset[Offset], ...]
    passages: tuple[Span, ...]


def song_with_thirds(random: Random) -> tuple[Song, PlantedThirds]:
    """A song of four phrases; in each of the first three one thing is planted."""
    song = draw_song(random, 4)
    phrases, kinds = list(song.phrases), []
    lowered: set[Offset] = set()
    wavering, passages = [], []
    for number in range(3):
        kind = random.choice(list(_PLANTS))
        planted = _PLANTS[kind](random, phrases[number], song)
        if planted is None:
            continue
        phrase, single, pair, passage = planted
        phrases[number] = phrase
        kinds.append(kind)
        start = song.start(number)
        lowered |= {onset + start for onset in single | pair}
        if pair:
            wavering.append(frozenset(onset + start for onset in pair))
        if passage:
            passages.append(song.span(number))
    built = replace(song, phrases=tuple(phrases))
    return built, PlantedThirds(tuple(kinds), frozenset(lowered), tuple(wavering), tuple(passages))


_Planted = tuple[Phrase, frozenset[Offset], frozenset[Offset], bool] | None
_NONE: Final[frozenset[Offset]] = frozenset()


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


def _single(random: Random, phrase: Phrase, song: Song) -> _Planted:
    placed = _place(random, phrase)
    if placed is None:
        return None
    phrase, at = placed
    built = _with_third(phrase, at, -1, random.choice(((0, 0), (1, 0), (3, 0))))
    return built, frozenset({phrase.tones[at].onset}), _NONE, False


def _wavering(random: Random, phrase: Phrase, song: Song) -> _Planted:
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
    return replace(built, tones=tuple(tones)), _NONE, frozenset({onset}), False


def _raised_second(random: Random, phrase: Phrase, song: Song) -> _Planted:
    placed = _place(random, phrase)
    if placed is None:
        return None
    phrase, at = placed
    return _with_third(phrase, at, 1, (2, 0), step=1), _NONE, _NONE, False


def _on_chord(harmony: Harmony) -> Callable[[Random, Phrase, Song], _Planted]:
    """The lowered third over a chord that has it."""

    def plant(random: Random, phrase: Phrase, song: Song) -> _Planted:
        placed = _place(random, phrase)
        if placed is None:
            return None
        phrase, at = placed
        onset = harmony_at(phrase, phrase.tones[at].onset).onset
        row = tuple(
            replace(harmony, onset=onset) if one.onset == onset else one for one in phrase.harmonies
        )
        built = _with_third(phrase, at, -1, (1, 0) if harmony.step else (0, 0))
        return replace(built, harmonies=row, symbols=row), _NONE, _NONE, False

    return plant


def _pentatonic(random: Random, phrase: Phrase, song: Song) -> _Planted:
    """A phrase in the minor pentatonic over I and IV, its thirds on chords of the tonic."""
    harmonies = tuple(
        Harmony(one.onset, step, "major")
        for one, step in zip(phrase.harmonies, (0, 3, 0, 0), strict=True)
    )
    place, tones = 2, []
    for tone in phrase.tones:
        place = max(0, min(len(_PENTATONIC) - 1, place + random.choice((-1, 1))))
        step, alter = _PENTATONIC[place]
        tones.append(Tone(tone.onset, tone.length, step, alter))
    # It begins and ends on the tonic, so that no third of a neighbour phrase is near its own.
    tones[0], tones[-1] = (replace(one, step=0, alter=0) for one in (tones[0], tones[-1]))
    thirds = sum(1 for tone in tones if tone.step % 7 == 2)
    if thirds < 3 or len(tones) < 10:
        return None
    built = replace(phrase, tones=tuple(tones), harmonies=harmonies, symbols=harmonies)
    onsets = frozenset(tone.onset for tone in tones if tone.step % 7 == 2)
    return built, onsets, _NONE, True


_PLANTS: Final[dict[str, Callable[[Random, Phrase, Song], _Planted]]] = {
    "single": _single,
    "wavering": _wavering,
    "raised second": _raised_second,
    "sharp ninth chord": _on_chord(Harmony(Offset(0), 0, "dominant", added=(9, 1))),
    "minor tonic": _on_chord(Harmony(Offset(0), 0, "minor")),
    "lowered submediant": _on_chord(Harmony(Offset(0), 5, "major", -1)),
    "pentatonic": _pentatonic,
}
