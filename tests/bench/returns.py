"""Returns planted in random songs: reharmonised ones, plain ones, and what is nearly a new chord.

Each song is five phrases, A B A' C B'. How A' and B' differ from A and B is drawn from `KINDS`: the
chords (new ones, or the same written in another way), and the tune (exact, ornamented, with other
words, with another pickup, moved with the key, begun some beats later in the measure).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import Final

from analysis.chords import KIND_DEGREES, Chord, degree_tone
from analysis.pitch import Key, PitchName
from analysis.timebase import Span
from tests.bench.songs import (
    MEASURES,
    Harmony,
    Phrase,
    Song,
    Tone,
    draw_song,
    harmony_at,
    name_of,
)

_HOME: Final = Key(PitchName(0), "major")
#: Chords that may take the place of another, as root step, alteration and kind.
_SUBSTITUTES: Final = (
    (0, 0, "major"), (1, 0, "minor-seventh"), (2, 0, "minor"), (3, 0, "major"), (4, 0, "dominant"),
    (5, 0, "minor-seventh"), (0, 0, "dominant"), (1, 0, "dominant"), (2, 0, "dominant"),
    (5, 0, "dominant"), (3, 0, "minor"), (6, -1, "major"), (5, -1, "major"), (2, -1, "major"),
)  # fmt: skip
#: By how many beats a tune may come later in the measure.
_LATE: Final = {(4, 4): (2, 2, 1), (12, 8): (2, 2, 1), (6, 8): (1,), (3, 4): (1,)}
#: Steps on the line of fifths by which a whole step up, a half step up and a minor third up lie.
_LIFTS: Final = (2, 7, -3)


@dataclass(frozen=True, slots=True)
class PlantedReturn:
    """Where a phrase stands and where it returns, and how."""

    first: Span
    later: Span
    kind: str
    reharmonised: bool


def song_with_returns(random: Random) -> tuple[Song, tuple[PlantedReturn, ...]]:
    """A song A B A' C B', and what was planted in it."""
    song = draw_song(random, 3)
    first, second, other = song.phrases
    kinds = [random.choice(list(KINDS)), random.choice(list(KINDS))]
    before, after = [], []
    for phrase, kind in zip((first, second), kinds, strict=True):
        one, two = KINDS[kind](random, phrase, song)
        before.append(one)
        after.append(two)
    lifts = [random.choice(_LIFTS) if "moved" in kind else 0 for kind in kinds]
    built = replace(
        song,
        phrases=(before[0], before[1], after[0], other, after[1]),
        moved=(0, 0, lifts[0], lifts[0], lifts[1] or lifts[0]),
    )
    for number, kind in ((2, kinds[0]), (4, kinds[1])):
        if "pickup" in kind:
            built = _with_pickup(random, built, number)
    # One move of the key is enough: a plain return after it moves along.
    planted = tuple(
        PlantedReturn(built.span(one), built.span(two), kind, kind.startswith("reharmonised"))
        for (one, two), kind in zip(((0, 2), (1, 4)), kinds, strict=True)
    )
    return built, planted


def _with_pickup(random: Random, song: Song, number: int) -> Song:
    """One or two notes that lead by step into a phrase, in place of the end before it."""
    into, before = song.phrases[number].tones[0], song.phrases[number - 1]
    side, count = random.choice((-1, 1)), random.choice((1, 2))
    each = song.meter.beat / 2
    start = before.length - count * each
    kept = [tone for tone in before.tones if tone.onset < start]
    kept[-1] = replace(kept[-1], length=min(kept[-1].length, start - kept[-1].onset))
    pickup = [Tone(start + at * each, each, into.step + side * (count - at)) for at in range(count)]
    phrases = list(song.phrases)
    phrases[number - 1] = replace(before, tones=(*kept, *pickup))
    return replace(song, phrases=tuple(phrases))


_Pair = tuple[Phrase, Phrase]


def _plain(random: Random, phrase: Phrase, song: Song) -> _Pair:
    return phrase, phrase


def _new_chords(random: Random, phrase: Phrase, song: Song) -> _Pair:
    """One to three measures with other chords that hold the tune's first note there."""
    harmonies = list(phrase.harmonies)
    for at in random.sample(range(MEASURES), random.randint(1, 3)):
        choices = list(_substitutes(phrase, at))
        around = {harmonies[near].place for near in (at - 1, at + 1) if 0 <= near < MEASURES}
        choices = [one for one in choices if one.place not in around]
        if choices:
            harmonies[at] = random.choice(choices)
    if tuple(harmonies) == phrase.harmonies:
        return _new_chords(random, phrase, song)
    row = tuple(harmonies)
    return phrase, replace(phrase, harmonies=row, symbols=row)


