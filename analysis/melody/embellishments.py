"""Kinds of non-chord tones, from how a note is approached, left and accented.

The task is to name a note that is foreign to its chord by what it does: it passes, it turns around,
it is held over, it leans, it escapes, it comes early. Each kind is a pattern of the interval before
it, the interval after it and its accent. Steps are one or two half steps.

Kinds
-----
========== ================== ========================= ==========
kind       approach           departure                 accent
========== ================== ========================= ==========
PT         step               step on, same direction   any
NT         step               step back to the same     any
NT double  step               leap across to the other side, then step back
APP        leap (or nothing)  step, the other way       accented
SUS        the same note      step down                 accented
RET        the same note      step up                   accented
ESC        step               leap                      unaccented
ANT        any                the same note, now a tone of the next chord
========== ================== ========================= ==========

A leap in and a step out without accent is an incomplete neighbour, and so is a leap that goes on by
half step. What fits none of them has no
kind here: in rock many melody notes do not resolve by step, and that is no error.

References
----------
Open Music Theory v1, *embellishingTones*. D. Temperley, "The melodic-harmonic divorce in rock",
*Popular Music* 26/2, 2007 (abstract).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "passing",
    "neighbour",
    "double neighbour",
    "appoggiatura",
    "suspension",
    "retardation",
    "escape",
    "anticipation",
    "",
]


@dataclass(frozen=True, slots=True)
class Setting:
    """How a note that is foreign to its chord stands in its line.

    Parameters
    ----------
    approach, departure
        Half steps from the note before and to the note after, up positive; None where a rest or
        nothing stands there.
    accented
        Whether it is stronger in the measure than the note that follows.
    prepared
        The same pitch sounded just before as a tone of the chord before.
    early
        The same pitch follows as a tone of the next chord.
    across, home
        Half steps from the note after to the one after that, and whether that is the pitch from
        which this note was approached, with the note between also foreign to the chord.
    second
        Whether this is the second note of such a pair.
    resolves
        Whether the note after is a tone of the chord that it belongs to.
    """

    approach: int | None
    departure: int | None
    accented: bool
    prepared: bool = False
    early: bool = False
    across: int | None = None
    home: bool = False
    second: bool = False
    resolves: bool = True


def is_step(interval: int | None) -> bool:
    """One or two half steps, up or down."""
    return interval is not None and 1 <= abs(interval) <= 2


def name_kind(setting: Setting) -> Kind:
    """The kind of a note that is foreign to its chord, empty where it is none of them.

    Examples
    --------
    >>> name_kind(Setting(approach=2, departure=2, accented=False))
    'passing'
    >>> name_kind(Setting(approach=5, departure=-2, accented=True))
    'appoggiatura'
    """
    into, out = setting.approach, setting.departure
    if setting.early:
        return "anticipation"
    if out is None:
        return ""
    if setting.prepared and is_step(out):
        return "suspension" if out < 0 else "retardation"
    if setting.second and is_step(out):
        return "double neighbour"
    if is_step(into) and is_step(out):
        assert into is not None
        if into * out > 0:
            return "passing"
        return "neighbour" if into == -out or abs(into + out) == 1 else ""
    if is_step(into):
        assert into is not None
        if setting.home and into * out < 0 and is_step(setting.across):
            return "double neighbour"
        # Struck again over another chord to which it is foreign too, it has not left.
        return "" if setting.accented or out == 0 else "escape"
    if is_step(out) and (into is None or into == 0 or into * out < 0):
        if setting.accented:
            return "appoggiatura" if setting.resolves else ""
        return "neighbour"
    return "neighbour" if abs(out) == 1 else ""
