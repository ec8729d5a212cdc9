"""Tunes with chord symbols that nobody analysed: what can be checked of them without an expert.

The lead sheets and the Nottingham tunes of music21's package (two of each in version 10). Read
without their signatures, each is checked in these ways, weighted by the duration of the chords:

- *tonic as written*: the tonic found against the one that the tune's own key field names; only the
  Nottingham tunes have such a field;
- *tonic of the last chord*: whether the key at the end has the last chord's root for its tonic;
- *roots kept*: chords whose numeral in its key gives back the written root;
- *inside the key*: chords whose triad has no tone foreign to the key found, or is applied;
- *numerals read back*: chords whose numeral, written in RomanText, music21 reads as the same tones.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, NamedTuple

import music21

from analysis.harmony.typed_numerals import read_numeral
from analysis.marks import ChordFact, Settings
from analysis.pipeline import analyse
from analysis.pitch import PitchName
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source
from analysis.vocabulary.dominants import is_outside
from app.export.romantext import figure, key_name
from tests.bench.plain_music21 import key_of

CHECKS: Final = (
    "tonic as written",
    "tonic of the last chord",
    "roots kept",
    "inside the key",
    "numerals read back",
)
_BLIND: Final = Settings(use_key_signature=False)


@dataclass(frozen=True)
class Tune:
    """A tune as MusicXML; ``tonic`` is the pitch class of its own key field, None without one."""

    path: Path
    tonic: int | None


class Verdict(NamedTuple):
    """What one check says of one tune: the weight that passed, and all that was asked."""

    check: str
    passed: float
    asked: float


def read_lead_sheets() -> Iterator[Tune]:
    """The lead sheets; their signatures name no key."""
    for path in sorted((_corpus() / "leadSheet").glob("*.mxl")):
        yield Tune(path, None)


@cache
def _scratch() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory()


def read_nottingham() -> Iterator[Tune]:
    """The Nottingham tunes, turned from ABC into MusicXML by music21."""
    for path in sorted((_corpus() / "nottingham-dataset").glob("*.abc")):
        book: Any = music21.converter.parse(path)
        for number, score in enumerate(book.scores):
            written = Path(_scratch().name) / f"{path.stem}-{number}.musicxml"
            score.write("musicxml", written)
            key = next(iter(score.recurse().getElementsByClass("Key")), None)
            yield Tune(written, None if key is None else key.tonic.pitchClass)


def _corpus() -> Path:
    return Path(music21.__file__).parent / "corpus"


def shares_of(verdicts: Sequence[Verdict]) -> dict[str, float]:
    """Per cent that passed of each check that was asked."""
    passed: Counter[str] = Counter()
    asked: Counter[str] = Counter()
    for verdict in verdicts:
        passed[verdict.check] += verdict.passed  # type: ignore[assignment]
        asked[verdict.check] += verdict.asked  # type: ignore[assignment]
    return {name: 100 * passed[name] / asked[name] for name in CHECKS if asked[name]}


def check_ours(tune: Tune) -> Iterator[Verdict]:
    """The checks on the project's own analysis."""
    score = read_score(read_source(tune.path))
    chords = [fact for fact in analyse(score, _BLIND).chords if fact.chord is not None]
    last = chords[-1]
    assert last.chord is not None
    ends_home = last.key.tonic.pc == last.chord.root.pc
    yield Verdict("tonic of the last chord", float(ends_home), 1.0)
    for fact in chords:
        assert fact.chord is not None
        time = float(fact.span.duration)
        if tune.tonic is not None:
            yield Verdict("tonic as written", time * (fact.key.tonic.pc == tune.tonic), time)
        applied = bool(fact.numeral and fact.numeral.applied_root)
        inside = applied or not is_outside(fact.chord, fact.key)
        yield Verdict("inside the key", time * inside, time)
        yield Verdict("roots kept", time * _keeps_root(fact), time)
        yield Verdict("numerals read back", time * _reads_back(fact), time)


def _keeps_root(fact: ChordFact) -> bool:
    assert fact.chord is not None
    assert fact.numeral is not None
    return read_numeral(fact.numeral.text, fact.key).root.pc == fact.chord.root.pc


def _reads_back(fact: ChordFact) -> bool:
    assert fact.chord is not None
    target: PitchName | None = fact.numeral.applied_root if fact.numeral else None
    text = figure(fact.chord, fact.key, target)
    numeral = music21.roman.RomanNumeral(text, key_name(fact.key))
    return {one.pitchClass for one in numeral.pitches} == {tone.pc for tone in fact.chord.tones}


def check_music21(tune: Tune) -> Iterator[Verdict]:
    """The same checks on plain music21: its key, and its numeral of each symbol's chord."""
    score: Any = music21.converter.parse(tune.path)
    symbols = list(score.flatten().getElementsByClass("ChordSymbol"))
    onsets = [float(one.getOffsetInHierarchy(score)) for one in symbols]
    key = key_of(score, symbols)
    yield Verdict(
        "tonic of the last chord", float(key.tonic.pitchClass == symbols[-1].root().pitchClass), 1.0
    )
    scale = {one.pitchClass for one in key.pitches} | (
        {(key.tonic.pitchClass + 11) % 12} if key.mode == "minor" else set()
    )
    ends = [*onsets[1:], float(score.duration.quarterLength)]
    for onset, end, symbol in zip(onsets, ends, symbols, strict=True):
        time = end - onset
        if tune.tonic is not None:
            right = key.tonic.pitchClass == tune.tonic
            yield Verdict("tonic as written", time * right, time)
        chord = music21.chord.Chord(symbol.pitches)
        triad = (chord.root(), chord.third, chord.fifth)
        inside = {one.pitchClass for one in triad if one is not None} <= scale
        numeral = music21.roman.romanNumeralFromChord(chord, key)
        back = music21.roman.RomanNumeral(numeral.figure, key)
        kept = back.root().pitchClass == symbol.root().pitchClass
        same = {one.pitchClass for one in back.pitches} == {one.pitchClass for one in chord.pitches}
        yield Verdict("inside the key", time * inside, time)
        yield Verdict("roots kept", time * kept, time)
        yield Verdict("numerals read back", time * same, time)
