"""Sentences about melody notes, for a viewer: what is sung, against what, where it goes.

Under thirty words each, no more certain than the fact. The words of the song lead, since a viewer
finds the place by them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from analysis.chords import Chord
from analysis.inference.chord_tones import chord_tone
from analysis.marks import MelodyFact
from analysis.pitch import Key, PitchName
from analysis.score import Score
from analysis.timebase import Fraction, Offset
from analysis.vocabulary.chord_rows import ChordRow
from analysis.vocabulary.wording import chord_text, key_text, name_text, section_text

_SIGNS: Final = str.maketrans({"b": "♭", "#": "♯"})
_ORDINAL: Final = {
    "1": "root", "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth",
    "7": "seventh", "9": "ninth", "11": "eleventh", "13": "thirteenth",
}  # fmt: skip
_NUMBERS: Final = {
    3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine", 10: "ten",
}  # fmt: skip
#: A moment before a note's end.
_MOMENT: Final = Fraction(1, 64)
#: So many chords are named under a note that comes again.
_MOST_CHORDS: Final = 4
_KIND: Final = {
    "passing": "a passing note",
    "neighbour": "a neighbour note",
    "double neighbour": "one of two neighbours around a chord tone",
    "appoggiatura": "an appoggiatura: reached by leap, it leans on the chord and steps into it",
    "suspension": "a suspension: held over from the chord before, it steps down",
    "retardation": "a retardation: held over from the chord before, it steps up",
    "escape": "an escape note",
    "anticipation": "an anticipation of the next chord",
    "added tone": "a note added to the chord",
}


def signed(text: str) -> str:
    """A degree with music signs: ``♭3``."""
    return text.translate(_SIGNS)


def degree_words(degree: str) -> str:
    """A degree in words: ``"b9"`` is ``"lowered ninth"``, ``"#11"`` ``"raised eleventh"``."""
    number = degree.lstrip("b#")
    raised = "raised " if degree.startswith("#") else "lowered " if degree.startswith("b") else ""
    return raised + _ORDINAL.get(number, number)


def note_label(fact: MelodyFact) -> str:
    """The short text beside a note: ``♭3``, ``♯9``, and ``4–3`` where it is held and resolves."""
    if fact.blue:
        return f"♭{fact.blue}"
    if fact.role in ("suspension", "retardation") and fact.chord_degree:
        number = int(fact.chord_degree.lstrip("b#"))
        end = number + (1 if fact.role == "retardation" else -1)
        return f"{signed(fact.chord_degree)}–{8 if end == 1 and number == 2 else end}"
    relative = fact.role in ("tension", "added tone", "appoggiatura")
    return signed(fact.chord_degree if relative else fact.degree)


def degree_reason(fact: MelodyFact, chord: Chord | None, key: Key | None) -> str:
    """What a note is in its key and above its chord."""
    name = name_text(fact.pitch.name)
    told = [f"{signed(fact.degree)} of {key_text(key)}"] if key and fact.degree else []
    if chord is not None and fact.chord_degree:
        told.append(f"{signed(fact.chord_degree)} above the root of {chord_text(chord)}")
    return f"{name} is {' and '.join(told)}." if told else f"{name} is sung here."


def sung_on(words: str) -> str:
    """``On “sing”,`` where there are words, to begin a sentence."""
    return f"On “{words}”, " if words else ""


def _start(words: str, name: str, *, verb: str = "is") -> str:
    return f"{sung_on(words)}{name} {verb} "


def place_text(score: Score, offset: Offset) -> str:
    """A place in words: ``measure 3, beat 2½``."""
    beat = score.beat_at(offset)
    whole, rest = divmod(beat, 1)
    part = {Fraction(0): "", Fraction(1, 2): "½", Fraction(1, 4): "¼", Fraction(3, 4): "¾"}
    part |= {Fraction(1, 3): "⅓", Fraction(2, 3): "⅔"}
    text = f"{whole}{part[rest]}" if rest in part else f"{float(beat):.2f}"
    return f"measure {score.measure_at(offset).number}, beat {text}"


def told_chord(row: ChordRow, fact: MelodyFact) -> Chord | None:
    """The chord that a note is told against: where it begins, or the one into which it is held.

    Of a note that comes early or is held over, the degree above the chord says which it is.
    """
    here = row.at(fact.span.start)
    held = (here, row.at(fact.span.end - _MOMENT), row.at(fact.span.end))
    chords = [one.chord for one in held if one is not None and one.chord is not None]
    key = row.key_at(fact.span.start)
    if key is None or fact.blue:
        return here.chord if here else None
    name = fact.pitch.name
    meant = (one for one in chords if chord_tone(name, one, key).degree == fact.chord_degree)
    return next(meant, chords[0] if chords else None)


def melody_sentence(
    fact: MelodyFact, chord: Chord | None, key: Key | None, words: str, times: int = 1
) -> str:
    """What is said of one melody note, or of a run of the same one."""
    name = name_text(fact.pitch.name)
    start = _start(words, name)
    over = chord_text(chord) if chord else "the chord"
    if fact.blue:
        often = f", {times_text(times)}" if times > 1 else ""
        return f"{start}a blue {_ORDINAL[fact.blue]}: {_against(fact, chord, key)}{often}."
    if fact.blue_third and fact.degree.startswith("#") and fact.role != "chord tone":
        return f"{start}a raised second that leads up to the third over {over}."
    if fact.role in _KIND:
        kind, colon, how = _KIND[fact.role].partition(":")
        return f"{start}{kind} over {over}{colon}{how}."
    if fact.role == "tension":
        return f"{start}the {degree_words(fact.chord_degree)} of {over}."
    if fact.role == "foreign":
        home = f", nor of {key_text(key)}" if key and _outside(fact) else ""
        rub = " and rubs a half step above one of its tones" if fact.reasons else ""
        return f"{start}no tone of {over}{home}{rub}."
    return f"{start}the {degree_words(fact.chord_degree)} of {over}."


def _outside(fact: MelodyFact) -> bool:
    return fact.degree.startswith(("b", "#"))


def _against(fact: MelodyFact, chord: Chord | None, key: Key | None) -> str:
    over = f", sung over {chord_text(chord)}" if chord else ""
    if key is not None and key.is_minor_like and fact.blue != "5":
        return f"the minor {_ORDINAL[fact.blue]} of the key{over}"
    return f"the lowered {_ORDINAL[fact.blue]} of {key_text(key) if key else 'the key'}{over}"


def blue_group_sentence(
    members: Sequence[MelodyFact],
    chords: Sequence[Chord | None],
    key: Key | None,
    section: str,
) -> str:
    """What is said of one blue degree sung again and again in a section."""
    fact = members[0]
    names = list(dict.fromkeys(name_text(one.pitch.name) for one in members))
    over = list(dict.fromkeys(chord_text(chord) for chord in chords if chord is not None))
    under = f", over {_listed(over)}" if 0 < len(over) <= _MOST_CHORDS else ""
    minor = key is not None and key.is_minor_like and fact.blue != "5"
    home = "the key" if key is None or minor else key_text(key)
    degree = f"{'minor' if minor else 'lowered'} {_ORDINAL[fact.blue]} of {home}"
    where = f" in {section_text(section, section)}" if section else ""
    often = times_text(len(members))
    return f"{_listed(names)}, the {degree}, is sung {often}{where}{under}."


def times_text(count: int) -> str:
    """How often: ``twice``, ``three times``, ``14 times``."""
    return "twice" if count == 2 else f"{_NUMBERS.get(count, str(count))} times"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def mixed_third_sentence(
    lowered: MelodyFact, natural: MelodyFact, chord: Chord | None, key: Key | None, words: str
) -> str:
    """What is said of a third that wavers between lowered and natural."""
    low, high = name_text(lowered.pitch.name), name_text(natural.pitch.name)
    over = f" over {chord_text(chord)}" if chord else ""
    home = f" of {key_text(key)}" if key else ""
    the = f"{sung_on(words)}the" if words else "The"
    return f"{the} third{home} wavers{over} between {low} and {high}."


def cross_sentence(
    fact: MelodyFact, other: PitchName, part: str, together: bool, words: str
) -> str:
    """What is said where melody and another voice have two forms of one degree."""
    mine, its = name_text(fact.pitch.name), name_text(other)
    how = "against" if together else "beside"
    the = "the" if words else "The"
    return f"{sung_on(words)}{the} melody has {mine} {how} {its} in {part}: a cross relation."


def instance_words(fact: MelodyFact, after: MelodyFact | None, place: str, lowered: bool) -> str:
    """One third of a group and what it goes to: ``G, lowered, m. 1 beat 2½, up to G♯``."""
    form = "lowered" if lowered else "natural"
    what = f"{name_text(fact.pitch.name)}, {form}, at {place}"
    if after is None:
        return f"{what}, then a rest."
    step = after.pitch.midi - fact.pitch.midi
    if step == 0:
        return f"{what}, sung again."
    way = "up" if step > 0 else "down"
    how = "" if abs(step) <= 2 else " by leap"
    return f"{what}, {way}{how} to {name_text(after.pitch.name)}."


def passage_sentence(kind: str, key: Key | None, words: str) -> str:
    """What is said of a passage in another scale than its harmony."""
    tonic = name_text(key.tonic) if key else ""
    start = f"From “{words}” on, the" if words else "The"
    if kind == "minor pentatonic":
        return f"{start} melody keeps to {tonic} minor pentatonic over major chords."
    return f"{start} melody is in {tonic} minor while the chords stay in {tonic} major."


def lowered_words(lowered: int, notes: int) -> str:
    """How many of a passage's notes are sung against the harmony."""
    return f"{lowered} of its {notes} notes are lowered ones against the harmony."


def measures_text(numbers: Sequence[str], most: int = 6) -> str:
    """``measure 5``, ``measures 5, 9 and 13``; what goes beyond ``most`` is counted."""
    row = list(dict.fromkeys(numbers))
    if len(row) == 1:
        return f"measure {row[0]}"
    if len(row) > most:
        return f"measures {', '.join(row[:most])} and {len(row) - most} more"
    return f"measures {', '.join(row[:-1])} and {row[-1]}"
