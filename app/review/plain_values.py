"""Values of a review as plain JSON values, and back.

Text for pitches, keys and fractions; nothing that is found again. Reading is strict: a number is
not taken for text, unknown fields are refused, so that what is damaged is not read as something
else.
"""

from __future__ import annotations

from functools import cache
from typing import Any, TypeVar

import cattrs
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from analysis.errors import OverstaveError, ReviewFileError
from analysis.marks import Mark
from analysis.pitch import Key, Pitch, PitchName
from analysis.timebase import Fraction, parse_offset
from app.review.document import Decision, Leftover
from app.review.skeletons import BonePart, part_from_plain, part_to_plain

Value = TypeVar("Value")


def to_plain(value: Any) -> Any:
    """A value of the review as dictionaries, lists, text and numbers."""
    return _converter().unstructure(value)


def from_plain(plain: Any, kind: type[Value]) -> Value:
    """A value again.

    Raises
    ------
    ReviewFileError
        If the plain values do not make one.
    """
    try:
        value: Value = _converter().structure(plain, kind)
    except (cattrs.BaseValidationError, OverstaveError, ArithmeticError) as error:
        details = "\n".join(cattrs.transform_error(error))
    except (TypeError, ValueError, KeyError, AttributeError) as error:
        details = repr(error)
    else:
        return value
    raise ReviewFileError("The review file is damaged: a decision makes no sense.", details)


@cache
def _converter() -> cattrs.Converter:
    """The rules; kept, since cattrs writes and compiles a function for each kind of value."""
    converter = cattrs.Converter(forbid_extra_keys=True, prefer_attrib_converters=False)
    for kind, read in (
        (PitchName, PitchName.parse),
        (Pitch, Pitch.parse),
        (Key, Key.parse),
        (Fraction, parse_offset),
    ):
        converter.register_unstructure_hook(kind, str)
        converter.register_structure_hook(kind, _text_reader(read))
    converter.register_structure_hook(str, _text)
    converter.register_structure_hook(float, _exactly(float, int))
    converter.register_structure_hook(int, _exactly(int))
    converter.register_structure_hook(bool, _exactly(bool))
    converter.register_unstructure_hook(BonePart, part_to_plain)
    converter.register_structure_hook(BonePart, lambda plain, _: part_from_plain(plain))
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
    for brief in (Decision, Leftover):
        converter.register_unstructure_hook(
            brief, make_dict_unstructure_fn(brief, converter, _cattrs_omit_if_default=True)
        )
    return converter


def _text_reader(read: Any) -> Any:
    """A structure hook for values kept as text."""

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, str):
            raise TypeError(f"expected text, found {value!r}")
        return read(value)

    return structure


def _text(value: Any, _: Any) -> str:
    """Text that can be written again: JSON may hold halves of characters."""
    if not isinstance(value, str):
        raise TypeError(f"expected text, found {value!r}")
    if not value.isascii():
        value.encode()
    return value


def _exactly(*kinds: type) -> Any:
    """A structure hook that takes these JSON types and does not convert others."""

    def structure(value: Any, _: Any) -> Any:
        if not isinstance(value, kinds) or (isinstance(value, bool) and bool not in kinds):
            raise TypeError(f"expected {kinds[0].__name__}, found {value!r}")
        return kinds[0](value)

    return structure
