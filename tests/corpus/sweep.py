"""Every score there is along the whole path, and its notes held against two other libraries.

    python -m tests.corpus.sweep OUT.jsonl [NAME ...]

Writes one JSON line a piece as soon as it is done: what it is, seconds of each step, how many notes
and chord symbols were compared with music21 and partitura, which differ, and what went wrong if
anything did. Pieces that OUT lists already are passed over, so an interrupted sweep goes on; names
restrict it to pieces whose names begin so. The sum is printed at the end.
"""

from __future__ import annotations

import json
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

from analysis.errors import OverstaveError
from analysis.reading.documents import element_ids, parse_document
from analysis.reading.sources import Source, read_source, source_of
from analysis.score import Score
from tests.corpus.other_readings import (
    Reading,
    differing_notes,
    differing_symbols,
    first_differing_measure,
    music21_reading,
    partitura_reading,
)
from tests.corpus.paths import pass_through
from tests.corpus.pieces import (
    all_pieces,
    as_musicxml,
    name_of,
    other_notations,
    reference_pieces,
)

#: How many pieces of each other notation a sweep takes.
OTHERS = {".krn": 40, ".abc": 40, ".rntxt": 20}
Row = dict[str, Any]


def swept_pieces() -> list[Path]:
    """All pieces of a sweep, in the order in which they are taken."""
    others = [path for ending, count in OTHERS.items() for path in other_notations(ending, count)]
    return [*reference_pieces(), *others, *all_pieces()]


def source_of_piece(path: Path) -> Source:
    """The source of a piece, by way of music21 where it is in another notation."""
    if path.suffix in OTHERS:
        return source_of(as_musicxml(path), f"{path.stem}.musicxml")
    return read_source(path)


def sweep(path: Path) -> Row:
    """One piece along the whole path and against both libraries."""
    row: Row = {"piece": name_of(path)}
    start = time.perf_counter()
    try:
        source = source_of_piece(path)
        passed = pass_through(source)
        score = passed.document.score
        check_values(score, source)
        row["seconds"] = {name: round(value, 3) for name, value in passed.seconds.items()}
        row["pages"], row["still"] = passed.pages, passed.still
        row["marks"] = len(passed.document.analysis.marks)
        row["notes"] = sum(len(part.notes) for part in score.parts)
        row["symbols"] = len(score.chord_symbols)
        for name, read in (("music21", music21_reading), ("partitura", partitura_reading)):
            row[name] = compared(score, source, read)
    except OverstaveError as error:
        row["refused"] = str(error)
    except Exception as error:
        row["failed"] = f"{type(error).__name__}: {error}"
        row["trace"] = traceback.format_exc(limit=-4)
    row["all seconds"] = round(time.perf_counter() - start, 3)
    return row


def check_values(score: Score, source: Source) -> None:
    """What holds for every Score, whatever the piece."""
    known = element_ids(parse_document(source.original))
    for before, after in pairwise(score.measures):
        assert before.span.end == after.onset
    for part in score.parts:
        for note in part.notes:
            assert known[note.id].tag == "note"
            assert note.duration > 0 or note.grace
            assert 0 <= note.measure < len(score.measures)
        onsets = [note.onset for note in part.notes]
        assert onsets == sorted(onsets)
    for symbol in score.chord_symbols:
        assert known[symbol.id].tag == "harmony"
        assert symbol.span.end <= score.end
    for measure in score.measures:
        assert all(id in known for id in measure.ids)
        assert measure.length > 0
    assert set(score.played) <= set(range(len(score.measures)))


def compared(score: Score, source: Source, read: Callable[[Source], Reading]) -> Row:
    """Notes and chord symbols on which another library does not agree, or why it cannot say."""
    start = time.perf_counter()
    try:
        reading = read(source)
    except Exception as error:
        return {"unread": f"{type(error).__name__}: {error}"[:300]}
    seconds = round(time.perf_counter() - start, 3)
    return {
        "seconds": seconds,
        "notes": differing_notes(score, source, reading),
        "measure": first_differing_measure(score, reading),
        "symbols": [list(symbol) for symbol in differing_symbols(score, reading)],
    }


def sums(rows: list[Row]) -> Iterator[str]:
    """What a sweep has come to, in lines for people."""
    passed = [row for row in rows if "notes" in row]
    yield f"{len(passed)} of {len(rows)} pieces went the whole path"
    yield f"{sum('refused' in row for row in rows)} refused in words"
    yield f"{sum('failed' in row for row in rows)} failed"
    for library in ("music21", "partitura"):
        read = [row for row in passed if "notes" in row[library]]
        notes = sum(row["notes"] for row in read)
        differing = sum(len(row[library]["notes"]) for row in read)
        symbols = sum(row["symbols"] for row in read)
        other = sum(len(row[library]["symbols"]) for row in read)
        share = 100 * (1 - differing / notes) if notes else 0.0
        yield (
            f"{library}: {len(read)} pieces read, {notes - differing} of {notes} notes agree "
            f"({share:.4f} %); {other} of {symbols} chord symbols differ"
        )
    names = dict.fromkeys(name for row in passed for name in row["seconds"])
    for name in names:
        yield f"{name}: {sum(row['seconds'].get(name, 0.0) for row in passed):.1f} s"


def main() -> None:
    """Sweep what is not swept yet."""
    out, *starts = sys.argv[1:]
    target = Path(out)
    rows = [json.loads(line) for line in target.read_text().splitlines()] if target.exists() else []
    known = {row["piece"] for row in rows}
    with target.open("a", encoding="utf-8") as file:
        for path in swept_pieces():
            name = name_of(path)
            if name in known or not name.startswith(tuple(starts or [""])):
                continue
            rows.append(sweep(path))
            file.write(json.dumps(rows[-1]) + "\n")
            file.flush()
    print("\n".join(sums(rows)))


if __name__ == "__main__":
    main()
