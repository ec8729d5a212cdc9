"""Review files: the decisions of one review as versioned JSON.

The file holds what the user decided and enough of the source to recognise it; the score and the
analysis are made again from the source. `review.schema.json` beside this module is the contract.
Offsets are exact fractions written as strings (``"7/2"``), pitches and keys as in the text forms of
`analysis.pitch`.

Versions: 1 kept the decisions alone; 2 also keeps the music that they were made about (see
`app.review.skeletons`), the marks that only the order of the talking points names, and what is
left over from earlier transcriptions; 3 also keeps the function of a chosen reading, which tells
readings of one label apart. A file of version 1 is read as one without music, and in one of version
2 a chosen reading is the first of its label; saving makes it one of version 3.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from analysis.errors import ReviewFileError
from analysis.marks import Analysis, Corrections, Mark
from analysis.score import Score
from app.review.document import Decision, Document, Leftover, SourceInfo
from app.review.files import content_of, write_atomically
from app.review.plain_values import from_plain, to_plain
from app.review.skeletons import Skeleton, skeleton_of

FORMAT: Final = "overstave-review"
VERSION: Final = 3
SUFFIX: Final = ".review.json"
#: How far in a value begins a line of its own; below, its values share its line.
_DEEPEST: Final = 5
#: Most bytes that are read, as many as of a score.
_LARGEST: Final = 64 * 1024**2
_ENCODE: Final = json.JSONEncoder(ensure_ascii=False, sort_keys=True).encode


@dataclass(frozen=True, slots=True)
class StoredReview:
    """What a review file holds.

    ``skeleton`` is the music that the decisions were made about, None in files of version 1.
    ``ordered`` keeps the marks that are named in ``order`` and nowhere else, so that they can be
    found again in other music.
    """

    source: SourceInfo
    skeleton: Skeleton | None = None
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    own_marks: tuple[Mark, ...] = ()
    corrections: Corrections = Corrections()
    order: tuple[str, ...] = ()
    ordered: tuple[Mark, ...] = ()
    section_colours: Mapping[str, str] = field(default_factory=dict)
    leftovers: tuple[Leftover, ...] = ()


def review_path(score_path: Path) -> Path:
    """Where the review of a score is kept unless the user says otherwise: beside it."""
    return score_path.with_name(score_path.stem + SUFFIX)


def score_of(review_file: Path, review: StoredReview) -> Path:
    """Where the score of a review is: where it was, or beside the review."""
    path = Path(review.source.path)
    beside = review_file.with_name(review.source.name)
    return beside if not os.path.exists(path) and os.path.exists(beside) else path


def stored(document: Document, skeleton: Skeleton | None = None) -> StoredReview:
    """The part of a document that is kept in its review file.

    The skeleton is made from the score unless it is handed in.
    """
    kept = {*document.decisions, *(mark.id for mark in document.own_marks)}
    loose = set(document.order) - kept
    return StoredReview(
        source=document.source,
        skeleton=skeleton or skeleton_of(document.score),
        decisions=document.decisions,
        own_marks=document.own_marks,
        corrections=document.corrections,
        order=document.order,
        ordered=tuple(mark for mark in document.analysis.marks if mark.id in loose),
        section_colours=document.section_colours,
        leftovers=document.leftovers,
    )


def document_of(
    review: StoredReview, source: SourceInfo, score: Score, analysis: Analysis
) -> Document:
    """A document from a stored review and a fresh reading and analysis of its source.

    The source must hold the music that the review was made about; where it has changed, see
    `app.review.carrying` first.
    """
    return Document(
        source=source,
        score=score,
        analysis=analysis,
        decisions=review.decisions,
        own_marks=review.own_marks,
        corrections=review.corrections,
        order=review.order,
        section_colours=review.section_colours,
        leftovers=review.leftovers,
    )


def to_bytes(review: StoredReview) -> bytes:
    """The review as JSON text; the same review gives the same bytes."""
    text = "".join(_pieces(review_to_plain(review), "\n"))
    # A half character that got in from a clipboard must not keep a review from being saved.
    return f"{text}\n".encode(errors="replace")


def from_bytes(content: bytes) -> StoredReview:
    """Read a review from the bytes of its file.

    Raises
    ------
    ReviewFileError
        If it is damaged, no review file at all, or of a newer version.
    """
    try:
        plain = json.loads(content.decode("utf-8"), parse_constant=_no_constant)
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise ReviewFileError("The review file is damaged: it is not JSON.", str(error)) from None
    return review_from_plain(plain)


def _pieces(value: Any, line: str) -> Iterator[str]:
    """JSON with a line for each decision and measure, so that two files can be compared."""
    if len(line) > _DEEPEST or not isinstance(value, dict | list | tuple) or not value:
        yield _ENCODE(value)
    elif isinstance(value, dict):
        for at, name in enumerate(sorted(value)):
            yield f"{',' if at else '{'}{line} {_ENCODE(name)}: "
            yield from _pieces(value[name], f"{line} ")
        yield f"{line}}}"
    else:
        for at, one in enumerate(value):
            yield f"{',' if at else '['}{line} "
            yield from _pieces(one, f"{line} ")
        yield f"{line}]"


def review_to_plain(review: StoredReview) -> dict[str, Any]:
    """The review as JSON values, with format and version."""
    return {"format": FORMAT, "version": VERSION, **to_plain(review)}


def review_from_plain(plain: Any) -> StoredReview:
    """Read a review from JSON values of this version or an older one; see `from_bytes`."""
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        raise ReviewFileError("This is not a review file of this program.")
    version = plain.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise ReviewFileError("The review file is damaged: it does not say its version.")
    if version > VERSION:
        raise ReviewFileError(
            f"The review file is of version {version}; this program reads up to {VERSION}. "
            "Open it with a newer program; it was not changed."
        )
    fields = {name: value for name, value in plain.items() if name not in ("format", "version")}
    if version == 1:
        fields = _from_first_version(fields)
    return from_plain(fields, StoredReview)


def _from_first_version(fields: dict[str, Any]) -> dict[str, Any]:
    """Version 1 kept no music: what later versions added must not be in it."""
    added = {"skeleton", "ordered", "leftovers"} & set(fields)
    if added:
        raise ReviewFileError(
            "The review file is damaged: it says an older version than it is of.",
            ", ".join(sorted(added)),
        )
    return fields


def read_review(path: Path) -> StoredReview:
    """Read a review file; see `from_bytes` for what it raises beside errors of the disk."""
    try:
        if not path.is_file() and path.exists():
            raise ReviewFileError(f"The review file {path.name} is not an ordinary file.")
        with path.open("rb") as file:
            content = file.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        raise ReviewFileError(
            f"The review file {path.name} could not be read: {reason or error}."
        ) from error
    if len(content) > _LARGEST:
        raise ReviewFileError(
            f"The review file {path.name} is larger than {_LARGEST // 1024**2} MB, "
            "more than a review can be; it was not read."
        )
    return from_bytes(content)


def write_review(path: Path, document: Document, skeleton: Skeleton | None = None) -> None:
    """Save the decisions of a document in one step; what stood there before is kept beside it.

    A good review becomes the previous copy. What is damaged, or of a newer program, keeps a name of
    its own, so that it does not take the place of the last good copy.

    Raises
    ------
    ReviewFileError
        If the disk is full or the folder cannot be written; the old file is untouched.
    """
    try:
        kept = previous_copy(path) if _is_good(path) else _free_name(path)
        write_atomically(path, to_bytes(stored(document, skeleton)), kept)
    except OSError as error:
        raise ReviewFileError(
            f"The review could not be saved in {path.parent}: {error.strerror or error}. "
            "Save it in another folder; nothing is lost while the program is open."
        ) from error


def previous_copy(path: Path) -> Path:
    """The name under which the review before the last save is kept."""
    return path.with_name(path.name + ".previous")


def _is_good(path: Path) -> bool:
    """Whether a review of this version or an older one stands there, or nothing at all."""
    try:
        plain = json.loads(content_of(path))
    except FileNotFoundError:
        return True
    except (OSError, ValueError, RecursionError):
        return False
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        return False
    version = plain.get("version")
    return isinstance(version, int) and version <= VERSION


def _free_name(path: Path) -> Path:
    """A name beside the file under which nothing is kept yet."""
    numbers = ("", *(f"-{number}" for number in range(2, 1000)))
    names = (path.with_name(f"{path.name}.unread{number}") for number in numbers)
    return next((name for name in names if not name.exists()), previous_copy(path))


def _no_constant(name: str) -> Any:
    """JSON has no NaN or Infinity; Python's reader would let them in."""
    raise ValueError(f"{name} is not JSON")
