"""How long everything takes from 40 to 1,200 measures, against the bare libraries' time.

Scores of four parts. Each size has two processes of its own, one for reading and analysing beside
music21's parse of the same file, one for the window beside verovio and Qt; see
`tests.bench.speed_measures` and `tests.bench.speed_windows` for what is measured and
`tests.bench.pictures` for the bare frames of pictures.

- *reading*, *analysis*: to music21's parse; the whole analysis, after reading, limit 1.
- *from the notes*: reading and analysis of the score without chord symbols, to plain music21's
  parse, chordify and numerals. Limit 1.
- *another key*, *another chord*: what a correction of one or two measures costs, to the first
  analysis. Limit a tenth.
- *first page*: from the wish to open until it is painted, workers warm, to verovio's load and first
  page. Limit 2. *Marks*: until they are painted, to that and music21's parse.
- *accepting*: from the decision until it is painted, to painting a page plain. Limit 3.
- *still*, *export*: to the same frames made bare, and to verovio's pages for the printed score. An
  export holds all texts and the pictures of ten talking points.
- *ten times*: analysis of pieces ten times as long, to their own. Limit 12.
- *growth*: cost of a measure in the longest score, to that in the one of 120. Limit 1.5.
- *help*: ``overstave --help``, to the start of a bare interpreter. Limit 3.

Peaks of memory are told in megabytes.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from statistics import median
from typing import Any, Final

SIZES: Final = (40, 120, 400, 1200)
QUICK: Final = (40, 120)
#: The size to which the cost of a measure in the longest score is held.
_MIDDLE: Final = 120
_ROUNDS: Final = 11

#: Name, what it is a ratio of, to what, and its limit, for each size.
_RATIOS: Final = (
    ("reading", ("reading",), ("parse",), None),
    ("analysis", ("analysis",), ("parse",), 1.0),
    (
        "from the notes",
        ("reading and analysis of notes",),
        ("plain reading and numerals",),
        1.0,
    ),
    ("another key", ("another key",), ("first analysis",), 0.1),
    ("another chord", ("another chord",), ("first analysis",), 0.1),
    ("first page", ("first page",), ("bare first page",), 2.0),
    ("marks", ("marks",), ("bare first page", "parse"), None),
    ("accepting", ("accepting",), ("bare page",), 3.0),
    ("still", ("stills",), ("bare stills",), None),
    ("export", ("export",), ("bare export",), None),
)
_GROWTH_LIMIT: Final = 1.5
_GROWS: Final = ("reading", "analysis", "first page", "marks", "texts and printed score")
_PEAKS: Final = ("peak of reading and analysis", "peak of the window", "peak of a worker")

_Seconds = dict[str, float]
_Figure = dict[str, Any]


def measure(*, quick: bool = False) -> list[_Figure]:
    """All figures; ``quick`` leaves the long scores out."""
    sizes = QUICK if quick else SIZES
    measured = {size: {**_run("analysis", size), **_run("window", size)} for size in sizes}
    return [
        *(figure for size in sizes for figure in _figures(size, measured[size])),
        *_growth(measured),
        *_ten_times(_run("growth")),
        _help(),
    ]


def _run(what: str, *size: int) -> _Seconds:
    """The measurements of one process."""
    print(f"   {what} {' '.join(map(str, size))}", file=sys.stderr)
    command = [sys.executable, "-m", "tests.bench.speed_runs", what, *map(str, size)]
    # One thread, as the worker processes have it.
    environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    done = subprocess.run(command, env=environment, stdout=subprocess.PIPE, check=True)
    seconds: _Seconds = json.loads(done.stdout.splitlines()[-1])
    return seconds


def _figures(size: int, seconds: _Seconds) -> Iterator[_Figure]:
    for name, ours, theirs, limit in _RATIOS:
        if all(one in seconds for one in (*ours, *theirs)):
            sides = [sum(seconds[one] for one in side) for side in (ours, theirs)]
            yield _figure(
                f"{size} measures: {name}", sides[0] / sides[1], limit,
                seconds=sides[0], bare_seconds=sides[1],
            )  # fmt: skip
    for name in _PEAKS:
        yield _figure(f"{size} measures: {name}, MB", seconds[name], None)


def _growth(measured: Mapping[int, _Seconds]) -> Iterator[_Figure]:
    longest = max(measured)
    middle = _MIDDLE if longest > _MIDDLE else min(measured)
    for name in _GROWS:
        costs = [measured[size][name] / size for size in (longest, middle)]
        value = costs[0] / costs[1]
        yield _figure(f"growth, {middle} to {longest} measures: {name}", value, _GROWTH_LIMIT)


def _ten_times(seconds: _Seconds) -> Iterator[_Figure]:
    for name in dict.fromkeys(key.rpartition(", ")[0] for key in seconds):
        short, long = seconds[f"{name}, short"], seconds[f"{name}, long"]
        yield _figure(f"ten times: {name}", long / short, 12.0, seconds=long, bare_seconds=short)


def _help() -> _Figure:
    bare = [sys.executable, "-c", "pass"]
    ours = [sys.executable, "-c", "from app.__main__ import main; main()", "--help"]
    times: dict[int, list[float]] = {0: [], 1: []}
    for _ in range(_ROUNDS):
        for side, command in enumerate((bare, ours)):
            begun = time.perf_counter()
            subprocess.run(command, stdout=subprocess.DEVNULL, check=True)
            times[side].append(time.perf_counter() - begun)
    before, after = median(times[0]), median(times[1])
    return _figure(
        "start: overstave --help", after / before, 3.0, seconds=after, bare_seconds=before
    )


def _figure(name: str, value: float, limit: float | None, **more: float) -> _Figure:
    holds = limit is None or value <= limit
    return {"name": name, "value": value, "limit": limit, "holds": holds, **more}
