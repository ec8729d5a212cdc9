"""Names of pictures, and the list that stands beside them.

A name says the place in the order, the measure and what is shown, in letters that every file system
takes: ``03-m14-chord-V7-vi.png``. ``manifest.json`` lists the pictures in their order.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

from app.engraving.musictext import plain_text
from app.export.frames import Frame
from app.review.document import Document, ReviewedMark

#: Told before each picture: how many are done, how many there are, the name of the next.
Progress = Callable[[int, int, str], None]

MANIFEST: Final = "manifest.json"
_LONGEST: Final = 32


def file_stem(document: Document, reviewed: ReviewedMark, number: int) -> str:
    """The name of a mark's picture without its ending; ``number`` is its place in the order."""
    measure = document.score.measure_at(reviewed.mark.span.start).number
    words = [
        f"{number:02d}",
        f"m{_safe(measure)}",
        _safe(reviewed.mark.kind),
        _safe(reviewed.label),
    ]
    return "-".join(word for word in words if word)


def manifest_row(
    document: Document,
    reviewed: ReviewedMark,
    file: str,
    frame: Frame,
    passages: Iterable[tuple[int, int]],
    more: Mapping[str, Any],
) -> dict[str, Any]:
    """What the manifest says of one picture.

    ``passages`` are first and last index of the measures shown; onsets and durations are quarter
    notes from the first measure, size is in pixels.
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
        "measures": [[measures[first].number, measures[last].number] for first, last in passages],
        "size": [frame.width, frame.height],
        **more,
    }


def manifest_bytes(rows: Iterable[Mapping[str, Any]]) -> bytes:
    """The manifest as a JSON file."""
    return (json.dumps(list(rows), ensure_ascii=False, indent=1) + "\n").encode()


def _safe(text: str) -> str:
    """Letters and digits of ASCII, everything else a hyphen."""
    plain = unicodedata.normalize("NFKD", plain_text(text)).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9]+", "-", plain)[:_LONGEST].strip("-")
