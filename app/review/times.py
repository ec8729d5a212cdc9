"""When a mark's pictures stand in the video, as the user typed it, and the edit that sets it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from analysis.errors import EditError
from analysis.timebase import Fraction
from app.review.document import Decision, Document, Time
from app.review.edits import with_decision

#: Parts of a second that are kept: every frame of every usual rate begins on such a fraction, and
#: the review file can hold it.
_FINEST: Final = 100_000
#: Longest video, in seconds.
_LONGEST: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class SetTimes:
    """Type times for marks, or take them back (None), in one step for one or many.

    Shifting and rippling a list is this edit with what `app.export.timing` makes of the list.
    """

    times: tuple[tuple[str, Time | None], ...]
    text: str = "Set time"

    def apply(self, document: Document) -> Document:
        """A time is no judgement: states and words stay as they are.

        Raises
        ------
        EditError
            If a time ends after a million seconds.
        """
        wanted = {mark_id: time and _kept(time) for mark_id, time in self.times}
        for before in [mark for mark in document.marks() if mark.id in wanted]:
            kept = before.decision or Decision("open")
            decision = replace(kept, time=wanted[before.id], mark=before.mark)
            empty = decision == Decision("open", mark=before.mark)
            document = with_decision(document, before.id, None if empty else decision)
        return document


def _kept(time: Time) -> Time:
    """The time in fractions of a second that can be kept; it moves by less than 10 microseconds."""
    if time.end > _LONGEST:
        raise EditError("No video is as long as that; type an earlier time.")
    start, length = (
        Fraction(value).limit_denominator(_FINEST) for value in (time.start, time.length)
    )
    return Time(start, max(length, Fraction(1, _FINEST)))
