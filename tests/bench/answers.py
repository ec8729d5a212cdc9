"""Echoes planted in random songs: a guitar that answers the voice, and licks that do not.

The guitar is silent but for its answers and for licks of its own. An answer takes a figure of four
to seven notes: at the same pitches, in another octave, moved along the scale, some beats later, or
(six notes and more) in another rhythm. A lick has its own rhythm and its own steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import Final

from analysis.timebase import Offset
from tests.bench.songs import Song, Tone, draw_song

GUITAR: Final = "guitar"
KINDS: Final = ("same", "octave", "moved", "some beats later", "another rhythm", "lick")


@dataclass(frozen=True, slots=True)
class PlantedEcho:
    """Where an answer (or a lick, which is none) begins, and of what kind it is."""

    onset: Offset
    kind: str

    @property
    def echo(self) -> bool:
        return self.kind != "lick"


def song_with_echoes(random: Random) -> tuple[Song, tuple[PlantedEcho, ...]]:
    """A song of four phrases; in the third measure of each the guitar does something."""
    song = draw_song(random, 4)
    tones: list[Tone] = []
    planted = []
    for number in range(len(song.phrases)):
        kind = random.choice(KINDS)
        answer = _answer(random, song, number, kind)
        if answer:
            tones += answer
            planted.append(PlantedEcho(answer[0].onset, kind))
    return replace(song, others=((GUITAR, tuple(tones)),)), tuple(planted)


def _answer(random: Random, song: Song, number: int, kind: str) -> list[Tone]:
    phrase, measure = song.phrases[number], song.meter.length
    start = song.start(number)
    count = random.randint(6 if kind == "another rhythm" else 4, 7)
    model = [tone for tone in phrase.tones if tone.onset < 2 * measure][:count]
    later = -(-model[-1].end // measure) * measure
    if kind == "lick":
        return _lick(random, start + later, song)
    if kind == "some beats later":
        later += song.meter.beat * random.choice((1, 2))
    steps = {"octave": -7, "moved": random.choice((-4, -3, -2, -1, 1, 2, 3))}.get(kind, 0)
    answer = [
        replace(tone, onset=tone.onset + start + later, step=tone.step + steps) for tone in model
    ]
    return _in_another_rhythm(answer) if kind == "another rhythm" else answer


def _in_another_rhythm(tones: Sequence[Tone]) -> list[Tone]:
    """The same notes, evenly; repeated notes drop out, since nothing would be left of them."""
    kept = [tone for at, tone in enumerate(tones) if at == 0 or tone.step != tones[at - 1].step]
    even = {tone.length for tone in kept} == {Fraction(1, 2)}
    length = Fraction(1) if even else Fraction(1, 2)
    onset = kept[0].onset
    return [Tone(onset + at * length, length, tone.step) for at, tone in enumerate(kept)]


def _lick(random: Random, onset: Offset, song: Song) -> list[Tone]:
    """Five to eight notes of its own in uneven rhythm."""
    tones, step = [], random.randint(0, 6)
    for _ in range(random.randint(5, 8)):
        length = random.choice((Fraction(1, 4), Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)))
        tones.append(Tone(onset, length, step))
        onset += length
        step += random.choice((-4, -3, -2, -1, 1, 2, 3, 4))
    return tones
