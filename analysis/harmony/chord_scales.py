"""Chord scales: which scale a chord carries where the key's own does not say.

The task concerns chords outside the key, dominants of other chords and chords with tensions. Each
kind of chord has a few scales to choose from. Those that lack one of its tones fall out; of the
rest the two are kept that have the fewest tones foreign to the key; symmetric and altered scales
stay out of it where two plainer ones hold all tones of the chord, and a substitute, a backdoor
dominant or an augmented sixth has lydian dominant first and mixolydian beside it, as neither leads
by a fifth. An augmented triad that works as a dominant gets none. A scale is claimed where a
sounding note is in one of them alone: a melody note over the chord, or else a tone of the chord
after or before it. Where no note decides, both are offered and none is claimed.

Conventions
-----------
Scales are named by root and name, ``B♭ lydian dominant``. Degrees are those above the chord's root:
over ♭VII7 the perfect eleventh, which is the lowered third of the key, points to mixolydian, the
raised eleventh to lydian dominant. A tone spelled as a fifth is one: D over A♭7 is the raised
eleventh, E♭♭ the lowered fifth.

References
----------
Chord-scale pairs: common practice in jazz and pop teaching, no source.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from analysis.chords import Chord
from analysis.marks import ChordFact
from analysis.pitch import PitchName
from analysis.timebase import Offset
from analysis.vocabulary.voices import HeldNote
from analysis.vocabulary.wording import chord_text, name_text

#: Scales by name: half steps above the root.
SCALES: Final[dict[str, tuple[int, ...]]] = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "lydian": (0, 2, 4, 6, 7, 9, 11),
    "mixolydian": (0, 2, 4, 5, 7, 9, 10),
    "lydian dominant": (0, 2, 4, 6, 7, 9, 10),
    "mixolydian with a lowered sixth": (0, 2, 4, 5, 7, 8, 10),
    "phrygian dominant": (0, 1, 4, 5, 7, 8, 10),
    "altered": (0, 1, 3, 4, 6, 8, 10),
    "half-whole diminished": (0, 1, 3, 4, 6, 7, 9, 10),
    "whole-tone": (0, 2, 4, 6, 8, 10),
    "dorian": (0, 2, 3, 5, 7, 9, 10),
    "minor": (0, 2, 3, 5, 7, 8, 10),
    "phrygian": (0, 1, 3, 5, 7, 8, 10),
    "melodic minor": (0, 2, 3, 5, 7, 9, 11),
    "harmonic minor": (0, 2, 3, 5, 7, 8, 11),
    "locrian": (0, 1, 3, 5, 6, 8, 10),
    "locrian with a natural second": (0, 2, 3, 5, 6, 8, 10),
    "whole-half diminished": (0, 2, 3, 5, 6, 8, 9, 11),
    "lydian augmented": (0, 2, 4, 6, 8, 9, 11),
}
#: Scales to choose from by triad and seventh, the plainest first.
_CHOICES: Final[dict[tuple[str, str], tuple[str, ...]]] = {
    ("maj", ""): ("major", "lydian", "mixolydian"),
    ("maj", "M7"): ("major", "lydian"),
    ("maj", "m7"): (
        "mixolydian",
        "lydian dominant",
        "mixolydian with a lowered sixth",
        "phrygian dominant",
        "half-whole diminished",
        "altered",
        "whole-tone",
    ),
    ("min", ""): ("dorian", "minor", "phrygian"),
    ("min", "m7"): ("dorian", "minor", "phrygian"),
    ("min", "M7"): ("melodic minor", "harmonic minor"),
    ("dim", "m7"): ("locrian", "locrian with a natural second"),
    ("dim", ""): ("locrian", "whole-half diminished"),
    ("dim", "d7"): ("whole-half diminished",),
    ("aug", ""): ("whole-tone", "lydian augmented"),
    ("aug", "m7"): ("whole-tone", "altered"),
    ("aug", "M7"): ("lydian augmented",),
}
#: Scales that are no mode of a major or minor scale with one tone altered.
_SPECIAL: Final = frozenset({"half-whole diminished", "altered", "whole-tone"})
#: Dominant sevenths that lead by no fifth, by the tags of their facts, and their scales.
_SIDEWAYS: Final = frozenset({"subV", "backdoor", "augmented sixth"})
_SIDEWAYS_CHOICES: Final = ("lydian dominant", "mixolydian")
_DEGREES: Final = (
    "the root", "the lowered ninth", "the ninth", "the raised ninth", "the major third",
    "the perfect eleventh", "the raised eleventh", "the fifth", "the lowered thirteenth",
    "the thirteenth", "the minor seventh", "the major seventh",
)  # fmt: skip
#: Where the spelling says more than the key on the keyboard: by fifths from the root to the tone.
_SPELLED: Final = {-6: "the lowered fifth", 8: "the raised fifth"}
#: The two scales that fit a key best are parted by the notes that only one has, where one side
#: sounds so many times as long as the other.
_CLEARLY: Final = 2
_MELODY: Final = "in the melody"


@dataclass(frozen=True, slots=True)
class _Heard:
    """A sounding tone: its weight, the id of its note (empty in a chord), and where it is."""

    name: PitchName
    weight: int
    note: str
    where: str


@dataclass(frozen=True, slots=True)
class ChordScale:
    """The scale of one chord.

    ``names`` are the scales that fit, one where a note decided; ``note`` is the id of that note,
    empty where it is in a chord; ``reason`` says which note decided, or that none did.
    """

    root: PitchName
    names: tuple[str, ...]
    reason: str
    note: str = ""

    @property
    def text(self) -> str:
        """Such as ``B♭ mixolydian``, or ``B♭ mixolydian or lydian dominant``."""
        return f"{name_text(self.root)} {' or '.join(self.names)}"


def find_chord_scales(
    facts: Sequence[ChordFact], line: Sequence[HeldNote]
) -> tuple[ChordScale | None, ...]:
    """The scale of every chord of a row that needs one, None for the others.

    Parameters
    ----------
    facts
        Chords in order of time.
    line
        The melody in order of time; may be empty.
    """
    found: list[ChordScale | None] = []
    for at, fact in enumerate(facts):
        chord = fact.chord
        if chord is None or not _needs_scale(fact, chord):
            found.append(None)
            continue
        # The note before the first onset may still sound.
        first = max(bisect_right(line, fact.span.start, key=_onset) - 1, 0)
        last = bisect_left(line, fact.span.end, key=_onset)
        over = [note for note in line[first:last] if note.end > fact.span.start]
        after = facts[at + 1].chord if at + 1 < len(facts) else None
        before = facts[at - 1].chord if at else None
        found.append(_scale(fact, chord, over, after, before))
    return tuple(found)


def _onset(note: HeldNote) -> Offset:
    return note.span.start


def _needs_scale(fact: ChordFact, chord: Chord) -> bool:
    tensions = any(number > 7 for number, _ in chord.degrees)
    applied = bool({"applied", "backdoor"} & set(fact.tags))
    if chord.triad == "aug" and not chord.seventh and fact.function == "D":
        return False
    return (chord.triad, chord.seventh) in _CHOICES and (fact.outside_key or tensions or applied)


def _scale(
    fact: ChordFact,
    chord: Chord,
    over: Sequence[HeldNote],
    after: Chord | None,
    before: Chord | None,
) -> ChordScale:
    """Choose by the chord's own tones and its key, then by what sounds over it and beside it."""
    own = {(tone.pc - chord.root.pc) % 12: tone for tone in chord.tones}
    if 8 in own and 7 in own:
        del own[7]  # beside a lowered thirteenth the fifth is left out
    sideways = bool(_SIDEWAYS & set(fact.tags))
    known = _SIDEWAYS_CHOICES if sideways else _CHOICES[chord.triad, chord.seventh]
    fitting = [name for name in known if all(step in SCALES[name] for step in own)]
    plain = [name for name in fitting if name not in _SPECIAL]
    fitting = plain if len(plain) > 1 else fitting
    name = chord_text(chord)
    if len(fitting) < 2:
        tension = next((s for s in own if any(s not in SCALES[other] for other in known)), None)
        reason = f"{'Only one' if fitting else 'No'} usual scale has all tones of {name}."
        if fitting and tension is not None:
            tone = own[tension]
            reason = f"{name_text(tone)}, {_degree(chord, tone)} of {name}, decides its scale."
        return ChordScale(chord.root, tuple(fitting), reason)
    home = {(tone.pc - chord.root.pc) % 12 for tone in fact.key.scale}
    if not sideways:
        fitting.sort(key=lambda scale: len(set(SCALES[scale]) - home - set(own)))
    first, second = fitting[:2]
    only = dict.fromkeys(set(SCALES[first]) - set(SCALES[second]), first)
    only |= dict.fromkeys(set(SCALES[second]) - set(SCALES[first]), second)
    for heard in (_sung(over), [*_sounding(after, _CLEARLY), *_sounding(before, 1)]):
        weights: Counter[str] = Counter()
        loudest: dict[str, _Heard] = {}
        for one in heard:
            step = (one.name.pc - chord.root.pc) % 12
            if step in only:
                weights[only[step]] += one.weight
                loudest.setdefault(only[step], one)
        ranked = weights.most_common()
        if ranked and (len(ranked) == 1 or ranked[0][1] >= _CLEARLY * ranked[1][1]):
            one = loudest[ranked[0][0]]
            degree = _degree(chord, one.name)
            reason = f"{name_text(one.name)} {one.where}, {degree} of {name}, decides its scale."
            return ChordScale(chord.root, (ranked[0][0],), reason, one.note)
    return ChordScale(chord.root, (first, second), f"No note by {name} decides between its scales.")


def _degree(chord: Chord, tone: PitchName) -> str:
    """What a tone is above a chord's root, in words; as spelled, where that tells a fifth."""
    return _SPELLED.get(tone - chord.root, _DEGREES[(tone.pc - chord.root.pc) % 12])


def _sung(over: Sequence[HeldNote]) -> list[_Heard]:
    return [
        _Heard(note.pitch.name, max(1, round(4 * float(note.end - note.onset))), note.id, _MELODY)
        for note in over
    ]


def _sounding(chord: Chord | None, weight: int) -> list[_Heard]:
    tones = chord.tones if chord is not None else ()
    return [_Heard(tone, weight, "", f"in {chord_text(chord)}") for tone in tones]
