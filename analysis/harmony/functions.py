"""Functions of chords: what each does, why, what else it could be, and how surely.

The task is to say of every chord whether it works as tonic, subdominant or dominant, with the
reason and the other defensible readings. Dominants come from `analysis.vocabulary.dominants`;
chords with a name of their own from `analysis.harmony.special_chords`; all others are told by table
and context (`analysis.harmony.chord_contexts`). Then chords that belong to a dominant get their
part in the pair, and each reading its share of belief (`analysis.harmony.chord_beliefs`).

Where only the continuation decides between two readings, the reason says which chord decided, and
the other reading is offered with what would have spoken for it; where more than the continuation
speaks (a blues, iv before bVII7) no other is. A key's own V in a walking bass, inverted or a beat
long, links two chords and promises nothing.

Mixture is what the parallel mode lends; what mixolydian, dorian, phrygian or lydian hold themselves
is no mixture, although it is outside the key as `ChordFact.outside_key` defines it.

References
----------
Open Music Theory v1, *harmonicFunctions*, *appliedChords*, *modalMixture*. Functions in pop
teaching (T = I vi iii, S = IV ii, D = V vii° and any applied dominant), walking dominants: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from analysis.harmony.chord_beliefs import believed
from analysis.harmony.chord_contexts import (
    TABLE,
    as_substitute,
    by_table,
    in_context,
    other_functions,
)
from analysis.harmony.chord_pairs import pair_with_dominants
from analysis.harmony.chord_roles import ChordPlace, ChordRole
from analysis.harmony.special_chords import find_special
from analysis.marks import MODE_CHORD, Reading
from analysis.pitch import Key
from analysis.timebase import Fraction
from analysis.vocabulary.dominants import (
    ChordInKey,
    Dominant,
    belongs_to_mode,
    is_outside,
    is_over_dominant,
    next_root,
    spelled_target,
)
from analysis.vocabulary.numerals import label_of
from analysis.vocabulary.wording import chord_text, key_text, name_text

#: A root-position V in a walking bass is passing up to this length, in quarters.
_SHORT: Final = Fraction(1)


def find_functions(
    row: Sequence[ChordInKey],
    dominants: Sequence[Dominant | None],
    blues: frozenset[Key],
    asked: range | None = None,
) -> tuple[ChordRole | None, ...]:
    """The role of every chord of a row, one entry a chord, None for N.C.

    ``blues`` are the keys of the piece that are a blues, from `blues_regions` of the whole row.
    ``asked`` are the indexes of the chords that are asked for; all others are None then.
    """
    roles: list[ChordRole | None] = []
    for at, (one, dominant) in enumerate(zip(row, dominants, strict=True)):
        if one.chord is None or (asked is not None and at not in asked):
            roles.append(None)
            continue
        arrival = next_root(row, at)
        onward = next_root(row, arrival) if arrival >= 0 else -1
        place = ChordPlace(
            one,
            one.chord,
            row[at - 1] if at and row[at - 1].chord is not None else None,
            row[at + 1] if at + 1 < len(row) and row[at + 1].chord is not None else None,
            row[arrival] if arrival >= 0 else None,
            row[onward] if onward >= 0 else None,
            one.key in blues,
        )
        if dominant is not None:
            came = row[dominant.arrival].chord if dominant.arrival >= 0 else None
            role = _of_dominant(place, dominant, chord_text(came) if came is not None else "")
        else:
            role = _of_other(place)
        roles.append(replace(_over_pedal(place, role), outside=is_outside(one.chord, one.key)))
    return tuple(
        role and believed(role, one.chord)
        for one, role in zip(row, pair_with_dominants(row, roles), strict=True)
    )


def _of_dominant(place: ChordPlace, dominant: Dominant, came: str) -> ChordRole:
    """A dominant: what it wants, what came (empty for nothing), and what else it may be."""
    tags: tuple[str, ...] = (dominant.kind,) if dominant.kind in ("subV", "backdoor") else ()
    if dominant.chain:
        tags += ("chain",)
    if dominant.applied:
        tags += ("applied",)
    wanted = spelled_target(dominant.target).replace("b", "♭").replace("#", "♯")
    reasons = [_why_dominant(place, dominant, wanted)]
    if _only_passes(place, dominant):
        reasons.append("It is short, or inverted, and its bass moves on by step to another chord.")
        return ChordRole("D", reasons=tuple(reasons), tags=("passing bass",), confidence=0.85)
    if not place.chord.triad and place.after is not None and _is_resolved(place, place.after):
        tags += ("suspended dominant",)
    if dominant.resolution == "deceptive":
        reasons.append(f"It wants {wanted}; {came} takes its place.")
    elif dominant.resolution == "unresolved" and came and dominant.applied:
        reasons.append(f"It wants {wanted}; {came} comes, so it stays unresolved.")
    elif dominant.resolution == "delayed":
        reasons.append(f"{came} holds {wanted} back.")
    elif dominant.resolution == "interrupted":
        reasons.append(f"Silence comes between it and {came}.")
    return ChordRole(
        "D",
        dominant,
        reasons=tuple(reasons),
        alternatives=tuple(_other_dominants(place, dominant)),
        tags=tags,
    )


def _only_passes(place: ChordPlace, dominant: Dominant) -> bool:
    """Whether the key's own V links two other chords of a walking bass, and asks for nothing."""
    light = place.chord.inversion > 0 or place.one.span.duration <= _SHORT
    idle = not dominant.applied and dominant.kind == "V" and dominant.resolution != "resolves"
    return idle and light and not place.chord.seventh and place.bass_passes


