"""The list that stands beside pictures: ``manifest.json`` has them in their order."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from app.export.frames import Picture
from app.review.document import Document, ReviewedMark

#: Told before each picture: how many are done, how many there are, the name of the next.
Progress = Callable[[int, int, str], None]

MANIFEST: Final = "manifest.json"


def manifest_row(
    document: Document,
    reviewed: ReviewedMark,
    file: str,
    picture: Picture,
    more: Mapping[str, Any],
) -> dict[str, Any]:
    """What the manifest says of one picture.

    Onsets and durations are quarter notes from the first measure; size and height of the smallest
    capitals are in pixels.
    """
    span = reviewed.mark.span
    measures = document.score.measures
    return {
        "file": file,
        "mark": reviewed.id,
        "kind": reviewed.mark.kind,
        "label": reviewed.label,
        "sentence": reviewed.sentence,
        "span": {"onset": float(span.start), "duration": float(span.duration)},
        "measures": [
            [measures[first].number, measures[last].number] for first, last in picture.measures
        ],
        "size": [picture.frame.width, picture.frame.height],
        "text_height": round(picture.text_height, 1),
        "warnings": list(picture.warnings),
        **more,
    }


def manifest_bytes(rows: Iterable[Mapping[str, Any]]) -> bytes:
    """The manifest as a JSON file."""
    return (json.dumps(list(rows), ensure_ascii=False, indent=1) + "\n").encode()
