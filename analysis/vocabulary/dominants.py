"""Dominants: chords that lead somewhere, where they wanted to go, and what became of them.

The task is to find, in a row of chords with their keys, every chord that acts as a dominant: the
key's own V and vii°, applied dominants of other degrees, tritone substitutes and the backdoor
bVII7; to say which chord each expects; and to say whether that chord came.

Method
------
A dominant *shape* is a major or augmented triad, with or without a minor seventh (it wants a root
a fifth below), or a diminished one (a half step up). A major triad that belongs to the key is a
shape with no direction of its own, so it counts as applied only with a note that the key does not
have. A dominant seventh also wants the root a half step below (substitute dominant), or, on bVII,
the tonic a whole step up (backdoor). Which of these holds is decided by the next different root
alone: waiting longer finds a few more and calls many more wrongly (measured on the rock corpus).
What became of a dominant later than that is told by `analysis.harmony.resolutions`.

A chord of the subdominant over the dominant's bass (IV/5, ii7/5) is a suspended dominant. An
augmented triad between two chords on its own root only carries its fifth on, and asks for nothing.
A six-four holds the dominant's aim back only where the dominant itself follows.

In a blues, tonic and subdominant carry their sevenths as colour, so I7 and IV7 are no dominants
there.

References
----------
Open Music Theory v1, *appliedChords*: any major or minor triad of the key can be a target, a
diminished one cannot. Substitute and backdoor dominants, deceptive resolutions of applied
dominants: common practice in jazz and pop teaching, no source. T. de Clercq & D. Temperley, "A
corpus analysis of rock harmony", *Popular Music* 30/1, 2011.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from analysis.chords import Chord
from analysis.pitch import Key
from analysis.timebase import Span
from analysis.vocabulary.numerals import Target, respelled_root

Kind = Literal["V", "vii", "subV", "backdoor"]
Resolution = Literal["resolves", "deceptive", "delayed", "interrupted", "unresolved"]


@dataclass(frozen=True, slots=True)
class ChordInKey:
    """One chord of the row with its place and key; ``chord`` is None for N.C.

    ``confidence`` is that of the key.
    """

    span: Span
    chord: Chord | None
    key: Key
    confidence: float = 1.0

    @property
    def interval(self) -> int:
        """Half steps from the tonic up to the root, 0 to 11; -1 for N.C."""
        return (self.chord.root.pc - self.key.tonic.pc) % 12 if self.chord else -1


@dataclass(frozen=True, slots=True)
class Dominant:
    """One dominant: its kind, the chord it expects, and what became of it.

    ``applied`` is False for the key's own V, vii°, substitute and backdoor. ``arrival`` is the
    index of the chord that came (the next different root), or -1 at the end. ``chain`` says that
    the expected root came as another dominant.
    """

    kind: Kind
    target: Target
    applied: bool
    resolution: Resolution
    arrival: int
    chain: bool = False


@lru_cache(maxsize=256)
def scale_pitch_classes(key: Key) -> frozenset[int]:
    """Pitch classes of the key; a minor key has its raised seventh as well."""
    tones = {name.pc for name in key.scale}
    if key.mode == "minor":
        tones.add((key.tonic.pc + 11) % 12)
    return frozenset(tones)


def is_outside(chord: Chord, key: Key) -> bool:
    """Whether a tone of the triad is foreign to the key (major, or natural minor with raised 7).

    Modes are folded: mixolydian and lydian are judged as major, dorian and phrygian as minor. The
    seventh does not count, so that a blues' I7 stays inside.
    """
    folded = Key(key.tonic, "minor" if key.is_minor_like else "major")
    scale = scale_pitch_classes(folded)
    third, fifth = {
        "maj": (4, 7),
        "min": (3, 7),
        "dim": (3, 6),
        "aug": (4, 8),
        "": (0, 7),
    }[chord.triad]
    return any((chord.root.pc + step) % 12 not in scale for step in (0, third, fifth))


def belongs_to_mode(chord: Chord, key: Key) -> bool:
    """Whether the key is a mode beside major and minor whose own scale holds the triad.

    So it is with bVII and v in mixolydian, IV and ii in dorian, bII in phrygian, II in lydian.
    """
    if key.mode in ("major", "minor"):
        return False
    own = {name.pc for name in key.scale}
    return bool(chord.triad) and all(
        tone.pc in own
        for (number, _), tone in zip(chord.degrees, chord.tones, strict=True)
        if number in (1, 3, 5)
    )


def has_dominant_shape(chord: Chord) -> bool:
    """A major or augmented triad, or a suspended fourth with a minor seventh; no major seventh."""
    if chord.seventh == "M7" or chord.has(6, 0):
        return False
    suspended = chord.triad == "" and chord.has(4, 0) and chord.seventh == "m7"
    return chord.triad in ("maj", "aug") or suspended


def next_root(row: Sequence[ChordInKey], at: int) -> int:
    """Index of the next chord on another root, -1 where N.C. or the end comes first."""
    here = row[at].chord
    for index in range(at + 1, len(row)):
        chord = row[index].chord
        if chord is None or here is None:
            return -1
        if chord.root.pc != here.root.pc:
            return index
    return -1


def blues_regions(row: Sequence[ChordInKey]) -> frozenset[Key]:
    """Keys whose tonic is a dominant seventh: nearly always, or mostly with IV as one too."""
    total: dict[Key, float] = {}
    seventh: dict[Key, float] = {}
    fourth: set[Key] = set()
    for one in row:
        if one.chord is None:
            continue
        coloured = one.chord.triad == "maj" and one.chord.seventh == "m7"
        length = float(one.span.duration)
        if one.interval == 0:
            total[one.key] = total.get(one.key, 0.0) + length
            seventh[one.key] = seventh.get(one.key, 0.0) + coloured * length
        elif one.interval == 5 and coloured:
            fourth.add(one.key)
    return frozenset(
        key
        for key, length in seventh.items()
        if length > (0.5 if key in fourth else 0.9) * total[key]
    )


def target_in(key: Key, root_pc: int) -> Target | None:
    """The triad of the key on a root, spelled in the key; None where it is diminished or foreign.

    In major also the triads borrowed from the parallel minor (bIII, bVI, bVII) can be aimed at, in
    minor the ii of its dorian form.
    """
    interval = (root_pc - key.tonic.pc) % 12
    if key.is_minor_like:
        known = {0: (0, True), 3: (-3, False), 5: (-1, True), 7: (1, True), 8: (-4, False)}
        known |= {10: (-2, False), 2: (2, True)}
    else:
        known = {0: (0, False), 2: (2, True), 4: (4, True), 5: (-1, False), 7: (1, False)}
        known |= {9: (3, True), 3: (-3, False), 8: (-4, False), 10: (-2, False)}
    if interval not in known:
        return None
    fifths, minor = known[interval]
    return Target(key.tonic + fifths, minor)


def find_dominants(row: Sequence[ChordInKey], blues: frozenset[Key]) -> tuple[Dominant | None, ...]:
    """The dominants of a row of chords, one entry a chord, None where a chord is none.

    ``blues`` are the keys of the piece that are a blues, from `blues_regions` of the whole row.
    """
    found = [
        _dominant(row, at, one.key in blues) if one.chord is not None else None
        for at, one in enumerate(row)
    ]
    for at in range(len(row) - 2, -1, -1):
        if _suspends(row[at], row[at + 1]) and (found[at] is None or is_over_dominant(row[at])):
            found[at] = found[at + 1]
    return tuple(_leading_on(one, found) for one in found)


def _leading_on(one: Dominant | None, found: Sequence[Dominant | None]) -> Dominant | None:
    """The key's own dominant, marked as a chain where its tonic comes as a dominant of IV."""
    if one is None or one.applied or one.resolution != "resolves" or one.kind == "backdoor":
        return one
    heir = found[one.arrival]
    return replace(one, chain=True) if heir is not None and heir.applied else one


