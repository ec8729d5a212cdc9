"""What one process measures of the analysis for the speed bench: reading, analysing, growth.

Times are of the processor, since all of it is work of one thread; both sides of a comparison are
measured in turn, and medians count, or for growth the least.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from random import Random
from statistics import median
from typing import Final

import music21
from lxml import etree

import sample_scores
from analysis.harmony.typed_chords import read_chord
from analysis.marks import Corrections
from analysis.pipeline import analyse, analyse_again, analyse_first
from analysis.pitch import Key
from analysis.reading.scores import read_score
from analysis.reading.sources import read_source, source_of
from analysis.score import Score
from analysis.timebase import Span
from tests.bench.large_scores import large_score, repeated_score
from tests.bench.plain_music21 import read_plainly
from tests.bench.songs import draw_song, to_score

PARTS: Final = 4
#: Scores of so many measures are also heard without their chord symbols.
WITHOUT_SYMBOLS: Final = (40, 400)
#: Songs repeated ten times over, and how many times their own length that is.
TIMES: Final = 10
_ROUNDS: Final = 7

Seconds = dict[str, float]


def rounds_of(measures: int) -> int:
    """How often something is measured: the longer the score, the fewer times."""
    return 7 if measures <= 40 else 5 if measures <= 120 else 3


def in_turn(works: Mapping[str, Callable[[], object]], rounds: int) -> Seconds:
    """Medians of the seconds that each takes, the one after the other in each round."""
    times: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            begun = time.process_time()
            work()
            times[name].append(time.process_time() - begun)
    return {name: median(taken) for name, taken in times.items()}


def peak() -> float:
    """Most memory that this process has held, in megabytes."""
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return held / (1024 * 1024 if sys.platform == "darwin" else 1024)


def measure_analysis(measures: int) -> Seconds:
    """Reading, analysing and analysing again, beside music21's parse of the same file.

    Each round corrects another place, from the head to the end of the piece.
    """
    analyse(read_score(source_of(large_score(8, PARTS), "small")))
    content = large_score(measures, PARTS)
    source = source_of(content, "large.musicxml")
    score = read_score(source)
    first = analyse_first(score)
    held = peak()
    rounds = rounds_of(measures)
    places = [at * measures // (rounds + 1) for at in range(1, rounds + 1)]
    keys = iter([_another_key(score, at) for at in places])
    chords = iter([_another_chord(score, at) for at in places])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.musicxml"
        path.write_bytes(content)
        seconds = in_turn(
            {
                "parse": lambda: _parse(path),
                "reading": lambda: read_score(source),
                "analysis": lambda: analyse(score),
                "first analysis": lambda: analyse_first(score),
                "another key": lambda: analyse_again(first, next(keys)),
                "another chord": lambda: analyse_again(first, next(chords)),
            },
            rounds,
        )
        if measures in WITHOUT_SYMBOLS:
            bare = _without_symbols(content)
            path.write_bytes(bare)
            seconds |= in_turn(
                {
                    "plain reading and numerals": lambda: read_plainly(path),
                    "reading and analysis of notes": lambda: analyse(
                        read_score(source_of(bare, "bare"))
                    ),
                },
                2 if measures > 100 else 5,
            )
    return {**seconds, "peak of reading and analysis": held}


def _parse(path: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        music21.converter.parseFile(path, forceSource=True, storePickle=False)


def _another_key(score: Score, at: int) -> Corrections:
    """A key set over two measures."""
    span = Span(score.measures[at].onset, score.measures[at + 1].span.end)
    return Corrections(keys=((span, Key.parse("Eb major")),))


def _another_chord(score: Score, at: int) -> Corrections:
    """A chord set over one measure."""
    return Corrections(chords=((score.measures[at].span, read_chord("A7")),))


def _without_symbols(musicxml: bytes) -> bytes:
    root = etree.fromstring(musicxml)
    for measure in root.iter("measure"):
        for harmony in measure.findall("harmony"):
            measure.remove(harmony)
    return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8"))


def measure_growth() -> Seconds:
    """Analysis of songs, and of the same ten times over or of others ten times as long.

    The short one is analysed ten times in a row, then the long one once, round after round: so both
    sides work for about as long, and what else the machine does hits both alike. Of each the least
    time counts, since anything else that runs only adds to it.
    """
    seconds: Seconds = {}
    for name, short, long in _pairs():
        analyse(long)
        rounds = [(_seconds_of(short, TIMES), _seconds_of(long, 1)) for _ in range(_ROUNDS)]
        least = (min(times) for times in zip(*rounds, strict=True))
        seconds |= zip((f"{name}, short", f"{name}, long"), least, strict=True)
    return seconds


def _seconds_of(score: Score, times: int) -> float:
    """Seconds of the processor for one of so many analyses in a row."""
    begun = time.process_time()
    for _ in range(times):
        analyse(score)
    return (time.process_time() - begun) / times


def _pairs() -> Iterator[tuple[str, Score, Score]]:
    for path in sorted(Path(sample_scores.__path__[0]).glob("*.musicxml")):
        text = read_source(path).musicxml
        long = read_score(source_of(repeated_score(text, TIMES), "long"))
        yield f"{path.stem} repeated", read_score(source_of(text, "short")), long
    for name, accompanied in (("tune", False), ("song", True)):
        short, long = (
            to_score(draw_song(Random(f"{count}"), count, accompanied=accompanied), Random(1))
            for count in (10, 100)
        )
        yield f"{name} that never comes back", short, long
    short, long = (read_score(source_of(large_score(count, PARTS), "rule")) for count in (40, 400))
    yield "score of songs in a row", short, long
