"""Functions of chords: by table, then by what stands around them.

The task is to say of every chord whether it works as tonic, subdominant or dominant, why, and what
else it could be. The table is the usual one of textbooks and pop teaching; the context then decides
what the table leaves open: bVII, bVI, IV, iii7; chords with a name of their own are told by
`analysis.harmony.special_chords`.

Where only the continuation decides between two readings, the reason says which chord decided, and
the other reading is offered with what would have spoken for it.

References
----------
Open Music Theory v1, *harmonicFunctions* (roughly I iii vi = T, ii IV = S, V vii = D; iii7 fits
none), *alteredSubdominants* (Neapolitan and augmented sixths are S), *modalMixture*,
*popRockHarmony* (bVI–bVII–i = S–D–T; bVII–IV–I double plagal, after W. Everett 2004). Functions in
pop teaching (T = I vi iii, S = IV ii, D = V vii° and any applied dominant), the backdoor pair, the
related ii of an applied dominant, the pedal six-four: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from analysis.chords import Chord
from analysis.harmony.chord_roles import ChordPlace, ChordRole
from analysis.harmony.special_chords import find_special
from analysis.marks import Function, Reading
from analysis.pitch import Key
from analysis.vocabulary.dominants import (
    ChordInKey,
    Dominant,
    is_outside,
    is_over_dominant,
    next_root,
    spelled_target,
    target_in,
)
from analysis.vocabulary.numerals import Target, label_of, name_numeral, target_text
from analysis.vocabulary.wording import FUNCTION_WORD, chord_text, key_text, name_text

#: Function by half steps above the tonic.
_TABLE: Final[dict[int, Function]] = {
    0: "T",
    1: "S",
    2: "S",
    3: "T",
    4: "T",
    5: "S",
    6: "S",
    7: "D",
    8: "S",
    9: "T",
    10: "S",
    11: "D",
}


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
    return tuple(_with_pairs(row, roles))


def _of_dominant(place: ChordPlace, dominant: Dominant, came: str) -> ChordRole:
    """A dominant: what it wants, what came (empty for nothing), and what else it may be."""
    tags: tuple[str, ...] = (dominant.kind,) if dominant.kind in ("subV", "backdoor") else ()
    if dominant.chain:
        tags += ("chain",)
    if dominant.applied:
        tags += ("applied",)
    wanted = spelled_target(dominant.target).replace("b", "♭").replace("#", "♯")
    reasons = [_why_dominant(place, dominant, wanted)]
    if dominant.resolution == "deceptive":
        reasons.append(f"It wants {wanted}; {came} takes its place.")
    elif dominant.resolution == "unresolved" and came and dominant.applied:
        reasons.append(f"It wants {wanted}; {came} comes, so it stays unresolved.")
    elif dominant.resolution == "delayed":
        reasons.append(f"{came} holds {wanted} back.")
    elif dominant.resolution == "interrupted":
        reasons.append(f"Silence comes between it and {came}.")
    sure = dominant.resolution != "unresolved" or not dominant.applied
    return ChordRole(
        "D",
        dominant,
        reasons=tuple(reasons),
        alternatives=tuple(_other_dominants(place, dominant)),
        tags=tags,
        confidence=0.9 if sure else 0.7,
    )


def _why_dominant(place: ChordPlace, dominant: Dominant, wanted: str) -> str:
    if dominant.kind == "backdoor":
        return f"{_next(place)} decides: it rises a whole tone to the tonic, the backdoor dominant."
    if dominant.kind == "subV":
        return (
            f"{_next(place)} decides: a tritone from the expected dominant, it slides down a half "
            f"step to {wanted}."
        )
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


def _next(place: ChordPlace) -> str:
    """The next other chord as a symbol."""
    return chord_text(place.arrival.chord) if place.arrival is not None else "What follows"


def _other_dominants(place: ChordPlace, dominant: Dominant) -> list[Reading]:
    """Readings that another continuation would have made the first."""
    decided = f" {_next(place)} decided otherwise." if place.arrival is not None else ""
    if dominant.kind == "backdoor":
        return _as_substitute(place, 0.1)
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
    return [*readings, Reading(place.plain_label, text, 0.15, _TABLE[place.one.interval])]


def _as_substitute(place: ChordPlace, chance: float) -> list[Reading]:
    """The reading of a dominant seventh as the substitute dominant of what lies below it."""
    key, chord = place.one.key, place.chord
    aim = target_in(key, chord.root.pc + 11)
    if aim is None or chord.triad != "maj" or chord.seventh != "m7":
        return []
    name = "subV7" if aim.root.pc == key.tonic.pc else f"subV7/{target_text(aim, key)}"
    decided = f" {_next(place)} decided otherwise." if place.arrival is not None else ""
    text = f"It could slide down a half step to {name_text(aim.root)}.{decided}"
    return [Reading(label_of(name), text, chance, "D")]


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
    function, reason, *told = _in_context(place)
    tags = tuple(told)
    reasons = [reason or _by_table(place, function)]
    parallel = replace(place.one.key, mode="major" if place.one.key.is_minor_like else "minor")
    if is_outside(place.chord, place.one.key) and not is_outside(place.chord, parallel):
        tags += ("mixture",)
        reasons.append(f"It is borrowed from {key_text(parallel)}.")
    if not place.chord.triad and not place.chord.has(4, 0) and not place.chord.has(2, 0):
        tags += ("no third",)
    alternatives = tuple(_other_functions(place, function))
    return ChordRole(function, reasons=tuple(reasons), alternatives=alternatives, tags=tags)


def _in_context(place: ChordPlace) -> tuple[Function, str] | tuple[Function, str, str]:
    """Function by table and by the next root, the reason, and a tag where it has a name."""
    interval, step, chord = place.one.interval, place.step, place.chord
    minor, after = place.one.key.is_minor_like, _next(place)
    if interval == 10:
        if step == 0:
            return "D", f"{after} decides: it steps up to the tonic."
        if step == 5 and place.onward is not None and place.onward.interval == 0:
            return "S", "It falls to IV as IV falls to I: double plagal motion.", "double plagal"
        return "S", ""
    if interval == 8 and minor and step not in (7, 10):
        return "T", "It shares two tones with the tonic."
    if interval == 8 and step == 10:
        return "S", "With ♭VII it climbs to the tonic."
    if interval == 5 and step == 0:
        return "S", f"{after} decides: it falls back to the tonic, plagal motion.", "plagal"
    if interval == 5 and step == 7:
        return "S", f"{after} decides: it leads to the dominant.", "to the dominant"
    if chord.triad == "dim" and chord.seventh != "m7" and interval not in (2, 11):
        return "", "A diminished chord that leads to none of its neighbours is colour."
    if interval == 4 and chord.seventh == "m7" and chord.triad == "min" and not minor:
        return "", "With its seventh, iii leans to tonic and dominant alike."
    return _TABLE[interval], ""


def _by_table(place: ChordPlace, function: Function) -> str:
    """Why the table gives a chord its function: its degree, or the tones it shares with another."""
    word, interval = FUNCTION_WORD[function], place.one.interval
    if {0: "T", 5: "S", 7: "D"}.get(interval) == function:
        return f"By its degree it is the key's {word}."
    third = 3 if place.one.key.is_minor_like and function != "D" else 4
    root = place.one.key.tonic.pc + {"T": 0, "S": 5, "D": 7, "": 0}[function]
    shared = {(root + step) % 12 for step in (0, third, 7)} & place.chord.pitch_classes
    if len(shared) >= 2:
        return f"It shares two tones with the {word}."
    return f"By its degree it counts with the {word}s."


def _other_functions(place: ChordPlace, function: Function) -> list[Reading]:
    """Other functions that are heard in the same chord."""
    interval, chord, minor = place.one.interval, place.chord, place.one.key.is_minor_like
    seventh = chord.triad == "maj" and chord.seventh == "m7"
    if seventh and interval == 10 and not minor:
        text = "Going up to the tonic it would be the backdoor dominant."
        return [Reading(place.plain_label, text, 0.2, "D"), *_as_substitute(place, 0.1)]
    if seventh and interval in (1, 5, 8):
        return _as_substitute(place, 0.15)
    if chord.triad == "maj" and interval in (2, 4, 9) and is_outside(chord, place.one.key):
        return _as_applied(place)
    if interval == 9 and not minor and place.step in (2, 5, 7):
        return [
            Reading(
                place.plain_label, "It also prepares the dominant, as IV's companion.", 0.25, "S"
            )
        ]
    if interval == 8 and minor:
        other: Function = "T" if function == "S" else "S"
        return [
            Reading(place.plain_label, "It shares tones with the tonic and with iv.", 0.4, other)
        ]
    if function == "" and interval == 4:
        return [Reading(place.plain_label, "It shares two tones with the tonic.", 0.45, "T")]
    return []


def _as_applied(place: ChordPlace) -> list[Reading]:
    """The reading of a major triad outside the key as the dominant of what lies a fifth below."""
    aim = target_in(place.one.key, place.chord.root.pc + 5)
    if aim is None:
        return []
    name = label_of(name_numeral(place.chord, place.one.key, aim).text)
    text = f"It could be the dominant of {name_text(aim.root)}, which does not come next."
    return [Reading(name, text, 0.25, "D")]


def _over_pedal(place: ChordPlace, role: ChordRole) -> ChordRole:
    """The role with a word on the bass where that is the tonic, held on from the chord before."""
    chord, before = place.chord, place.before
    held = before is not None and before.chord is not None and before.chord.bass.pc == chord.bass.pc
    tonic = place.one.key.tonic.pc
    if not held or chord.bass.pc != tonic or chord.root.pc == tonic or "pedal" in role.tags:
        return role
    reason = f"The bass holds {name_text(chord.bass)} under it."
    return replace(role, reasons=(*role.reasons, reason), tags=(*role.tags, "pedal"))


def _with_pairs(
    row: Sequence[ChordInKey], roles: Sequence[ChordRole | None]
) -> list[ChordRole | None]:
    """Chords that belong to the dominant after them: related ii, and iv before bVII7."""
    paired = list(roles)
    for at, role in enumerate(roles[:-1]):
        after, chord, next_chord = roles[at + 1], row[at].chord, row[at + 1].chord
        if role is None or after is None or chord is None or next_chord is None:
            continue
        if _leads_to_flat_seven(row, at):
            paired[at], paired[at + 1] = _toward_flat_seven(row, at, role, after)
            continue
        idle = role.dominant is None or _is_idle(role.dominant)
        if not idle or after.dominant is None or row[at].key != row[at + 1].key:
            continue
        lead = after.dominant
        falls = (next_chord.root.pc - chord.root.pc) % 12 == 5
        if lead.kind == "backdoor" and row[at].interval == 5 and chord.triad == "min":
            reason = "With ♭VII⁷ it makes the backdoor pair, as ii and V make theirs."
            paired[at] = replace(
                role, reasons=(*role.reasons, reason), tags=(*role.tags, "backdoor pair")
            )
        elif lead.applied and lead.kind == "V" and falls and chord.triad in ("min", "dim"):
            paired[at] = _related(row[at], chord, role, lead)
    return paired


def _leads_to_flat_seven(row: Sequence[ChordInKey], at: int) -> bool:
    """Whether i7 and IV7 of a major key go on to bVII, as ii7 and V7 go to I."""
    minor, seventh, arrival = row[at], row[at + 1], next_root(row, at + 1)
    kinds = [(one.chord.triad, one.chord.seventh) for one in (minor, seventh) if one.chord]
    return (
        kinds == [("min", "m7"), ("maj", "m7")]
        and (minor.interval, seventh.interval) == (0, 5)
        and not minor.key.is_minor_like
        and arrival >= 0
        and row[arrival].interval == 10
        and minor.key == seventh.key == row[arrival].key
    )


def _toward_flat_seven(
    row: Sequence[ChordInKey], at: int, minor: ChordRole, seventh: ChordRole
) -> tuple[ChordRole, ChordRole]:
    """Both roles with their reading as ii7 and V7 of bVII, beside mixture and the blues' IV7."""
    key = row[at].key
    aim = Target(key.tonic + -2, False)
    wanted, roles = name_text(aim.root), []
    told: tuple[tuple[ChordRole, str, Function], ...] = (
        (minor, f"It prepares the dominant of {wanted}, as ii prepares V.", "S"),
        (seventh, f"It could be the dominant of {wanted}, which comes next.", "D"),
    )
    for one, (role, text, function) in zip(row[at : at + 2], told, strict=True):
        assert one.chord is not None
        label = label_of(name_numeral(one.chord, key, aim).text)
        reading = Reading(label, text, 0.4, function)
        roles.append(replace(role, alternatives=(reading, *role.alternatives)))
    return roles[0], roles[1]


def _is_idle(dominant: Dominant) -> bool:
    """The key's own viiø7, which goes on to no tonic where it stands before V7/vi."""
    return dominant.kind == "vii" and not dominant.applied


def _related(one: ChordInKey, chord: Chord, role: ChordRole, lead: Dominant) -> ChordRole:
    """The ii that belongs to an applied dominant: a subdominant of the same target."""
    aim = lead.target
    wanted = spelled_target(aim).replace("b", "♭").replace("#", "♯")
    reason = f"It prepares the dominant of {wanted}, as ii prepares V."
    tags = (*(tag for tag in role.tags if tag != "mixture"), "related ii")
    applied = label_of(name_numeral(chord, one.key, aim).text)
    if is_outside(chord, one.key):
        return replace(role, function="S", reasons=(reason,), tags=tags, aim=aim)
    reading = Reading(applied, reason, 0.4, "S")
    if role.dominant is not None:
        role = replace(role, function="S", dominant=None, reasons=(reason,))
    return replace(role, alternatives=(*role.alternatives, reading), tags=tags)