def _is_resolved(place: ChordPlace, after: ChordInKey) -> bool:
    """Whether the chord after a suspended one has the third that was held back."""
    chord = after.chord
    return chord is not None and chord.root.pc == place.chord.root.pc and chord.triad != ""


def _why_dominant(place: ChordPlace, dominant: Dominant, wanted: str) -> str:
    if dominant.kind == "backdoor":
        return (
            f"{place.next_name} decides: it rises a whole tone to the tonic, the backdoor dominant."
        )
    if dominant.kind == "subV":
        slides = f"a tritone from the expected dominant, it slides down a half step to {wanted}"
        return f"{place.next_name} decides: {slides}."
    if is_over_dominant(place.one):
        fifth = name_text(place.chord.bass)
        return f"Over {fifth}, the fifth degree, it is a suspended dominant."
    if not dominant.applied:
        return (
            "It stands on the key's fifth degree."
            if dominant.kind == "V"
            else ("It stands on the leading tone.")
        )
    if not place.chord.triad:
        return f"Its suspension holds back the dominant of {wanted}."
    if dominant.kind == "vii":
        return f"Its root is the leading tone of {wanted}."
    outside = (
        "; a tone of it is foreign to the key" if is_outside(place.chord, place.one.key) else ""
    )
    return f"It is the dominant of {wanted}, a fifth above it{outside}."


def _other_dominants(place: ChordPlace, dominant: Dominant) -> list[Reading]:
    """Readings that another continuation would have made the first."""
    decided = f" {place.next_name} decided otherwise." if place.arrival is not None else ""
    if dominant.kind == "backdoor":
        return as_substitute(place, 0.1)
    if dominant.kind == "subV":
        return _beside_substitute(place, decided)
    if is_over_dominant(place.one):
        return [Reading(place.plain_label, "By its upper tones it is a subdominant.", 0.35, "S")]
    if not dominant.applied or dominant.kind != "V":
        return []
    if place.one.interval == 0:
        text = "It is the tonic with a tone that moves on to the next chord."
        if place.chord.seventh:
            text = "In a blues the seventh is the tonic's own colour."
        return [Reading(place.plain_label, text, 0.25, "T")]
    readings = []
    if place.one.interval == 10 and place.chord.seventh == "m7":
        text = f"Going up to the tonic it would be the backdoor dominant.{decided}"
        readings.append(Reading(place.plain_label, text, 0.2, "D"))
    elif place.one.interval == 2 and place.chord.has(5, -1):
        text = "With its lowered fifth in the bass it is a French sixth; both lead to V."
        readings.append(Reading("Fr⁴₃", text, 0.4, "S"))
    text = "Heard in the home key alone, it is the altered degree that it stands on."
    return [*readings, Reading(place.plain_label, text, 0.15, TABLE[place.one.interval])]


def _beside_substitute(place: ChordPlace, decided: str) -> list[Reading]:
    """What a substitute dominant would be with another continuation, or in another spelling."""
    match place.one.interval:
        case 1:
            fifth = name_text(place.one.key.tonic + 1)
            text = f"Over {fifth} in the bass the same tones are an altered {fifth}7."
            return [Reading(label_of("V7(b5)"), text, 0.25, "D")]
        case 5:
            text = f"As a blues IV⁷ it would go back to the tonic.{decided}"
            return [Reading(label_of("IV7"), text, 0.2, "S")]
        case 8:
            named = {"Fr43": "French", "It6": "Italian", "Ger65": "German"}
            sixth = "Ger65" if any(number == 5 for number, _ in place.chord.degrees) else "It6"
            sixth = "Fr43" if place.chord.has(5, -1) else sixth
            text = f"Spelled with a raised fourth it is {_a(named[sixth])} sixth; both lead to V."
            return [Reading(label_of(sixth), text, 0.4, "S")]
        case 10:
            text = f"It could rise a whole step to the tonic.{decided}"
            return [Reading(label_of("bVII7"), text, 0.2, "D")]
    return []


def _a(word: str) -> str:
    return f"{'an' if word[0] in 'AEIOU' else 'a'} {word}"


def _of_other(place: ChordPlace) -> ChordRole:
    """A chord that is no dominant: special chords first, then the table and the context."""
    role = find_special(place)
    if role is not None:
        return role
    function, reason, tags = in_context(place)
    reasons = [reason or by_table(place, function)]
    chord, key = place.chord, place.one.key
    parallel = replace(key, mode="major" if key.is_minor_like else "minor")
    if is_outside(chord, key) and belongs_to_mode(chord, key):
        tags += (MODE_CHORD,)
        reasons.append(f"It belongs to {key_text(key)}: it holds the tone that makes the mode.")
    elif is_outside(chord, key) and not is_outside(chord, parallel):
        tags += ("mixture",)
        reasons.append(f"It is borrowed from {key_text(parallel)}.")
        if key.is_minor_like and belongs_to_mode(chord, replace(key, mode="dorian")):
            reasons.append("Its raised sixth is heard as dorian as well.")
    if not chord.triad and not chord.has(4, 0) and not chord.has(2, 0):
        tags += ("no third",)
    elif chord.has(4, 0) and place.after is not None and _is_resolved(place, place.after):
        tags += ("held third",)
    tags += _moving(place)
    alternatives = tuple(other_functions(place, function))
    return ChordRole(function, reasons=tuple(reasons), alternatives=alternatives, tags=tags)


def _moving(place: ChordPlace) -> tuple[str, ...]:
    """What moves: the bass under a tonic or a root that stays, or a sixth or seventh above it."""
    chord, before = place.chord, place.before
    if (place.one.interval, chord.inversion) == (0, 1) and place.bass_passes:
        after = place.after
        if 0 not in (place.before_step, after.interval if after else 0):
            return ("passing tonic",)
    if before is None or before.chord is None:
        return ()
    held = before.chord
    if held.root.pc != chord.root.pc or held.triad != chord.triad:
        return ()
    steps = (chord.bass.pc - held.bass.pc) % 12
    if steps:
        return ("moving bass",) if steps in (1, 2, 10, 11) else ()
    upper = [{one for one in other.degrees if one[0] in (6, 7)} for other in (held, chord)]
    return ("moving voice",) if upper[0] != upper[1] and any(upper) else ()


def _over_pedal(place: ChordPlace, role: ChordRole) -> ChordRole:
    """The role with a word on the bass where that is the tonic, held on from the chord before."""
    chord, before = place.chord, place.before
    held = before is not None and before.chord is not None and before.chord.bass.pc == chord.bass.pc
    tonic = place.one.key.tonic.pc
    if not held or chord.bass.pc != tonic or chord.root.pc == tonic or "pedal" in role.tags:
        return role
    reason = f"The bass holds {name_text(chord.bass)} under it."
    return replace(role, reasons=(*role.reasons, reason), tags=(*role.tags, "pedal"))
