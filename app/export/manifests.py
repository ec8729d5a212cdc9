"""The list that stands beside pictures: ``manifest.json`` has them in their order."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from analysis.timebase import Span
from app.export.frames import Picture
from app.review.document import Document, ReviewedMark

#: Told before each picture: how many are done, how many there are, the name of the next.
Progress = Callable[[int, int, str], None]

MANIFEST: Final = "manifest.json"


def about_mark(reviewed: ReviewedMark) -> dict[str, Any]:
    """What the manifest says of the mark that a picture shows."""
    return {
        "mark": reviewed.id,
        "kind": reviewed.mark.kind,
        "label": reviewed.label,
        "sentence": reviewed.sentence,
        "span": about_span(reviewed.mark.span),
    }


def about_span(span: Span) -> dict[str, float]:
    """A stretch in quarter notes from the first measure."""
    return {"onset": float(span.start), "duration": float(span.duration)}


def about_picture(document: Document, picture: Picture) -> dict[str, Any]:
    """What the manifest says of a picture: size and height of the smallest capitals in pixels."""
    measures = document.score.measures
    return {
        "measures": [
            [measures[first].number, measures[last].number] for first, last in picture.measures
        ],
        "size": [picture.frame.width, picture.frame.height],
        "text_height": round(picture.text_height, 1),
        "warnings": list(picture.warnings),
    }


def manifest_bytes(rows: Iterable[Mapping[str, Any]]) -> bytes:
    """The manifest as a JSON file."""
    return (json.dumps(list(rows), ensure_ascii=False, indent=1) + "\n").encode()


def pictures_of_marks(folder: Path) -> dict[str, tuple[str, ...]]:
    """Names of the pictures in a folder by the id of their mark; none without a manifest."""
    try:
        rows = json.loads((folder / MANIFEST).read_bytes())
        found: dict[str, tuple[str, ...]] = {}
        for row in rows:
            found[str(row["mark"])] = (*found.get(str(row["mark"]), ()), str(row["file"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return {}
    return found
