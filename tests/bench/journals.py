"""What safety costs: beginning a journal, a change in it, saving, for a small and a large score.

The limit that counts is that of a change, since it is paid at each key stroke: two milliseconds.
Times are medians, in milliseconds; sizes in kilobytes.
"""

from __future__ import annotations

import itertools
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from random import Random
from statistics import median
from typing import Any, Final

from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from analysis.score import Score
from app.review.edits import Decide
from app.review.journals import Journal, read_journal
from app.review.storage import from_bytes, stored, to_bytes
from tests.app.random_edits import busy_document, random_edit
from tests.app.reviews import read_sample
from tests.bench.large_scores import large_score

LIMIT: Final = 2.0


def measure() -> list[dict[str, Any]]:
    """Figures of the pop song among the samples and of 400 measures in six parts."""
    large = read_score(source_of(large_score(), "large"))
    rows = (("pop song", read_sample("wednesday-table")[1].score), ("400 measures", large))
    return [figure for name, score in rows for figure in _figures(name, score)]


def _figures(name: str, score: Score) -> list[dict[str, Any]]:
    document = replace(busy_document(), score=score)
    with tempfile.TemporaryDirectory() as folder:
        begins = [_time(lambda: Journal.begin(Path(folder), document)) for _ in range(5)]
        journal = Journal.begin(Path(folder), document)
        header = journal.path.stat().st_size
        draw, changes = Random(1), []
        for _ in range(300):
            document = random_edit(draw, document).apply(document)
            changes.append(_time(partial(journal.record, document, "An edit")))
        size = (journal.path.stat().st_size - header) / len(changes)
        marks = tuple(mark.id for mark in document.analysis.marks)
        everything = []
        for state in itertools.islice(itertools.cycle(("rejected", "accepted")), 6):
            document = Decide(marks, state).apply(document)  # type: ignore[arg-type]
            everything.append(_time(partial(journal.record, document, "All")))
        reading = [_time(lambda: read_journal(journal.path)) for _ in range(3)]
        syncs = [_time(journal.sync)]
        journal.remove()
    content = to_bytes(stored(document))
    writing = [_time(lambda: to_bytes(stored(document))) for _ in range(5)]
    opening = [_time(lambda: from_bytes(content)) for _ in range(5)]
    return [
        _figure(f"{name}: a change in the journal", changes, LIMIT),
        _figure(f"{name}: a change of 200 marks", everything),
        _figure(f"{name}: beginning a journal", begins),
        _figure(f"{name}: reading a journal of 306 changes", reading),
        _figure(f"{name}: the disk's answer (fsync)", syncs),
        _figure(f"{name}: a review as text", writing),
        _figure(f"{name}: a review from text", opening),
        {"name": f"{name}: kB a change", "value": size / 1000, "limit": None, "holds": True},
        {"name": f"{name}: kB of a review", "value": len(content) / 1000, "limit": None,
         "holds": True},
    ]  # fmt: skip


def _figure(name: str, seconds: list[float], limit: float | None = None) -> dict[str, Any]:
    value = median(seconds) * 1000
    holds = limit is None or value <= limit
    return {"name": name, "value": value, "limit": limit, "holds": holds}


def _time(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun
