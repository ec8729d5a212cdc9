"""Review files: the decisions of one review as versioned JSON.

The file holds what the user decided and enough of the source to recognise it; the score and the
analysis are made again from the source. `review.schema.json` beside this module is the contract.
Offsets are exact fractions written as strings (``"7/2"``), pitches and keys as in the text forms of
`analysis.pitch`.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, Final

import cattrs
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from analysis.errors import OverstaveError, ReviewFileError
from analysis.marks import Analysis, Corrections, Mark
from analysis.pitch import Key, Pitch, PitchName
from analysis.score import Score
from app.review.document import Decision, Document, SourceInfo
from app.review.files import write_atomically

FORMAT: Final = "overstave-review"
VERSION: Final = 1
SUFFIX: Final = ".review.json"


@dataclass(frozen=True, slots=True)
class StoredReview:
    """What a review file holds."""

    source: SourceInfo
    decisions: Mapping[str, Decision] = field(default_factory=dict)
    own_marks: tuple[Mark, ...] = ()
    corrections: Corrections = Corrections()
    order: tuple[str, ...] = ()
    section_colours: Mapping[str, str] = field(default_factory=dict)


def review_path(score_path: Path) -> Path:
    """Where the review of a score is kept unless the user says otherwise: beside it."""
    return score_path.with_name(score_path.stem + SUFFIX)


def stored(document: Document) -> StoredReview:
    """The part of a document that is kept in its review file."""
    return StoredReview(
        source=document.source,
        decisions=document.decisions,
        own_marks=document.own_marks,
        corrections=document.corrections,
        order=document.order,
        section_colours=document.section_colours,
    )


def document_of(
    review: StoredReview, source: SourceInfo, score: Score, analysis: Analysis
) -> Document:
    """A document from a stored review and a fresh reading and analysis of its source."""
    return Document(
        source=source,
        score=score,
        analysis=analysis,
        decisions=review.decisions,
        own_marks=review.own_marks,
        corrections=review.corrections,
        order=review.order,
        section_colours=review.section_colours,
    )


def to_bytes(review: StoredReview) -> bytes:
    """The review as JSON text; the same review gives the same bytes."""
    plain = {"format": FORMAT, "version": VERSION, **_converter().unstructure(review)}
    return (json.dumps(plain, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode()


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
    try:
        review: StoredReview = _converter().structure(
            {name: value for name, value in plain.items() if name not in ("format", "version")},
            StoredReview,
        )
    except (cattrs.BaseValidationError, OverstaveError, TypeError, ValueError, KeyError) as error:
        details = "\n".join(cattrs.transform_error(error))
        raise ReviewFileError(
            "The review file is damaged: a decision makes no sense.", details
        ) from None
    return review


def read_review(path: Path) -> StoredReview:
    """Read a review file; see `from_bytes` for what it raises beside errors of the disk."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise ReviewFileError(
            f"The review file {path.name} could not be read: {error.strerror or error}."
        ) from error
    return from_bytes(content)


def write_review(path: Path, document: Document) -> None:
    """Save the decisions of a document in one step; the last good copy stays beside it.

    Raises
    ------
    ReviewFileError
        If the disk is full or the folder cannot be written; the old file is untouched.
    """
    try:
        write_atomically(path, to_bytes(stored(document)), previous_copy(path))
    except OSError as error:
        raise ReviewFileError(
            f"The review could not be saved in {path.parent}: {error.strerror or error}. "
            "Save it in another folder; nothing is lost while the program is open."
        ) from error


def previous_copy(path: Path) -> Path:
    """The name under which the review before the last save is kept."""
    return path.with_name(path.name + ".previous")


def _no_constant(name: str) -> Any:
    """JSON has no NaN or Infinity; Python's reader would let them in."""
    raise ValueError(f"{name} is not JSON")


@cache
def _converter() -> cattrs.Converter:
    """How values become JSON and back: text for pitches, keys and fractions, no facts.

    Kept, since it writes and compiles a function for each kind of value.
    """
    converter = cattrs.Converter(forbid_extra_keys=True, prefer_attrib_converters=False)
    for kind, read in (
        (PitchName, PitchName.parse),
        (Pitch, Pitch.parse),
        (Key, Key.parse),
        (Fraction, Fraction),
    ):
        converter.register_unstructure_hook(kind, str)
        converter.register_structure_hook(kind, _text_reader(read))
    converter.register_structure_hook(str, _exactly(str))
    converter.register_structure_hook(float, _exactly(float, int))
    converter.register_structure_hook(int, _exactly(int))
    converter.register_structure_hook(bool, _exactly(bool))
    # A fact is what the analysis found; it is found again, never stored.
    converter.register_unstructure_hook(
        Mark,
        make_dict_unstructure_fn(
            Mark, converter, _cattrs_omit_if_default=True, fact=override(omit=True)
        ),
    )
    converter.register_structure_hook(
        Mark,
        make_dict_structure_fn(
            Mark, converter, _cattrs_forbid_extra_keys=True, fact=override(omit=True)
        ),
    )
    converter.register_unstructure_hook(
        Decision, make_dict_unstructure_fn(Decision, converter, _cattrs_omit_if_default=True)
    )
    return converter


def _text_reader(read: Any) -> Any:
    """A structure hook for values kept as text."""

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, str):
            raise TypeError(f"expected text, found {value!r}")
        return read(value)

    return structure


def _exactly(*kinds: type) -> Any:
    """A structure hook that takes these JSON types and does not convert others."""

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
            raise TypeError(f"expected {kinds[0].__name__}, found {value!r}")
        return kinds[0](value)

    return structure