def _substitutes(phrase: Phrase, at: int) -> Iterator[Harmony]:
    old = phrase.harmonies[at]
    tone = next(tone for tone in phrase.tones if tone.onset >= old.onset)
    sung = name_of(_HOME, tone.step, tone.alter).pc
    for step, alter, kind in _SUBSTITUTES:
        new = Harmony(old.onset, step, kind, alter)
        tones = {name.pc for name in chord_of(new).tones}
        if sung in tones and not _one_chord(old, new):
            yield new


def _one_chord(old: Harmony, new: Harmony) -> bool:
    """The same root and third, or tones that hold each other: never planted as a new chord."""
    one, two = chord_of(old), chord_of(new)
    if one.root.pc == two.root.pc:
        return one.triad == two.triad
    tones = [{name.pc for name in chord.tones} for chord in (one, two)]
    return tones[0] == tones[1] or (one.bass.pc == two.bass.pc and tones[0] <= tones[1])


def chord_of(harmony: Harmony) -> Chord:
    """The chord in C major."""
    root = name_of(_HOME, *harmony.place)
    bass = name_of(_HOME, *harmony.bass) if harmony.bass else root
    return Chord(root, KIND_DEGREES[harmony.kind], bass, harmony.kind)


def _ornamented(random: Random, phrase: Phrase, song: Song) -> Phrase:
    """Up to one note in eight with a neighbour before it, after it, or in its place."""
    tones = list(phrase.tones)
    for at in random.sample(range(len(tones)), max(1, len(tones) // 8)):
        tone, side = tones[at], random.choice((-1, 1))
        half = tone.length / 2
        choices = (
            [replace(tone, step=tone.step + side)],
            [replace(tone, length=half, step=tone.step + side),
             Tone(tone.onset + half, half, tone.step)],
            [replace(tone, length=half), Tone(tone.onset + half, half, tone.step + side)],
        )  # fmt: skip
        tones[at : at + 1] = random.choice(choices)
        tones = sorted(tones, key=lambda one: one.onset)
    return replace(phrase, tones=tuple(tones))


def _other_words(random: Random, phrase: Phrase, song: Song) -> Phrase:
    """Other syllables: notes of a quarter and more split in two, neighbours at a pitch joined."""
    tones: list[Tone] = []
    for tone in phrase.tones:
        last = tones[-1] if tones else None
        if tone.length >= 1 and random.random() < 0.4:
            half = tone.length / 2
            tones += [replace(tone, length=half), Tone(tone.onset + half, half, tone.step)]
        elif last and last.step == tone.step and last.end == tone.onset:
            tones[-1] = replace(last, length=last.length + tone.length)
        else:
            tones.append(tone)
    return replace(phrase, tones=tuple(tones))


def _later(random: Random, phrase: Phrase, song: Song) -> Phrase:
    """Tune and chords some beats later; what would run into the next phrase is left out."""
    late = random.choice(_LATE[song.meter.beats, song.meter.beat_type]) * song.meter.beat
    tones = [
        replace(
            tone,
            onset=tone.onset + late,
            length=min(tone.length, phrase.length - late - tone.onset),
        )
        for tone in phrase.tones
        if tone.onset + late < phrase.length
    ]
    row = tuple(
        replace(one, onset=one.onset + late if one.onset else one.onset)
        for one in phrase.harmonies
        if one.onset + late < phrase.length
    )
    return replace(phrase, tones=tuple(tones), harmonies=row, symbols=row)


def _early(random: Random, phrase: Phrase, song: Song) -> _Pair:
    """Chord changes up to a beat too soon, in the symbols or in what is played as well."""
    sooner = random.choice((Fraction(1, 2), song.meter.beat))
    moved = tuple(
        replace(one, onset=one.onset - sooner) if one.onset and random.random() < 0.6 else one
        for one in phrase.harmonies
    )
    played = random.choice((moved, phrase.harmonies))
    return phrase, replace(phrase, symbols=moved, harmonies=played)


def _respelled(random: Random, phrase: Phrase, song: Song) -> _Pair:
    """Minor sevenths as sixth chords over the same bass, a lowered second as a raised first."""
    first, later = [], []
    for harmony in phrase.harmonies:
        if harmony.kind == "minor":
            first.append(replace(harmony, kind="minor-seventh"))
            sixth = replace(harmony, step=harmony.step + 2, kind="major-sixth", bass=harmony.place)
            later.append(sixth)
        elif harmony.step == 4 and harmony.onset + song.meter.length < phrase.length:
            first.append(replace(harmony, step=1, alter=-1, kind="dominant"))
            later.append(replace(harmony, step=0, alter=1, kind="dominant"))
        else:
            first.append(harmony)
            later.append(harmony)
    one = replace(phrase, harmonies=tuple(first), symbols=tuple(first))
    return one, replace(one, symbols=tuple(later))


def _revoiced(random: Random, phrase: Phrase, song: Song) -> _Pair:
    """Other basses from the chord itself, sevenths and ninths added or taken away."""
    richer = {"major": ("major-seventh", "major-sixth"), "minor": ("minor-seventh", "minor-ninth")}
    row = []
    for harmony in phrase.harmonies:
        third = (harmony.step + random.choice((0, 2, 4))) % 7
        kinds = richer[harmony.kind] if harmony.step != 4 else ("dominant", "dominant-ninth")
        kind = random.choice((*kinds, harmony.kind))
        row.append(replace(harmony, bass=(third, 0), kind=kind))
    one, two = phrase, replace(phrase, harmonies=tuple(row), symbols=tuple(row))
    return (one, two) if random.random() < 0.5 else (two, one)


def _suspended(random: Random, phrase: Phrase, song: Song) -> _Pair:
    """Suspensions, power chords and chords over the dominant's bass for plain ones."""
    row = []
    for harmony in phrase.harmonies:
        choices = [replace(harmony, kind=kind) for kind in ("suspended-fourth", "power")]
        if harmony.step == 4:
            choices.append(replace(harmony, step=3, kind="major", bass=(4, 0)))
        row.append(random.choice([*choices, harmony]))
    return phrase, replace(phrase, symbols=tuple(row))


def _left_out(random: Random, phrase: Phrase, song: Song) -> _Pair:
    """A symbol missing in one pass, where something else tells that the chord changes."""
    places = [
        at
        for at in range(1, MEASURES)
        if song.accompanied or _tells(phrase, phrase.harmonies[at - 1], phrase.harmonies[at], song)
    ]
    if not places:
        return phrase, phrase
    missing = random.choice(places)
    symbols = tuple(one for at, one in enumerate(phrase.symbols) if at != missing)
    return phrase, replace(phrase, symbols=symbols)


def _tells(phrase: Phrase, held: Harmony, missing: Harmony, song: Song) -> bool:
    """Whether the tune alone fits the missing chord better than the one that would go on."""
    ours, theirs = ({name.pc for name in chord_of(one).tones} for one in (held, missing))
    balance = Fraction(0)
    for tone in phrase.tones:
        if harmony_at(phrase, tone.onset) == missing:
            pc = degree_tone(_HOME.tonic, (tone.step % 7 + 1, 0)).pc
            balance += tone.length * ((pc in theirs) - (pc in ours))
    return balance > 0


def _with(
    chords: Callable[[Random, Phrase, Song], _Pair],
    tune: Callable[[Random, Phrase, Song], Phrase],
) -> Callable[[Random, Phrase, Song], _Pair]:
    def both(random: Random, phrase: Phrase, song: Song) -> _Pair:
        one, two = chords(random, phrase, song)
        return one, tune(random, two, song)

    return both


KINDS: Final[dict[str, Callable[[Random, Phrase, Song], _Pair]]] = {
    "reharmonised": _new_chords,
    "reharmonised, ornamented": _with(_new_chords, _ornamented),
    "reharmonised, other words": _with(_new_chords, _other_words),
    "reharmonised, moved": _new_chords,
    "reharmonised, another pickup": _new_chords,
    "reharmonised, beats later": _with(_new_chords, _later),
    "exact": _plain,
    "ornamented": _with(_plain, _ornamented),
    "other words": _with(_plain, _other_words),
    "moved": _plain,
    "another pickup": _plain,
    "beats later": _with(_plain, _later),
    "early": _early,
    "respelled": _respelled,
    "revoiced": _revoiced,
    "suspended": _suspended,
    "left out": _left_out,
    "left out, other words": _with(_left_out, _other_words),
}
