"""Random songs with a singable tune over functional chords, written as Score values.

A song is a row of phrases of four measures. Everything is thought in degrees of the key, so that
the same song can be written in any key: a tone is a scale step and an alteration, a harmony a root,
a kind and a bass. What sounds (the accompaniment) and what is written (the chord symbols) are kept
apart, since a transcription may leave a symbol out or write it early.

The tune takes chord tones on the strong beats and steps between them; it stays in the scale. No two
phrases of a song are alike by accident: a phrase that shares more than a third of its notes with an
earlier one is drawn again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from random import Random
from typing import Final

from analysis.chords import KIND_DEGREES, ChordDegree, degree_tone
from analysis.pitch import Key, Pitch, PitchName
from analysis.score import (
    ChordSymbol,
    Degree,
    KeySignature,
    Lyric,
    Measure,
    Note,
    Part,
    Score,
)
from analysis.timebase import Meter, Offset, Span

MEASURES: Final = 4
#: The part of another voice that sings.
BACKING: Final = "backing"
METERS: Final = ((4, 4), (4, 4), (4, 4), (3, 4), (6, 8), (12, 8))
TONICS: Final = range(-5, 7)
#: What follows each degree in a major key, and the kinds on them (common practice, no source).
_FOLLOWS: Final = {
    0: (3, 3, 4, 5, 1, 2),
    1: (4, 4, 4, 3),
    2: (5, 3),
    3: (4, 4, 0, 1),
    4: (0, 0, 5, 3),
    5: (3, 1, 3, 4),
}
_KINDS: Final = {0: "major", 1: "minor", 2: "minor", 3: "major", 4: "major", 5: "minor"}
#: Rhythms of a measure in quarters, by its length; dotted meters have their own.
_RHYTHMS: Final[dict[tuple[int, int], tuple[str, ...]]] = {
    (4, 4): (
        "1 1 1 1",
        "1 .5 .5 1 1",
        "1.5 .5 1 1",
        "1 1 .5 .5 1",
        ".5 .5 1 .5 .5 1",
        "1 .5 1.5 1",
    ),
    (3, 4): ("1 1 1", "1.5 .5 1", "1 .5 .5 1", ".5 .5 1 1", "1 1 .5 .5"),
    (6, 8): ("1 .5 1 .5", "1.5 1 .5", ".5 .5 .5 1.5", "1 .5 .5 .5 .5", "1.5 .5 .5 .5"),
    (12, 8): ("1 .5 1 .5 1.5 1.5", "1.5 1 .5 1 .5 1.5", ".5 .5 .5 1.5 1 .5 1.5"),
}
_LAST: Final = {(4, 4): "1 3", (3, 4): "1 2", (6, 8): "1.5 1.5", (12, 8): "1.5 1.5 3"}
#: Highest and lowest step of a tune, the tonic being 0.
_LOW, _HIGH = -3, 9
_SYLLABLES: Final = ("na", "ri", "lo", "su", "me", "ta", "vo", "ni", "ka", "le", "mo", "di")


@dataclass(frozen=True, slots=True)
class Tone:
    """One note of a line: onset and length in quarters; a scale step and its alteration."""

    onset: Offset
    length: Offset
    step: int
    alter: int = 0

    @property
    def end(self) -> Offset:
        return self.onset + self.length


@dataclass(frozen=True, slots=True)
class Harmony:
    """A chord in degrees: root step and alteration, kind, bass step and alteration."""

    onset: Offset
    step: int
    kind: str
    alter: int = 0
    bass: tuple[int, int] | None = None
    added: ChordDegree | None = None

    @property
    def place(self) -> tuple[int, int]:
        return self.step % 7, self.alter


@dataclass(frozen=True, slots=True)
class Phrase:
    """Measures of tune and harmony; onsets from its first beat. ``symbols`` are what is written."""

    length: Offset
    tones: tuple[Tone, ...]
    harmonies: tuple[Harmony, ...]
    symbols: tuple[Harmony, ...]


@dataclass(frozen=True, slots=True)
class Song:
    """A key, a meter, and phrases in order.

    ``moved`` says by how many fifths each phrase is moved; ``others`` are lines of other parts,
    with onsets from the beginning of the song. ``accompanied`` says whether bass and chords are
    written out under the symbols, ``broken`` whether the bass breaks the chords.
    """

    key: Key
    meter: Meter
    phrases: tuple[Phrase, ...]
    accompanied: bool
    moved: tuple[int, ...] = ()
    others: tuple[tuple[str, tuple[Tone, ...]], ...] = ()
    broken: bool = False

    def start(self, number: int) -> Offset:
        """Where a phrase begins."""
        return sum((phrase.length for phrase in self.phrases[:number]), Fraction(0))

    def span(self, number: int) -> Span:
        """Where a phrase stands."""
        start = self.start(number)
        return Span(start, start + self.phrases[number].length)

    def key_of(self, number: int) -> Key:
        """The key of a phrase."""
        fifths = self.moved[number] if number < len(self.moved) else 0
        return Key(self.key.tonic + fifths, self.key.mode)


def draw_song(random: Random, count: int, *, accompanied: bool | None = None) -> Song:
    """A song of so many phrases, all different."""
    meter = Meter(*random.choice(METERS))
    key = Key(PitchName(random.choice(TONICS)), "major")
    phrases: list[Phrase] = []
    while len(phrases) < count:
        phrase = draw_phrase(random, meter)
        if all(overlap(phrase, other) < 1 / 3 for other in phrases):
            phrases.append(phrase)
    some = random.random() < 0.5 if accompanied is None else accompanied
    return Song(key, meter, tuple(phrases), some)


def draw_phrase(random: Random, meter: Meter) -> Phrase:
    """Four measures that begin on the tonic or its relatives and end on I or V."""
    row = [random.choice((0, 0, 0, 5, 3))]
    while len(row) < MEASURES - 1:
        row.append(random.choice([step for step in _FOLLOWS[row[-1]] if step != row[-1]]))
    row.append(random.choice([step for step in (0, 4) if step != row[-1]]))
    harmonies = tuple(Harmony(at * meter.length, step, _KINDS[step]) for at, step in enumerate(row))
    tones = tuple(draw_tune(random, meter, harmonies))
    return Phrase(MEASURES * meter.length, tones, harmonies, harmonies)


def draw_tune(random: Random, meter: Meter, harmonies: Sequence[Harmony]) -> Iterator[Tone]:
    """A tune over one harmony a measure, with a rest for breath at its end."""
    form = (meter.beats, meter.beat_type)
    step = random.choice((0, 2, 4))
    for at, harmony in enumerate(harmonies):
        last = at == len(harmonies) - 1
        lengths = [
            Fraction(one)
            for one in (_LAST[form] if last else random.choice(_RHYTHMS[form])).split()
        ]
        onset = harmony.onset
        for length in lengths:
            strong = (onset - harmony.onset) % meter.beat == 0
            step = _next_step(random, step, harmony, strong=strong)
            # The last note of a phrase leaves room for breath.
            rest = (
                meter.beat if last and onset + length == harmonies[-1].onset + meter.length else 0
            )
            yield Tone(onset, length - rest if length > rest else length, step)
            onset += length


def _next_step(random: Random, step: int, harmony: Harmony, *, strong: bool) -> int:
    chord = {(harmony.step + third) % 7 for third in (0, 2, 4)}
    near = [step + move for move in (-3, -2, -1, 1, 2, 3) if _LOW <= step + move <= _HIGH]
    if strong:
        tones = [one for one in near if one % 7 in chord]
        return random.choice(tones)
    return random.choice([one for one in near if abs(one - step) == 1])


def overlap(one: Phrase, two: Phrase) -> float:
    """Share of the notes of the shorter phrase that the other has at the same place."""
    first = {(tone.onset, tone.step, tone.alter) for tone in one.tones}
    other = {(tone.onset, tone.step, tone.alter) for tone in two.tones}
    return len(first & other) / min(len(first), len(other))


def harmony_at(phrase: Phrase, onset: Offset) -> Harmony:
    """What sounds at a place."""
    return [one for one in phrase.harmonies if one.onset <= onset][-1]


def name_of(key: Key, step: int, alter: int) -> PitchName:
    """The pitch name of a step of the scale."""
    return key.scale[step % 7] + 7 * alter


def pitch_of(key: Key, step: int, alter: int, base: int = 4) -> Pitch:
    """The pitch of a step; step 0 is the tonic in the octave ``base``."""
    name = name_of(key, step, alter)
    letters = "CDEFGAB"
    diatonic = 7 * base + letters.index(key.tonic.step) + step
    if letters.index(key.tonic.step) > 4:
        diatonic -= 7
    return Pitch(name, diatonic // 7)


def to_score(song: Song, random: Random) -> Score:
    """The song as a Score with words, chord symbols, and, where accompanied, bass and chords."""
    length = sum((phrase.length for phrase in song.phrases), Fraction(0))
    count = int(length / song.meter.length)
    measures = tuple(
        Measure(
            at, str(at + 1), at * song.meter.length, song.meter.length, song.meter, f"m{at + 1}"
        )
        for at in range(count)
    )
    parts = [_voice(song, measures, random)]
    for name, tones in song.others:
        notes = tuple(_notes(name, measures, [(tone, song.key) for tone in tones]))
        if name == BACKING:
            notes = tuple(replace(note, lyrics=(Lyric("1", "oo"),)) for note in notes)
        parts.append(Part(name, name.title(), name[:2], notes))
    if song.accompanied:
        parts += [_piano(song, measures), _bass(song, measures)]
    return Score(
        title="A song",
        composer="",
        parts=tuple(parts),
        measures=measures,
        chord_symbols=tuple(_symbols(song, measures, length)),
        key_signatures=tuple(_signatures(song)),
        played=tuple(range(count)),
    )


def _voice(song: Song, measures: Sequence[Measure], random: Random) -> Part:
    placed = []
    for number, phrase in enumerate(song.phrases):
        start, key = song.start(number), song.key_of(number)
        placed += [(replace(tone, onset=tone.onset + start), key) for tone in phrase.tones]
    notes = [
        replace(note, lyrics=(Lyric("1", random.choice(_SYLLABLES)),))
        for note in _notes("voice", measures, placed)
    ]
    return Part("voice", "Voice", "V.", tuple(notes))


def _notes(
    part: str, measures: Sequence[Measure], placed: Sequence[tuple[Tone, Key]]
) -> Iterator[Note]:
    for number, (tone, key) in enumerate(placed):
        measure = int(tone.onset / measures[0].length)
        pitch = pitch_of(key, tone.step, tone.alter)
        yield Note(f"{part}{number}", part, measure, tone.onset, tone.length, pitch)


def _sounding(song: Song) -> Iterator[tuple[Harmony, Key, Span]]:
    for number, phrase in enumerate(song.phrases):
        start, key = song.start(number), song.key_of(number)
        ends = [one.onset for one in phrase.harmonies[1:]] + [phrase.length]
        for harmony, end in zip(phrase.harmonies, ends, strict=True):
            yield harmony, key, Span(start + harmony.onset, start + end)


def _pieces(span: Span, length: Offset) -> Iterator[tuple[Offset, Offset]]:
    """Onsets and lengths of a span cut at the barlines."""
    onset = span.start
    while onset < span.end:
        end = min(span.end, (onset // length + 1) * length)
        yield onset, end - onset
        onset = end


def _bass(song: Song, measures: Sequence[Measure]) -> Part:
    notes: list[Note] = []
    for harmony, key, span in _sounding(song):
        for onset, length in _pieces(span, measures[0].length):
            at = int(onset / measures[0].length)
            for begin, lasts, pitch in _bass_notes(song, harmony, key, onset, length):
                notes.append(Note(f"bass{len(notes)}", "bass", at, begin, lasts, pitch))
    return Part("bass", "Bass", "B.", tuple(notes))


def _bass_notes(
    song: Song, harmony: Harmony, key: Key, onset: Offset, length: Offset
) -> Iterator[tuple[Offset, Offset, Pitch]]:
    """The bass note under a harmony, or root, third, fifth and third again in turn."""
    step, alter = harmony.bass or harmony.place
    low = pitch_of(key, step % 7, alter, base=2)
    if not song.broken:
        yield onset, length, low
        return
    root = name_of(key, *harmony.place)
    names = [degree_tone(root, degree) for degree in _degrees(harmony)[:3]]
    for at, name in enumerate((*names, names[1])):
        above = low.midi + (name.pc - low.name.pc) % 12
        octave = next(one for one in range(0, 6) if Pitch(name, one).midi == above)
        yield onset + at * length / 4, length / 4, Pitch(name, octave)


def _piano(song: Song, measures: Sequence[Measure]) -> Part:
    notes: list[Note] = []
    for harmony, key, span in _sounding(song):
        root = name_of(key, *harmony.place)
        for onset, length in _pieces(span, measures[0].length):
            for degree in _degrees(harmony)[:4]:
                name = degree_tone(root, degree)
                pitch = Pitch(name, 3)
                at = int(onset / measures[0].length)
                notes.append(Note(f"piano{len(notes)}", "piano", at, onset, length, pitch))
    ordered = sorted(notes, key=lambda note: (note.onset, note.pitch.midi if note.pitch else 0))
    return Part("piano", "Piano", "P.", tuple(ordered))


def _degrees(harmony: Harmony) -> tuple[ChordDegree, ...]:
    added = (harmony.added,) if harmony.added else ()
    return (*KIND_DEGREES[harmony.kind], *added)


def _symbols(song: Song, measures: Sequence[Measure], length: Offset) -> Iterator[ChordSymbol]:
    placed = [
        (harmony, song.key_of(number), song.start(number) + harmony.onset)
        for number, phrase in enumerate(song.phrases)
        for harmony in phrase.symbols
    ]
    ends = [onset for _, _, onset in placed[1:]] + [length]
    for number, ((harmony, key, onset), end) in enumerate(zip(placed, ends, strict=True)):
        added = harmony.added
        yield ChordSymbol(
            id=f"symbol{number}",
            part="voice",
            measure=max(0, int(onset / measures[0].length)),
            onset=onset,
            duration=end - onset,
            root=name_of(key, *harmony.place),
            kind=harmony.kind,
            degrees=(Degree(added[0], added[1], "add"),) if added else (),
            bass=name_of(key, *harmony.bass) if harmony.bass else None,
        )


def _signatures(song: Song) -> Iterator[KeySignature]:
    before = None
    for number in range(len(song.phrases)):
        key = song.key_of(number)
        if key != before:
            yield KeySignature(song.start(number), key.signature, "major")
        before = key
