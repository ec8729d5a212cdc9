"""Chords with a name of their own: not by their degree, but by what they do between neighbours.

The task is to know, of a chord that is no dominant: common-tone and passing diminished chords, the
augmented sixths, the Neapolitan, chords over a held bass, and the tonic's six-four. None of them is
told by its root alone, so each rule looks at the chords on either side.

References
----------
Open Music Theory v1, *alteredSubdominants* (Neapolitan and augmented sixths are S). The pedal
six-four, common-tone and passing diminished chords: textbook practice (from memory).
"""

from __future__ import annotations

from typing import Final

from analysis.harmony.chord_roles import ChordPlace, ChordRole, bass_step
from analysis.marks import Reading
from analysis.timebase import Fraction
from analysis.vocabulary.dominants import belongs_to_mode
from analysis.vocabulary.wording import chord_text, name_text

#: A six-four on the dominant's bass is cadential when it holds no longer than this many quarters;
#: in a blues, where the tonic stands on any of its tones, no longer than half of that.
_LONGEST_SIX_FOUR: Final = Fraction(4)
#: Tag of the six-four before a dominant.
CADENTIAL: Final = "cadential six-four"


def find_special(place: ChordPlace) -> ChordRole | None:
    """The role of a chord that has a name of its own, None for any other."""
    for rule in (_diminished, _augmented_sixth, _neapolitan, _pedal_six_four, _six_four):
        role = rule(place)
        if role is not None:
            return role
    return None


def _diminished(place: ChordPlace) -> ChordRole | None:
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


def _augmented_sixth(place: ChordPlace) -> ChordRole | None:
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
        confidence=0.9,
    )


def _neapolitan(place: ChordPlace) -> ChordRole | None:
    """A major triad on the lowered second degree that prepares the dominant."""
    chord = place.chord
    if place.one.interval != 1 or chord.triad != "maj" or len(chord.degrees) != 3:
        return None
    if belongs_to_mode(chord, place.one.key):
        return None  # bII of phrygian is at home there
    if chord.inversion != 1 and not place.leads_to_dominant:
        return None
    before = ", before the dominant" if place.leads_to_dominant else ", over its third"
    reason = f"A major triad on the lowered second degree{before}: the Neapolitan."
    tags = ("Neapolitan", *(("to the dominant",) if place.leads_to_dominant else ()))
    readings = (Reading(place.plain_label, "The same chord by its degree.", 0.3, "S"),)
    return ChordRole("S", special="N", reasons=(reason,), alternatives=readings, tags=tags)


def _pedal_six_four(place: ChordPlace) -> ChordRole | None:
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
    return ChordRole(
        "S", reasons=(reason,), alternatives=readings, tags=("pedal six-four", "pedal")
    )


def _six_four(place: ChordPlace) -> ChordRole | None:
    """The tonic over its fifth: before the dominant, in passing, as a neighbour, or unsettled.

    None where the tonic sounds already and only its bass changes: that six-four is arpeggiated.
    """
    chord, before, after = place.chord, place.before, place.after
    if place.one.interval != 0 or chord.inversion != 2:
        return None
    by_tones = (Reading(place.plain_label, "By its tones it is the tonic.", 0.3, "T"),)
    longest = _LONGEST_SIX_FOUR / 2 if place.blues else _LONGEST_SIX_FOUR
    settles = after is not None and after.interval == 0 and after.chord != chord
    if place.step == 7 and not settles and place.one.span.duration <= longest:
        reason = "The tonic stands on the dominant's bass and gives way to it."
        return ChordRole("D", reasons=(reason,), alternatives=by_tones, tags=(CADENTIAL,))
    came = bass_step(before, place.one)
    goes = bass_step(place.one, after)
    if came and goes:
        passing = came * goes > 0
        tag = "passing six-four" if passing else "neighbouring six-four"
        how = "in one direction" if passing else "away and back"
        reason = f"Its bass moves by step on either side, {how}."
        if passing or came == -goes:
            text = "A chord that only passes or neighbours has no function of its own."
            readings = (Reading(place.plain_label, text, 0.3, ""),)
            return ChordRole("T", reasons=(reason,), alternatives=readings, tags=(tag,))
    if before is None or before.interval == 0:
        return None
    reason = f"The tonic comes over {name_text(chord.bass)}, its fifth, and so is not yet at rest."
    return ChordRole("T", reasons=(reason,), tags=("unsettled six-four",), confidence=0.8)
