"""Tiny scores written in a line of text, analysed in a key that is set.

A voice is notes parted by spaces: pitch, colon, length in quarter notes. ``r`` is a rest, ``x`` an
unpitched note, ``~`` after the length ties to the next note, ``g`` for the length makes a grace
note, ``=word`` adds a syllable (``=ket-`` ``=-tle``), ``+`` joins the pitches of a chord. Chords
are symbols with lengths: ``C:4 Am7/G:2``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from typing import Literal

from analysis.marks import Analysis, Corrections, Mark, MelodyFact
from analysis.pipeline import analyse
from analysis.pitch import Key, Pitch, PitchName
from analysis.score import ChordSymbol, Degree, Lyric, Measure, Note, Part, Score
from analysis.timebase import Meter

KINDS = {
    "": "major", "m": "minor", "7": "dominant", "maj7": "major-seventh", "m7": "minor-seventh",
    "dim": "diminished", "dim7": "diminished-seventh", "m7b5": "half-diminished",
    "+": "augmented", "sus4": "suspended-fourth", "6": "major-sixth", "m6": "minor-sixth",
    "5": "power", "9": "dominant-ninth", "mmaj7": "major-minor", "7#9": "dominant",
}  # fmt: skip


def tune(
    melody: str,
    chords: str = "",
    *,
    meter: str = "4/4",
    **others: str,
) -> Score:
    """A score with the melody in part ``voice`` and every other voice in a part of its name."""
    voices = {"voice": melody, **others}
    length = max(_length(text) for text in (*voices.values(), chords))
    beats, beat_type = meter.split("/")
    measures = _measures(length, Meter(int(beats), int(beat_type)))
    parts = tuple(
        Part(name, name, name[:2], _notes(name, text, measures)) for name, text in voices.items()
    )
    symbols = _symbols(chords, measures)
    played = tuple(range(len(measures)))
    return Score("Tune", "", parts, measures, symbols, played=played)


def study(score: Score, key: str = "C major", **corrections: object) -> Analysis:
    """The analysis of a score in a key set by hand."""
    held = Corrections(keys=((score.span, Key.parse(key)),), **corrections)  # type: ignore[arg-type]
    return analyse(score, corrections=held)


def roles(melody: str, chords: str, key: str = "C major") -> list[str]:
    """The role of each melody note."""
    return [fact.role for fact in facts(melody, chords, key)]


def facts(melody: str, chords: str, key: str = "C major") -> tuple[MelodyFact, ...]:
    """The melody's facts."""
    return study(tune(melody, chords), key).melody


def shown(analysis: Analysis, *kinds: str, least: float = 0.5) -> list[Mark]:
    """Marks of some kinds that are shown by default."""
    return [mark for mark in analysis.marks if mark.kind in kinds and mark.confidence >= least]


def _length(text: str) -> Fraction:
    lengths = [re.sub(r"[~=].*$", "", token.partition(":")[2]) for token in text.split()]
    return sum((Fraction(length) for length in lengths if length != "g"), Fraction(0))


def _measures(length: Fraction, meter: Meter) -> tuple[Measure, ...]:
    count = max(-(-length // meter.length), 1)
    return tuple(
        Measure(at, str(at + 1), at * meter.length, meter.length, meter, f"m{at + 1}")
        for at in range(count)
    )


def _notes(part: str, text: str, measures: Sequence[Measure]) -> tuple[Note, ...]:
    notes: list[Note] = []
    onset = Fraction(0)
    tied: frozenset[str] = frozenset()
    for token in text.split():
        sound, _, rest = token.partition(":")
        length_text, _, word = rest.partition("=")
        tie = length_text.endswith("~")
        length_text = length_text.rstrip("~")
        grace = length_text == "g"
        length = Fraction(0) if grace else Fraction(length_text)
        if sound != "r":
            measure = next(m for m in reversed(measures) if m.onset <= onset)
            for name in sorted(sound.split("+")):
                notes.append(
                    Note(
                        id=f"{part}{len(notes) + 1}",
                        part=part,
                        measure=measure.index,
                        onset=onset,
                        duration=length,
                        pitch=None if name == "x" else Pitch.parse(name),
                        tie_start=tie,
                        tie_stop=name in tied,
                        grace=grace,
                        lyrics=_lyrics(word),
                    )
                )
        tied = frozenset(sound.split("+")) if tie else frozenset()
        onset += length
    return tuple(sorted(notes, key=lambda note: (note.onset, note.pitch.midi if note.pitch else 0)))


def _lyrics(word: str) -> tuple[Lyric, ...]:
    if not word:
        return ()
    syllabic: Literal["single", "begin", "middle", "end"] = "single"
    if word.startswith("-"):
        syllabic = "middle" if word.endswith("-") else "end"
    elif word.endswith("-"):
        syllabic = "begin"
    return (Lyric("1", word.strip("-"), syllabic),)


def _symbols(text: str, measures: Sequence[Measure]) -> tuple[ChordSymbol, ...]:
    symbols: list[ChordSymbol] = []
    onset = Fraction(0)
    for token in text.split():
        name, _, length_text = token.partition(":")
        length = Fraction(length_text)
        name, _, bass = name.partition("/")
        match = re.fullmatch(r"([A-G][#b]*)(.*)", name)
        measure = next(m for m in reversed(measures) if m.onset <= onset)
        symbols.append(
            ChordSymbol(
                id=f"h{len(symbols) + 1}",
                part="voice",
                measure=measure.index,
                onset=onset,
                duration=length,
                root=PitchName.parse(match[1]) if match else None,
                kind=KINDS[match[2]] if match else "none",
                degrees=(Degree(9, 1, "add"),) if name.endswith("#9") else (),
                bass=PitchName.parse(bass) if bass else None,
            )
        )
        onset += length
    return tuple(symbols)