def _suspends(one: ChordInKey, following: ChordInKey) -> bool:
    """Whether a chord holds back the one that follows on its own root, or over its own bass."""
    chord, after = one.chord, following.chord
    if chord is None or after is None or not has_dominant_shape(after):
        return False
    if is_over_dominant(one):
        return after.root.pc == chord.bass.pc
    return after.root.pc == chord.root.pc and not chord.triad and chord.has(4, 0)


def is_over_dominant(one: ChordInKey) -> bool:
    """IV or ii over the fifth degree in the bass, which is none of their tones."""
    chord = one.chord
    if chord is None or not chord.foreign_bass or one.interval not in (2, 5):
        return False
    return (chord.bass.pc - one.key.tonic.pc) % 12 == 7


def _dominant(row: Sequence[ChordInKey], at: int, blues: bool) -> Dominant | None:
    one = row[at]
    chord = one.chord
    assert chord is not None
    arrival = next_root(row, at)
    came = row[arrival].chord if arrival >= 0 else None
    if chord.triad == "dim":
        return _leading(row, at, arrival, came)
    if is_over_dominant(one):
        return _own(one, arrival, came)
    if not has_dominant_shape(chord) or _fifth_moves(row, at):
        return None
    step = (came.root.pc - chord.root.pc) % 12 if came is not None else -1
    seventh = chord.triad == "maj" and chord.seventh == "m7"
    if one.interval == 7:
        return _own(one, arrival, came)
    steps_down = one.interval == 0 and chord.inversion == 3 and step == 5
    leads_on = steps_down or (one.interval == 5 and step == 11)
    if blues and one.interval in (0, 5) and seventh and not leads_on:
        return None
    if seventh and one.interval == 10 and step == 2:
        return Dominant("backdoor", _tonic(one.key), False, "resolves", arrival)
    target = target_in(one.key, chord.root.pc + 5)
    foreign = is_outside(chord, one.key) and (seventh or not _is_mixture(one, came))
    # The seventh of IV7 is colour from the blues and asks for nothing.
    if seventh and one.interval != 5:
        foreign |= (chord.root.pc + 10) % 12 not in scale_pitch_classes(one.key)
    if one.key.is_minor_like and one.interval == 10 and seventh and step == 5:
        # VII7 of a minor key lies in its scale; going on to III it is that chord's dominant.
        foreign = True
    if step == 5 and foreign and target is not None and came is not None:
        minor = came.triad in ("min", "dim") if came.triad else target.minor
        chain = has_dominant_shape(came) and came.seventh == "m7"
        # A chain's next dominant is major whatever it stands for; a minor key's own V is major.
        own = one.key.is_minor_like and target.root - one.key.tonic == 1
        aim = Target(target.root, target.minor if chain and not own else minor)
        return Dominant("V", aim, True, "resolves", arrival, chain)
    if seventh and one.interval == 8 and _is_six_four(row, arrival):
        return None  # an augmented sixth; see the functions
    if seventh and step == 11 and came is not None:
        root = respelled_root(came, one.key.tonic)
        home = one.interval == 1
        aim = Target(root, came.triad in ("min", "dim"))
        return Dominant("subV", aim, not home, "resolves", arrival)
    if seventh and foreign and target is not None and one.interval not in (0, 5, 10):
        over_dominant = (target.root - one.key.tonic) == 1 and _gives_way(row, arrival)
        missed = "delayed" if over_dominant else _missed(target, came)
        return Dominant("V", target, True, missed, arrival)
    if foreign and one.interval in (4, 9) and came is not None and row[arrival].interval == 5:
        # III–IV and VI–IV: IV comes for vi or ii, with which it shares two tones.
        aimed = target_in(one.key, chord.root.pc + 5)
        return Dominant("V", aimed, True, "deceptive", arrival) if aimed else None
    return None


