"""Functions of chords: by table, then by what stands around them.

The task is to say of every chord whether it works as tonic, subdominant or dominant, why, and what
else it could be. The table is the usual one of textbooks and pop teaching; the context then decides
what the table leaves open: bVII, bVI, IV, iii7, a tonic in second inversion, and the special chords
(Neapolitan, augmented sixths, common-tone and passing diminished chords, pedals).

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
from dataclasses import dataclass, replace
from typing import Final

from analysis.chord_roles import ChordRole
from analysis.chords import Chord
from analysis.dominants import (
    ChordInKey,
    Dominant,
    is_outside,
    next_root,
    spelled_target,
    target_in,
)
from analysis.marks import Function, Reading
from analysis.numerals import label_of, name_numeral, target_text
from analysis.pitch import Key
from analysis.timebase import Fraction
from analysis.wording import chord_text, key_text, name_text

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
#: A six-four on the dominant's bass is cadential when it holds no longer than this many quarters;
#: in a blues, where the tonic stands on any of its tones, no longer than half of that.
_LONGEST_SIX_FOUR: Final = Fraction(4)


@dataclass(frozen=True, slots=True)
class _Place:
    """One chord with its neighbours; each is None where there is none or no chord sounds."""

    one: ChordInKey
    chord: Chord
    before: ChordInKey | None
    after: ChordInKey | None
    #: The next chord on another root.
    arrival: ChordInKey | None
    blues: bool

    @property
    def step(self) -> int:
        """Half steps from the tonic to the root of the next other chord, -1 without one."""
        return self.arrival.interval if self.arrival is not None else -1


def find_functions(
    row: Sequence[ChordInKey], dominants: Sequence[Dominant | None], blues: frozenset[Key]
) -> tuple[ChordRole | None, ...]:
    """The role of every chord of a row, one entry a chord, None for N.C.

    ``blues`` are the keys of the piece that are a blues, from `blues_regions` of the whole row.
    """
    roles: list[ChordRole | None] = []
    for at, (one, dominant) in enumerate(zip(row, dominants, strict=True)):
        if one.chord is None:
            roles.append(None)
            continue
        arrival = next_root(row, at)
        place = _Place(
            one,
            one.chord,
            row[at - 1] if at and row[at - 1].chord is not None else None,
            row[at + 1] if at + 1 < len(row) and row[at + 1].chord is not None else None,
            row[arrival] if arrival >= 0 else None,
            one.key in blues,
        )
        role = _of_dominant(place, dominant) if dominant is not None else _of_other(place)
        roles.append(replace(role, outside=is_outside(one.chord, one.key)))
    return tuple(_with_pairs(row, roles))


def _of_dominant(place: _Place, dominant: Dominant) -> ChordRole:
    """A dominant: what it wants, what came, and what else it may be."""
    tags: tuple[str, ...] = (dominant.kind,) if dominant.kind in ("subV", "backdoor") else ()
    if dominant.chain:
        tags += ("chain",)
    if dominant.applied:
        tags += ("applied",)
    wanted = spelled_target(dominant.target).replace("b", "♭").replace("#", "♯")
    came = chord_text(place.arrival.chord) if place.arrival is not None else ""
    reasons = [_why_dominant(place, dominant, wanted)]
    if dominant.resolution == "deceptive":
        reasons.append(f"It wants {wanted}; {came} takes its place.")
    elif dominant.resolution == "unresolved" and came and dominant.applied:
        reasons.append(f"It wants {wanted}; {came} comes, so it stays unresolved.")
    elif dominant.resolution == "delayed":
        reasons.append(f"{came} holds {wanted} back.")
    sure = dominant.resolution != "unresolved" or not dominant.applied
    return ChordRole(
        "D",
        dominant,
        reasons=tuple(reasons),
        alternatives=tuple(_other_dominants(place, dominant)),
        tags=tags,
        confidence=0.9 if sure else 0.7,
    )


def _why_dominant(place: _Place, dominant: Dominant, wanted: str) -> str:
    if dominant.kind == "backdoor":
        return "It steps up a whole tone to the tonic: the backdoor dominant."
    if dominant.kind == "subV":
        return f"A tritone from the expected dominant, it slides down a half step to {wanted}."
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


def _other_dominants(place: _Place, dominant: Dominant) -> list[Reading]:
    """Readings that another continuation would have made the first."""
    key = place.one.key
    decided = (
        f" {chord_text(place.arrival.chord)} decided otherwise."
        if place.arrival is not None
        else ""
    )
    readings = []
    if dominant.kind == "backdoor":
        aim = target_in(key, place.chord.root.pc + 11)
        if aim is not None:
            label = label_of(f"subV7/{target_text(aim, key)}")
            text = f"It could slide down a half step to {name_text(aim.root)}.{decided}"
            readings.append(Reading(label, text, 0.1, "D"))
    elif dominant.kind == "subV":
        if place.one.interval == 10:
            text = f"It could rise a whole step to the tonic.{decided}"
            readings.append(Reading("♭VII⁷", text, 0.2, "D"))
        elif place.one.interval == 8:
            text = "Spelled with a raised fourth it is a German sixth; both lead to V."
            readings.append(Reading("Ger⁶₅", text, 0.4, "S"))
        elif place.one.interval == 5:
            text = f"As a blues IV⁷ it would go back to the tonic.{decided}"
            readings.append(Reading("IV⁷", text, 0.2, "S"))
    elif dominant.applied and place.one.interval == 0:
        text = "In a blues the seventh is the tonic's own colour."
        readings.append(Reading(label_of(_plain(place)), text, 0.25, "T"))
    elif dominant.applied and dominant.kind == "V":
        text = "Heard in the home key alone, it is the altered degree that it stands on."
        readings.append(Reading(label_of(_plain(place)), text, 0.15, _TABLE[place.one.interval]))
    return readings


def _plain(place: _Place) -> str:
    """The numeral of a chord in its home key, not applied."""
    return name_numeral(place.chord, place.one.key).text


def _of_other(place: _Place) -> ChordRole:
    """A chord that is no dominant: special chords first, then the table and the context."""
    for rule in (_diminished, _augmented_sixth, _neapolitan, _pedal, _six_four):
        role = rule(place)
        if role is not None:
            return role
    function, reason = _in_context(place)
    tags: tuple[str, ...] = ()
    reasons = [reason] if reason else []
    borrowed = place.one.interval in (0, 3, 5, 7, 8, 10) or (
        place.one.interval == 2 and place.chord.triad == "dim"
    )
    if borrowed and is_outside(place.chord, place.one.key):
        tags = ("mixture",)
        parallel = replace(place.one.key, mode="major" if place.one.key.is_minor_like else "minor")
        reasons.append(f"It is borrowed from {key_text(parallel)}.")
    if not place.chord.triad and not place.chord.has(4, 0) and not place.chord.has(2, 0):
        tags += ("no third",)
    alternatives = tuple(_other_functions(place, function))
    return ChordRole(function, reasons=tuple(reasons), alternatives=alternatives, tags=tags)


def _diminished(place: _Place) -> ChordRole | None:
    """Common-tone and passing diminished chords, which lead nowhere by their root."""
    chord, after = place.chord, place.after
    if chord.triad != "dim" or chord.seventh == "m7" or after is None or after.chord is None:
        return None
    tones = {tone.pc for tone in chord.tones}
    if after.chord.root.pc in tones and chord.seventh == "d7" and after.chord.triad != "dim":
        common = name_text(after.chord.root)
        reason = f"It keeps {common}, the root of {chord_text(after.chord)}, and neighbours it."
        return ChordRole("", special="CT", reasons=(reason,), tags=("common tone",), confidence=0.8)
    if (after.chord.bass.pc - chord.bass.pc) % 12 in (1, 11) and place.before is not None:
        reason = f"It passes by half step to {chord_text(after.chord)}."
        return ChordRole("", reasons=(reason,), tags=("passing",), confidence=0.75)
    return None


def _augmented_sixth(place: _Place) -> ChordRole | None:
    """bVI7 that opens to the dominant or to the six-four above its bass."""
    chord, after = place.chord, place.after
    if place.one.interval != 8:
        return None
    named = {"Italian": "It", "French": "Fr", "German": "Ger"}.get(chord.kind)
    if named is None:
        seventh = chord.triad == "maj" and chord.seventh == "m7"
        six_four = (
            after is not None
            and after.chord is not None
            and after.interval == 0
            and after.chord.inversion == 2
        )
        if not seventh or not six_four:
            return None
        named = "Ger"
    fourth = name_text(place.one.key.tonic + 6)
    reasons = (f"Its seventh is heard as {fourth}, the raised fourth, which opens to the fifth.",)
    readings = (Reading("subV⁷/V", "As a chord symbol it is the substitute of V/V.", 0.3, "D"),)
    return ChordRole(
        "S",
        special=named,
        reasons=reasons,
        alternatives=readings,
        tags=("augmented sixth",),
        confidence=0.8,
    )


def _neapolitan(place: _Place) -> ChordRole | None:
    """A major triad on the lowered second degree that prepares the dominant."""
    chord = place.chord
    if place.one.interval != 1 or chord.triad != "maj" or len(chord.degrees) != 3:
        return None
    if chord.inversion != 1 and place.step not in (7, 11, 0):
        return None
    reason = "A major triad on the lowered second degree, before the dominant: the Neapolitan."
    readings = (Reading(label_of(_plain(place)), "The same chord by its degree.", 0.3, "S"),)
    return ChordRole(
        "S", special="N", reasons=(reason,), alternatives=readings, tags=("Neapolitan",)
    )


def _pedal(place: _Place) -> ChordRole | None:
    """IV over the tonic's bass between two tonics: a pedal six-four."""
    chord, key = place.chord, place.one.key
    if place.one.interval != 5 or chord.bass.pc != key.tonic.pc or place.before is None:
        return None
    around = [one for one in (place.before, place.after) if one is not None]
    if any(one.interval != 0 or one.chord is None for one in around):
        return None
    reason = "The bass holds 1 while 3–4–3 and 5–6–5 move above it: a pedal six-four."
    readings = (
        Reading("I", "Some hear the tonic go on, its third and fifth suspended.", 0.35, "T"),
    )
    return ChordRole("S", reasons=(reason,), alternatives=readings, tags=("pedal",))


