"""Chords that belong to the dominant after them: related ii, iv before bVII7, i7–IV7 to bVII.

The task is to give a chord that prepares an applied or backdoor dominant its part in the pair.

References
----------
The related ii of an applied dominant and the backdoor pair: common practice in jazz and pop
teaching, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.chords import Chord
from analysis.harmony.chord_roles import ChordRole
from analysis.marks import Function, Reading
from analysis.vocabulary.dominants import (
    ChordInKey,
    Dominant,
    is_outside,
    next_root,
    spelled_target,
)
from analysis.vocabulary.numerals import Target, label_of, name_numeral
from analysis.vocabulary.wording import name_text


def pair_with_dominants(
    row: Sequence[ChordInKey], roles: Sequence[ChordRole | None]
) -> list[ChordRole | None]:
    """The roles of a row of chords, each that prepares a dominant with its part in the pair."""
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
            # With iv before it and I behind it nothing is left of the slide to vi.
            paired[at + 1] = replace(after, alternatives=())
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