def _fifth_moves(row: Sequence[ChordInKey], at: int) -> bool:
    """Whether an augmented triad only carries its fifth on, its root staying before and after.

    C–C+–C6 is one chord with a moving voice, 5–#5–6; the key's own V is a dominant either way.
    """
    one = row[at]
    if one.chord is None or one.chord.triad != "aug" or one.chord.seventh or one.interval == 7:
        return False
    around = [row[index].chord for index in (at - 1, at + 1) if 0 <= index < len(row)]
    return len(around) == 2 and all(
        other is not None and other.root.pc == one.chord.root.pc for other in around
    )


def _is_mixture(one: ChordInKey, came: Chord | None) -> bool:
    """Whether a plain triad outside the key is colour from the parallel mode and leads nowhere.

    bIII and bVII of a major key are; so is a major tonic in a minor one, unless a minor iv follows.
    """
    if one.key.is_minor_like:
        return one.interval == 0 and (came is None or came.triad != "min")
    return one.interval in (3, 10)


def _is_six_four(row: Sequence[ChordInKey], at: int) -> bool:
    """Whether the chord there is the tonic over the dominant's bass."""
    chord = row[at].chord if at >= 0 else None
    return chord is not None and row[at].interval == 0 and chord.inversion == 2


def _gives_way(row: Sequence[ChordInKey], at: int) -> bool:
    """Whether the tonic stands there over the dominant's bass and the dominant follows."""
    while _is_six_four(row, at):
        at = at + 1 if at + 1 < len(row) else -1
        if at >= 0 and row[at].interval == 7:
            return True
    return False