def _six_four(place: _Place) -> ChordRole | None:
    """The tonic over the dominant's bass that gives way to the dominant."""
    chord = place.chord
    longest = _LONGEST_SIX_FOUR / 2 if place.blues else _LONGEST_SIX_FOUR
    if place.one.interval != 0 or chord.inversion != 2 or place.step != 7:
        return None
    if place.one.span.duration > longest:
        return None
    reason = "The tonic stands on the dominant's bass and gives way to it."
    readings = (Reading(label_of(_plain(place)), "By its tones it is the tonic.", 0.3, "T"),)
    return ChordRole("D", reasons=(reason,), alternatives=readings, tags=("cadential six-four",))


def _in_context(place: _Place) -> tuple[Function, str]:
    """Function by table and by the next root."""
    interval, step, chord = place.one.interval, place.step, place.chord
    minor = place.one.key.is_minor_like
    if interval == 10:
        if step == 0:
            return "D", "It steps up to the tonic."
        if step == 5:
            return "S", "It falls to IV as IV falls to I: double plagal motion."
        return "S", ""
    if interval == 8 and minor and step not in (7, 10):
        return "T", "It shares two tones with the tonic."
    if interval == 8 and step == 10:
        return "S", "With ♭VII it climbs to the tonic."
    if interval == 5:
        after = {0: "It falls back to the tonic: plagal motion.", 7: "It leads to the dominant."}
        return "S", after.get(step, "")
    if interval == 4 and chord.seventh == "m7" and chord.triad == "min" and not minor:
        return "", "With its seventh, iii leans to tonic and dominant alike."
    return _TABLE[interval], ""


