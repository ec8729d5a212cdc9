"""Time in quarter notes: offsets, spans, meters.

Offsets are exact fractions of a quarter note counted from the start of the first measure in written
order, so triplets add up. A span is half-open: it holds its start and not its end.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction as Fraction
else:
    # The same numbers from compiled code: adding and comparing them is most of an analysis's work.
    from quicktions import Fraction

Offset = Fraction


def parse_offset(text: str) -> Offset:
    """Read an offset or duration as its own text writes it.

    Python's own reader also takes ``1e999999999``, which costs all memory there is.

    Raises
    ------
    ValueError
        If it is anything but a whole number or a fraction of at most twelve digits.

    Examples
    --------
    >>> parse_offset("7/2"), parse_offset("-4")
    (Fraction(7, 2), Fraction(-4, 1))
    """
    if re.fullmatch(r"-?[0-9]{1,12}(/[1-9][0-9]{0,11})?", text) is None:
        raise ValueError(f"{text[:40]!r} is no number of quarter notes")
    return Fraction(text)


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """The stretch ``[start, end)`` in quarter notes."""

    start: Offset
    end: Offset

    @property
    def duration(self) -> Offset:
        """Length in quarter notes."""
        return self.end - self.start

    def __contains__(self, offset: Offset) -> bool:
        """Whether the offset lies in the span; the end does not."""
        return self.start <= offset < self.end

    def overlaps(self, other: Span) -> bool:
        """Whether the two share more than a border."""
        return self.start < other.end and other.start < self.end


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature. ``beats``/``beat_type`` as printed, such as 6/8."""

    beats: int
    beat_type: int

    @property
    def length(self) -> Offset:
        """Nominal measure length in quarter notes."""
        return Fraction(4 * self.beats, self.beat_type)

    @property
    def beat(self) -> Offset:
        """Length of the felt beat: a dotted note in compound meters (6/8, 9/8, 12/8)."""
        unit = Fraction(4, self.beat_type)
        return unit * 3 if self.beats > 3 and self.beats % 3 == 0 and self.beat_type >= 8 else unit
