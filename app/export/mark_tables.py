"""All marks with what was decided about them, as a table (CSV) and as JSON.

Both hold every mark, the rejected and the doubtful ones too, in order of time. The table is for
spreadsheets: a row a mark, commas, CRLF, UTF-8 without a byte order mark, quotes as RFC 4180 has
them. A spreadsheet would take a cell that begins with ``=``, ``+``, ``-`` or ``@`` (or with white
space before one) for a formula, so an apostrophe is put before it; a cell that begins with
apostrophes before such a sign gets one more, so that `read_csv` can take it away again.

JSON has the same and what a row has no room for: evidence, other readings, element ids and exact
offsets. ``mark_table.schema.json`` beside this module is its contract.

References
----------
RFC 4180. Formulas in cells: OWASP, *CSV Injection* (from memory).
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final

from analysis.marks import Reading
from app.export.marks_json import number
from app.export.talking_points import talking_points
from app.export.timing import Clock
from app.review.document import Document, ReviewedMark

FORMAT: Final = "overstave-marks"
VERSION: Final = 1
COLUMNS: Final = (
    "number",
    "measure",
    "beat",
    "seconds",
    "kind",
    "label",
    "sentence",
    "state",
    "comment",
    "confidence",
    "parts",
    "other readings",
    "onset",
    "duration",
    "id",
)
_FORMULA: Final = re.compile(r"'*\s*[=+\-@]|'*[\t\r\n]")
_DEFUSED: Final = re.compile(r"'(?='*\s*[=+\-@]|'*[\t\r\n])")


def to_csv(document: Document) -> bytes:
    """The table of all marks as a CSV file; its first row names the columns.

    ``number`` is the place among the talking points, from 1, empty for other marks; ``seconds``
    when the mark is first played; ``onset`` and ``duration`` are quarter notes.
    """
    text = io.StringIO(newline="")
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\r\n")
    writer.writeheader()
    for row in mark_rows(document):
        cells = {
            **row,
            "seconds": "" if row["seconds"] is None else f"{row['seconds']:.3f}",
            "number": "" if row["number"] is None else row["number"],
            "parts": ", ".join(row["parts"]),
            "other readings": "; ".join(_names(row["label"], row["other_readings"])),
        }
        writer.writerow({name: defused(str(cells[name])) for name in COLUMNS})
    return text.getvalue().encode()


def read_csv(content: bytes) -> list[dict[str, str]]:
    """The rows of a table that `to_csv` wrote, cells as they were before they were defused."""
    rows = csv.DictReader(io.StringIO(content.decode(), newline=""))
    return [{name: _DEFUSED.sub("", cell, count=1) if _DEFUSED.match(cell) else cell
             for name, cell in row.items()} for row in rows]  # fmt: skip


def to_table_json(document: Document) -> bytes:
    """All marks with their states as JSON; the same document gives the same bytes."""
    info = document.source
    table = {
        "format": FORMAT,
        "version": VERSION,
        "source": {"name": info.name, "sha256": info.digest, "title": document.score.title},
        "marks": mark_rows(document),
    }
    return (json.dumps(table, ensure_ascii=False, indent=1) + "\n").encode()


def mark_rows(document: Document) -> list[dict[str, Any]]:
    """What is said of each mark, in order of time."""
    clock = Clock(document.score)
    numbers = {point.id: at for at, point in enumerate(talking_points(document), start=1)}
    names = {part.id: part.name or part.id for part in document.score.parts}
    return [_row(document, reviewed, clock, numbers, names) for reviewed in document.marks()]


def defused(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if _FORMULA.match(cell) else cell


def _row(
    document: Document,
    reviewed: ReviewedMark,
    clock: Clock,
    numbers: Mapping[str, int],
    names: Mapping[str, str],
) -> dict[str, Any]:
    mark, score = reviewed.mark, document.score
    times = clock.times_of(mark.span.start)
    return {
        "id": reviewed.id,
        "number": numbers.get(reviewed.id),
        "kind": mark.kind,
        "measure": score.measure_at(mark.span.start).number,
        "beat": number(score.beat_at(mark.span.start)),
        "seconds": round(float(times[0]), 3) if times else None,
        "onset": number(mark.span.start),
        "duration": number(mark.span.duration),
        "exact_onset": str(mark.span.start),
        "exact_duration": str(mark.span.duration),
        "parts": [names.get(part, part) for part in mark.parts],
        "elements": list(mark.elements),
        "label": reviewed.label,
        "sentence": reviewed.sentence,
        "comment": reviewed.comment,
        "state": reviewed.state,
        "confidence": round(mark.confidence, 3),
        "found": {"label": mark.label, "sentence": mark.sentence},
        "evidence": [one.statement for one in mark.evidence],
        "other_readings": _readings(reviewed, mark.alternatives),
    }


def _names(said: str, readings: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """The labels of other readings, with the function where a label alone does not tell."""
    labels = [said, *(one["label"] for one in readings)]
    for one in readings:
        alone = labels.count(one["label"]) == 1 or not one["function"]
        yield one["label"] if alone else f"{one['label']} ({one['function']})"


def _readings(reviewed: ReviewedMark, readings: Sequence[Reading]) -> list[dict[str, Any]]:
    """The readings that were not chosen, the likeliest first as the mark has them."""
    held = reviewed.label, reviewed.function
    others: Iterable[Reading] = (
        one for one in readings if (one.label, one.function or held[1]) != held
    )
    return [
        {
            "label": one.label,
            "function": one.function,
            "reason": one.reason,
            "confidence": round(one.confidence, 3),
        }
        for one in others
    ]