def _other_functions(place: _Place, function: Function) -> list[Reading]:
    """Other functions that are heard in the same chord."""
    label = label_of(_plain(place))
    interval, chord, minor = place.one.interval, place.chord, place.one.key.is_minor_like
    if interval == 5 and chord.seventh == "m7" and chord.triad == "maj":
        aim = target_in(place.one.key, chord.root.pc + 11)
        if aim is not None:
            name = label_of(f"subV7/{target_text(aim, place.one.key)}")
            text = f"It could slide down a half step to {name_text(aim.root)}; it did not."
            return [Reading(name, text, 0.1, "D")]
    if interval == 10 and chord.seventh == "m7" and function == "S" and not minor:
        return [
            Reading(label, "Going up to the tonic it would be the backdoor dominant.", 0.2, "D")
        ]
    if interval == 9 and not minor and place.step in (2, 5, 7):
        return [Reading(label, "It also prepares the dominant, as IV's companion.", 0.25, "S")]
    if interval == 8 and minor:
        other: Function = "T" if function == "S" else "S"
        return [Reading(label, "It shares tones with the tonic and with iv.", 0.4, other)]
    if function == "" and interval == 4:
        return [Reading(label, "It shares two tones with the tonic.", 0.45, "T")]
    return []


def _with_pairs(
    row: Sequence[ChordInKey], roles: Sequence[ChordRole | None]
) -> list[ChordRole | None]:
    """Chords that belong to the dominant after them: related ii, and iv before bVII7."""
    paired = list(roles)
    for at, role in enumerate(roles[:-1]):
        after, chord, next_chord = roles[at + 1], row[at].chord, row[at + 1].chord
        if role is None or after is None or chord is None or next_chord is None:
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


def _is_idle(dominant: Dominant) -> bool:
    """The key's own viiø7 where no tonic follows, as before V7/vi."""
    return dominant.kind == "vii" and not dominant.applied and dominant.resolution != "resolves"


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
