"""What a chord that is no dominant does: by its degree, then by what stands around it.

The table of degrees is the usual one; the next chord on another root then decides what the table
leaves open: bVII, bVI, IV, ii, iii7. Where a subdominant goes has a name: home (plagal motion), to
the dominant, down to IV (double plagal), darkening to minor on its way.

References
----------
Open Music Theory v1, *harmonicFunctions* (roughly I iii vi = T, ii IV = S, V vii = D; iii7 fits
none), *modalMixture*, *popRockHarmony* (bVI–bVII–i = S–D–T; bVII–IV–I double plagal, after W.
Everett 2004). Substitute and backdoor dominants, IV–iv–I, the descent i–VII–VI–V: common practice
in pop teaching, no source.
"""

from __future__ import annotations

from typing import Final

from analysis.harmony.chord_roles import ChordPlace
from analysis.marks import Function, Reading
from analysis.vocabulary.dominants import is_outside, target_in
from analysis.vocabulary.numerals import label_of, name_numeral, target_text
from analysis.vocabulary.wording import FUNCTION_WORD, name_text

#: Function by half steps above the tonic.
TABLE: Final[dict[int, Function]] = {
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


#: What is found of a chord: its function, the reason, and tags where what it does has a name.
Context = tuple[Function, str, tuple[str, ...]]


def in_context(place: ChordPlace) -> Context:
    """Function by table and by what follows, with the reason (empty for the table's own)."""
    interval, step, chord = place.one.interval, place.step, place.chord
    minor, after = place.one.key.is_minor_like, place.next_name
    if interval == 10:
        return _on_flat_seven(place)
    if interval == 8:
        if step == 10:
            tags = ("climbing",) if place.onward_step == 0 else ()
            return "S", "With ♭VII it climbs to the tonic.", tags
        if minor and step != 7:
            return "T", "It shares two tones with the tonic.", ()
        if step == 7 and place.leads_to_dominant:
            return "S", f"{after} decides: it leads to the dominant.", ("to the dominant",)
        return "S", "", ()
    if (interval in (5, 2) and chord.triad != "maj") or interval == 5:
        return _of_subdominant(place)
    if chord.triad == "dim" and chord.seventh != "m7" and interval not in (2, 11):
        return "", "A diminished chord that leads to none of its neighbours is colour.", ()
    if interval == 4 and chord.seventh == "m7" and chord.triad == "min" and not minor:
        return "", "With its seventh, iii leans to tonic and dominant alike.", ()
    if interval == 0 and chord.triad == "aug" and _carries_on(place):
        return "T", "Its raised fifth is on the way up.", ("moving fifth",)
    return TABLE[interval], "", ()


def _carries_on(place: ChordPlace) -> bool:
    """Whether the raised fifth of a tonic goes up a half step, or the root stays under it."""
    after = place.after.chord if place.after is not None else None
    if after is None:
        return False
    root = place.chord.root.pc
    return after.root.pc == root or (root + 9) % 12 in after.pitch_classes


def _on_flat_seven(place: ChordPlace) -> Context:
    """bVII: up to the tonic, down to IV on its way home, or down through VI to the dominant."""
    step = place.step
    if step == 0:
        return "D", f"{place.next_name} decides: it steps up to the tonic.", ("stepping up",)
    if step == 5 and place.onward_step == 0:
        return "S", "It falls to IV as IV falls to I: double plagal motion.", ("double plagal",)
    descends = step == 8 and place.onward_step == 7 and place.before is not None
    if descends and place.one.key.is_minor_like and place.before_step == 0:
        return "S", "With VI it leads down from the tonic to the dominant.", ("descent",)
    return "S", "", ()


def _of_subdominant(place: ChordPlace) -> Context:
    """IV and ii, by where they go; IV and iv on one root are one step on the way."""
    after = place.next_name
    tags = _darkening(place)
    if place.leads_to_dominant:
        return "S", f"{after} decides: it leads to the dominant.", (*tags, "to the dominant")
    if place.one.interval == 5 and place.step == 0 and place.arrival is not None:
        came = place.arrival.chord
        if came is not None and came.inversion == 2 and not place.blues:
            return "S", f"{after} decides: it goes to the tonic's six-four, which is no home.", tags
        if came is not None and came.inversion:
            return "S", f"{after} decides: it steps back to the tonic.", (*tags, "back")
        reason = f"{after} decides: it falls back to the tonic, plagal motion."
        return "S", reason, (*tags, "plagal")
    return "S", "", tags


def _darkening(place: ChordPlace) -> tuple[str, ...]:
    """Whether IV stands beside iv on its root: the first or the second of the pair."""
    if place.one.interval != 5 or place.one.key.is_minor_like:
        return ()
    for tag, first, second in (
        ("darkening", place.one, place.after),
        ("darkened", place.before, place.one),
    ):
        if first is None or second is None or first.chord is None or second.chord is None:
            continue
        same = first.chord.root.pc == second.chord.root.pc
        if same and (first.chord.triad, second.chord.triad) == ("maj", "min"):
            return (tag,)
    return ()


def by_table(place: ChordPlace, function: Function) -> str:
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


def other_functions(place: ChordPlace, function: Function) -> list[Reading]:
    """Other functions that are heard in the same chord."""
    interval, chord, minor = place.one.interval, place.chord, place.one.key.is_minor_like
    seventh = chord.triad == "maj" and chord.seventh == "m7"
    if seventh and interval == 10 and not minor:
        text = "Going up to the tonic it would be the backdoor dominant."
        return [Reading(place.plain_label, text, 0.2, "D"), *as_substitute(place, 0.1)]
    if seventh and (interval in (1, 8) or (interval == 5 and not place.blues)):
        return as_substitute(place, 0.15)
    if chord.triad == "maj" and interval in (2, 4, 9) and is_outside(chord, place.one.key):
        return _as_applied(place)
    if interval == 0 and chord.triad == "aug":
        return _as_augmented_dominant(place)
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


def _as_augmented_dominant(place: ChordPlace) -> list[Reading]:
    """The reading of a tonic with a moving fifth as a dominant of IV, where that comes later."""
    key = place.one.key
    aim = target_in(key, key.tonic.pc + 5)
    if aim is None or place.step != 5:
        return []
    name = label_of(name_numeral(place.chord, key, aim).text)
    text = f"Its raised fifth pulls on to {name_text(aim.root)}, which comes after the tonic."
    return [Reading(name, text, 0.35, "D")]


def _as_applied(place: ChordPlace) -> list[Reading]:
    """The reading of a major triad outside the key as the dominant of what lies a fifth below."""
    aim = target_in(place.one.key, place.chord.root.pc + 5)
    if aim is None:
        return []
    name = label_of(name_numeral(place.chord, place.one.key, aim).text)
    text = f"It could be the dominant of {name_text(aim.root)}, which does not come next."
    return [Reading(name, text, 0.25, "D")]


def as_substitute(place: ChordPlace, chance: float) -> list[Reading]:
    """The reading of a dominant seventh as the substitute dominant of what lies below it."""
    key, chord = place.one.key, place.chord
    aim = target_in(key, chord.root.pc + 11)
    if aim is None or chord.triad != "maj" or chord.seventh != "m7":
        return []
    name = "subV7" if aim.root.pc == key.tonic.pc else f"subV7/{target_text(aim, key)}"
    decided = f" {place.next_name} decided otherwise." if place.arrival is not None else ""
    text = f"It could slide down a half step to {name_text(aim.root)}.{decided}"
    return [Reading(label_of(name), text, chance, "D")]
