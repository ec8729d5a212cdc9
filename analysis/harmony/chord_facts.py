"""From placed chords and key regions to facts: numeral, function, resolution, scale of a chord.

The detectors of functions, heard thirds and scales are called in order here and what they say of
one chord is put together.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

from analysis.chords import Chord
from analysis.harmony.chord_roles import ChordRole
from analysis.harmony.chord_scales import ChordScale, find_chord_scales
from analysis.harmony.functions import find_functions
from analysis.harmony.resolutions import find_resolutions
from analysis.marks import ChordFact, KeyRegion, PlacedChord
from analysis.pitch import Key
from analysis.vocabulary.dominants import (
    ChordInKey,
    Dominant,
    blues_regions,
    find_dominants,
    next_root,
    spelled_target,
    target_in,
)
from analysis.vocabulary.numerals import Target, name_numeral
from analysis.vocabulary.thirds import HeardThird, find_thirds
from analysis.vocabulary.voices import HeldNote
from analysis.vocabulary.wording import chord_text

#: Tag of the first chord of the piece that is outside its key.
FIRST_OUTSIDE: Final = "first outside"
#: Changes of root back, and chords on, that a fact may look at.
_ROOTS: Final = 3
_CHORDS: Final = 2
#: Fifths from a tonic to its leading tone.
_LEADING_TONE: Final = 5


def find_chord_facts(
    placed: Sequence[PlacedChord],
    regions: Sequence[KeyRegion],
    line: Sequence[HeldNote] = (),
) -> tuple[ChordFact, ...]:
    """Facts of every placed chord, in the same order.

    Parameters
    ----------
    placed
        Chords in order of time, without overlap.
    regions
        Key regions that tile the piece; at least one where there is a chord.
    line
        The melody in order of time; it tells missing thirds and chord scales.
    """
    row = row_of(placed, regions)
    thirds = find_thirds(row, line)
    return mark_first_outside(find_plain_facts(placed, row, line, blues_regions(row), thirds))


def row_of(placed: Sequence[PlacedChord], regions: Sequence[KeyRegion]) -> tuple[ChordInKey, ...]:
    """The chords as heard, with the key, and its confidence, of the region that each begins in."""
    starts = [float(region.span.start) for region in regions]
    homes = [regions[max(bisect_right(starts, float(one.span.start)) - 1, 0)] for one in placed]
    following = [*(one.chord for one in placed[1:]), None][: len(placed)]
    return tuple(
        ChordInKey(one.span, _by_sound(one, after, home.key), home.key, home.confidence)
        for one, after, home in zip(placed, following, homes, strict=True)
    )


def _by_sound(placed: PlacedChord, after: Chord | None, key: Key) -> Chord | None:
    """The chord as it is heard before what follows, where its symbol names it otherwise."""
    chord = placed.chord
    if chord is None or after is None or not placed.symbol:
        return chord
    above = (chord.bass.pc - chord.root.pc) % 12
    falls = (after.root.pc - chord.root.pc) % 12 == 5
    if falls and chord.triad == "maj" and not chord.seventh and above == 10:
        # A major triad over its minor seventh that falls a fifth: D/C before G/B is D7 over C.
        return replace(chord, degrees=tuple(sorted((*chord.degrees, (7, -1)))))
    if (chord.triad, chord.seventh, above) == ("dim", "d7", 0):
        return _on_leading_tone(chord, after, key)
    return chord


def _on_leading_tone(chord: Chord, after: Chord, key: Key) -> Chord:
    """A diminished seventh on the leading tone that what follows asks for, where it is a tone.

    Its tones all lie a minor third apart, so that a symbol may name any of them for its root: Fdim7
    before C is Bdim7 over F.
    """
    aim = target_in(key, after.root.pc)
    leading = (after.root.pc + 11) % 12
    if aim is None or leading == chord.root.pc or leading not in chord.pitch_classes:
        return chord
    heard = Chord(aim.root + _LEADING_TONE, chord.degrees, chord.bass, chord.kind)
    return replace(heard, bass=next(tone for tone in heard.tones if tone.pc == chord.bass.pc))


def find_plain_facts(
    placed: Sequence[PlacedChord],
    row: Sequence[ChordInKey],
    line: Sequence[HeldNote],
    blues: frozenset[Key],
    thirds: Sequence[HeardThird | None],
    asked: range | None = None,
) -> tuple[ChordFact, ...]:
    """Facts of chords that may be a part of the piece, before the first outside the key is marked.

    Parameters
    ----------
    placed, row
        The same chords, placed and in their keys.
    blues
        Keys of the whole piece that are a blues.
    thirds
        Those heard in the chords without one, from the whole piece.
    asked
        Indexes of the chords whose facts are asked for; None for all.
    """
    if asked is None:
        asked = range(len(row))
    else:
        # What the outermost facts look at.
        left, right = max(asked.start - _CHORDS, 0), _roots_away(row, asked.stop, 1)
        placed, row, thirds = placed[left:right], row[left:right], thirds[left:right]
        asked = range(asked.start - left, asked.stop - left)
    # A pair of chords and a scale look at the chord on either side.
    wide = range(max(asked.start - 1, 0), min(asked.stop + 1, len(row)))
    found = find_dominants(row, blues)
    weighed = [_as_weighed(placed[at], row, at, one) for at, one in enumerate(found)]
    roles = find_functions(row, find_resolutions(row, weighed), blues, wide)
    facts = [_fact(placed[at], row[at], roles[at], thirds[at], row) for at in wide]
    scales = find_chord_scales(facts, line)
    return tuple(_with_scale(facts[at - wide.start], scales[at - wide.start]) for at in asked)


def facts_beside(row: Sequence[ChordInKey], first: int, last: int) -> range:
    """Indexes of the chords whose facts may look at those from ``first`` up to ``last``.

    Three changes of root back: a dominant waits for the next root, that root's own resolution is
    asked for, and a related ii stands before both. Two chords on.
    """
    return range(_roots_away(row, first, -1), min(last + _CHORDS, len(row)))


def _roots_away(row: Sequence[ChordInKey], at: int, step: int) -> int:
    """An index three changes of root before (-1) or after (1) another; one past the end is fine."""
    changes = 0
    while 0 < at < len(row) and changes <= _ROOTS:
        here, there = row[at].chord, row[at - 1].chord
        changes += here is None or there is None or here.root.pc != there.root.pc
        at += step
    return min(max(at, 0), len(row))


def mark_first_outside(facts: Sequence[ChordFact]) -> tuple[ChordFact, ...]:
    """The facts of a whole piece, the first one outside its key tagged as such.

    A mode's own chords are at home in it, whatever `ChordFact.outside_key` says.
    """
    for at, fact in enumerate(facts):
        if fact.foreign:
            tagged = replace(fact, tags=(*fact.tags, FIRST_OUTSIDE))
            return (*facts[:at], tagged, *facts[at + 1 :])
    return tuple(facts)


def _as_weighed(
    placed: PlacedChord, row: Sequence[ChordInKey], at: int, found: Dominant | None
) -> Dominant | None:
    """The dominant as the notes were heard: whoever infers a chord has weighed its target too."""
    if not placed.weighed or placed.chord is None:
        return found
    if placed.applied_root is None:
        return None if found is not None and found.applied else found
    if found is not None and found.applied and found.target.root.pc == placed.applied_root.pc:
        return found
    aimed = target_in(row[at].key, placed.applied_root.pc)
    target = aimed or Target(placed.applied_root, minor=False)
    kind: Literal["V", "vii"] = "vii" if placed.chord.triad == "dim" else "V"
    arrival = next_root(row, at)
    came = row[arrival].chord if arrival >= 0 else None
    arrived = came is not None and came.root.pc == target.root.pc
    return Dominant(kind, target, True, "resolves" if arrived else "unresolved", arrival)


def _fact(
    placed: PlacedChord,
    held: ChordInKey,
    role: ChordRole | None,
    third: HeardThird | None,
    row: Sequence[ChordInKey],
) -> ChordFact:
    if placed.chord is None or role is None:
        return ChordFact(
            placed.span, placed.symbol, placed.elements, held.key, None, None, "", False
        )
    dominant = role.dominant
    substitute = "subV" if dominant is not None and dominant.kind == "subV" else ""
    sure = third.confidence if third is not None else 1.0
    heard = held.chord or placed.chord
    by_sound = f"By its tones it is {chord_text(heard)}." if heard != placed.chord else ""
    return ChordFact(
        span=placed.span,
        symbol=placed.symbol,
        elements=placed.elements,
        key=held.key,
        chord=placed.chord,
        numeral=name_numeral(
            heard,
            held.key,
            role.target,
            special=role.special or substitute,
            minor=third.minor if third is not None else None,
        ),
        function=role.function,
        outside_key=role.outside,
        resolution=dominant.resolution if dominant else "",
        expected=spelled_target(dominant.target) if dominant else "",
        came=_arrival_text(dominant, row),
        reasons=tuple(
            one for one in (by_sound, third.reason if third else "", *role.reasons) if one
        ),
        alternatives=role.alternatives,
        confidence=role.confidence * placed.confidence * held.confidence * sure,
        tags=(*role.tags, *_heard_as(third)),
    )


def _heard_as(third: HeardThird | None) -> tuple[str, ...]:
    """The tag of a chord without a third: how it is heard."""
    return () if third is None else ("heard as minor" if third.minor else "heard as major",)


def _arrival_text(dominant: Dominant | None, row: Sequence[ChordInKey]) -> str:
    """The chord that came after a dominant, as a chord symbol; empty where none did."""
    if dominant is None or dominant.arrival < 0:
        return ""
    return chord_text(row[dominant.arrival].chord)


def _with_scale(fact: ChordFact, scale: ChordScale | None) -> ChordFact:
    if scale is None or not scale.names:
        return fact
    return replace(fact, scale=scale.text, reasons=(*fact.reasons, scale.reason))