def _own(one: ChordInKey, arrival: int, came: Chord | None) -> Dominant:
    """The key's own V: blues and rock go back to IV from it, which is no deception."""
    resolution: Resolution = "unresolved"
    if came is not None:
        interval = (came.root.pc - one.key.tonic.pc) % 12
        if interval == 0:
            resolution = "resolves"
        elif interval in (8, 9) and came.triad in ("maj", "min"):
            resolution = "deceptive"
    return Dominant("V", _tonic(one.key), False, resolution, arrival)


def _leading(
    row: Sequence[ChordInKey], at: int, arrival: int, came: Chord | None
) -> Dominant | None:
    """A diminished chord a half step below what comes, or the key's own vii°."""
    one = row[at]
    assert one.chord is not None
    wanted = (one.chord.root.pc + 1) % 12
    if one.interval == 11:
        resolved = came is not None and came.root.pc == wanted
        return Dominant(
            "vii", _tonic(one.key), False, "resolves" if resolved else "unresolved", arrival
        )
    target = target_in(one.key, wanted)
    if target is None or not is_outside(one.chord, one.key):
        return None
    if came is not None and came.root.pc == wanted and came.triad in ("maj", "min", ""):
        minor = came.triad == "min" if came.triad else target.minor
        return Dominant("vii", Target(target.root, minor), True, "resolves", arrival)
    if came is None or wanted != (one.key.tonic.pc + 7) % 12:
        return None
    if came.root.pc == one.key.tonic.pc:
        if not _is_six_four(row, arrival) and at and row[at - 1].interval == 0:
            return None  # between two tonics it neighbours them by a common tone
        came_late: Resolution = "delayed" if _gives_way(row, arrival) else "unresolved"
        return Dominant("vii", target, True, came_late, arrival)
    if came.root.pc == (one.key.tonic.pc + 5) % 12 and one.chord.seventh == "m7":
        # The bass of #ivø7 slides down to IV in place of going up to V.
        return Dominant("vii", target, True, "deceptive", arrival)
    return None


def _missed(target: Target, came: Chord | None) -> Resolution:
    """Deceptive where a chord that shares the target's third or fifth takes its place."""
    if came is None:
        return "unresolved"
    step = (came.root.pc - target.root.pc) % 12
    return "deceptive" if step in (8, 9) and came.triad in ("maj", "min") else "unresolved"


def _tonic(key: Key) -> Target:
    return Target(key.tonic, key.is_minor_like)


def spelled_target(target: Target) -> str:
    """A target as a chord symbol, such as ``Am``."""
    return f"{target.root}{'m' if target.minor else ''}"
