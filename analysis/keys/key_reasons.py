"""Why a region is heard in its key, how a change of key comes about, and which loops leave it open.

Each reason is one plain statement with the elements it rests on, in the words of a teacher. Loops
that are known to leave the tonic open are answered with the other reading, whatever the counts say:

- I, V, vi and IV in any order, and nothing else: the relative minor is another reading;
- I–bVII–IV: so is the key of IV, where it is V–IV–I; and the other way round where a piece begins
  on V, which goes down to IV and never home;
- i–IV and nothing else: so is the major key a whole step below, where it is ii–V.

Where the third of the tonic is heard both ways, or not at all, the parallel mode is another
reading: chords on a minor tonic with the natural third sung over them, a blues that sings the
lowered one over major chords, power chords.

References
----------
Open Music Theory v1, *popRockHarmony* (vi–IV–I–V and its rotations leave the mode open; bVII–IV–I).
Pivot and direct modulation, the last chorus up a step: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, Literal

from analysis.chords import Chord
from analysis.keys.key_cues import ChordEvent, Cues
from analysis.marks import Evidence, KeyRegion, PlacedChord
from analysis.pitch import Key, PitchName
from analysis.score import Score
from analysis.timebase import Span
from analysis.vocabulary.dominants import is_outside
from analysis.vocabulary.voices import HeldNote
from analysis.vocabulary.wording import chord_text, key_text, name_text

Change = Literal["", "pivot", "dominant", "direct", "step up"]

_REST: Final = 1.0
#: From this share of the other third on the mode is open, and so many quarters of sung thirds tell.
_BOTH_WAYS: Final = 0.25
_LEAST_SUNG: Final = 2.0
_STEPS: Final = {
    1: "a half step",
    2: "a whole step",
    3: "a minor third",
    4: "a major third",
    5: "a fourth",
    7: "a fifth",
}


def open_readings(key: Key, events: Sequence[ChordEvent]) -> list[Key]:
    """Other keys in which a region's loop can be heard as well."""
    chords = {((event.root - key.tonic.pc) % 12, event.quality == 1) for event in events}
    axis = {(0, False), (7, False), (9, True), (5, False)}
    if chords == axis:
        return [Key(key.tonic + 3, "minor")]
    if key.is_minor_like and chords == {(0, True), (3, False), (8, False), (10, False)}:
        return [Key(key.tonic + -3, "major")]
    if chords == {(0, False), (10, False), (5, False)}:
        return [Key(key.tonic + -1, "major")]
    if chords == {(0, True), (5, False)}:
        return [Key(key.tonic + -2, "major")]
    steps = [(event.root - key.tonic.pc) % 12 for event in events]
    moves = set(pairwise(steps))
    if not key.is_minor_like and steps[0] == 7 and (5, 0) in moves and (7, 0) not in moves:
        return [Key(key.tonic + 1, "mixolydian")]
    return []


def other_third(key: Key, placed: Sequence[PlacedChord]) -> float:
    """The share of the tonic chords' time that has the parallel mode's third, 0 without any.

    Chords without a third count half.
    """
    other = "maj" if key.is_minor_like else "min"
    shared = total = 0.0
    for one in placed:
        if one.chord is not None and one.chord.root.pc == key.tonic.pc:
            length = float(one.span.duration)
            total += length
            shared += length * (1.0 if one.chord.triad == other else 0.5 * (not one.chord.triad))
    return shared / max(total, 1e-9)


def parallel_reading(
    key: Key, placed: Sequence[PlacedChord], line: Sequence[HeldNote]
) -> tuple[Key, float] | None:
    """The parallel mode and how likely it is, where the tonic's third leaves the mode open.

    Parameters
    ----------
    placed
        The chords of the region in order of time.
    line
        The melody of the piece in order of time.

    Returns
    -------
    tuple or None
        None where the third of one mode is heard nearly alone. The chance is the mean of two
        shares, of the tonic chords and of the sung thirds that have the other third; chords without
        a third count half.
    """
    tonic = key.tonic.pc
    other = "maj" if key.is_minor_like else "min"
    played = other_third(key, placed)
    borders = placed[0].span.start, placed[-1].span.end
    begin, end = (bisect_left(line, at, key=lambda note: note.onset) for at in borders)
    sung = {3: 0.0, 4: 0.0}
    for note in line[begin:end]:
        step = (note.pitch.name.pc - tonic) % 12
        if step in sung:
            sung[step] += float(note.end - note.onset)
    total = sung[3] + sung[4]
    share = sung[4 if other == "maj" else 3] / total if total >= _LEAST_SUNG else played
    if max(played, share) < _BOTH_WAYS:
        return None
    return Key(key.tonic, "major" if key.is_minor_like else "minor"), (played + share) / 2


def explain_region(
    key: Key,
    span: Span,
    placed: Sequence[PlacedChord],
    ends: Sequence[HeldNote],
    score: Score,
) -> tuple[Evidence, ...]:
    """What speaks for a region's key, strongest first as far as it can be told.

    ``placed`` are the chords of the region, ``ends`` the last notes of the phrases of the piece.
    """
    sounding = [one for one in placed if one.chord is not None]
    tonics = [one for one in sounding if one.chord and one.chord.root.pc == key.tonic.pc]
    total = sum(float(one.span.duration) for one in sounding)
    share = sum(float(one.span.duration) for one in tonics) / max(total, 1e-9)
    found = []
    if tonics and _is_centre(key, sounding):
        what = f"Everything circles round {name_text(key.tonic)}."
        found.append(Evidence(what, tuple(one.symbol for one in tonics[:8])))
    if tonics:
        name = chord_text(tonics[0].chord)
        found.append(
            Evidence(f"{name} fills {share:.0%} of it.", tuple(one.symbol for one in tonics[:8]))
        )
    arrivals = _arrivals(key, sounding)
    if arrivals:
        times = "once" if len(arrivals) == 1 else f"{len(arrivals)} times"
        found.append(Evidence(f"Its dominant goes to its tonic {times}.", tuple(arrivals[:8])))
    for place, one in (("begins", sounding[0]), ("ends", sounding[-1])):
        if one in tonics:
            found.append(Evidence(f"It {place} on the tonic chord.", (one.symbol,)))
    ends = [note for note in ends if note.onset in span]
    home = [note for note in ends if note.pitch.name.pc == key.tonic.pc]
    if home and 3 * len(home) >= len(ends):
        found.append(
            Evidence(
                f"{len(home)} of {len(ends)} phrases of the melody end on {name_text(key.tonic)}.",
                tuple(note.id for note in home[:8]),
            )
        )
    signs = [sign for sign in score.key_signatures if sign.onset <= span.start]
    if signs and signs[-1].fifths == key.signature:
        found.append(Evidence("The written key signature agrees."))
    return tuple(found)


def _is_centre(key: Key, sounding: Sequence[PlacedChord]) -> bool:
    """Whether the tonic fills more time than any other root and is come back to."""
    time: defaultdict[int, float] = defaultdict(float)
    for one in sounding:
        if one.chord is not None:
            time[one.chord.root.pc] += float(one.span.duration)
    roots = [one.chord.root.pc for one in sounding if one.chord is not None]
    returns = sum(later == key.tonic.pc and before != later for before, later in pairwise(roots))
    return returns > 1 and time[key.tonic.pc] >= max(time.values())


def _arrivals(key: Key, sounding: Sequence[PlacedChord]) -> list[str]:
    """Symbols of tonic chords that a dominant goes to."""
    return [
        after.symbol
        for before, after in pairwise(sounding)
        if before.chord
        and after.chord
        and after.chord.root.pc == key.tonic.pc
        and before.chord.triad in ("maj", "aug")
        and (before.chord.root.pc - key.tonic.pc) % 12 == 7
    ]


def phrase_ends(line: Sequence[HeldNote]) -> list[HeldNote]:
    """The last note before every rest of at least a quarter, in order."""
    onsets = [*(float(note.onset) for note in line[1:]), float("inf")]
    return [
        note
        for note, following in zip(line, onsets, strict=False)
        if following - float(note.end) >= _REST
    ]


def change_of(
    placed: Sequence[PlacedChord], before: KeyRegion | None, region: KeyRegion
) -> tuple[Change, tuple[Evidence, ...]]:
    """How a region is reached from the one before it, with what shows it."""
    if before is None or before.key.tonic.pc == region.key.tonic.pc:
        return "", ()
    steps = (region.key.tonic.pc - before.key.tonic.pc) % 12
    evidence = []
    new = _new_tones(before.key, region.key, placed, region.span)
    if new:
        tones, elements = new
        verb = "sound" if " " in tones else "sounds"
        what = f"From here {tones} {verb}, foreign to {key_text(before.key)}."
        evidence.append(Evidence(what, elements))
    if steps in (1, 2) and before.key.is_minor_like == region.key.is_minor_like:
        return "step up", tuple(evidence)
    shared = _shared_chord(placed, region.span, before.key, region.key)
    if shared is not None and shared.chord is not None:
        evidence.append(Evidence(f"{chord_text(shared.chord)} belongs to both.", (shared.symbol,)))
        return "pivot", tuple(evidence)
    prepared = _prepared(placed, before.key, region)
    if prepared is not None:
        return "dominant", (prepared, *evidence)
    return "direct", tuple(evidence)


def _prepared(placed: Sequence[PlacedChord], old: Key, region: KeyRegion) -> Evidence | None:
    """That the new key's own dominant comes first, with its ii before it, and goes to its tonic."""
    tonic = region.key.tonic.pc
    sounding = [one for one in placed if one.chord is not None]
    first = next((at for at, one in enumerate(sounding) if one.span.start >= region.span.start), 0)
    steps = [(one.chord.root.pc - tonic) % 12 if one.chord else -1 for one in sounding]
    home = next((at for at in range(first, min(first + 4, len(steps))) if steps[at] == 0), -1)
    if home < 1 or steps[home - 1] != 7:
        return None
    lead = sounding[home - 1]
    if lead.chord is None or lead.chord.triad != "maj" or not is_outside(lead.chord, old):
        return None
    name, wanted = chord_text(lead.chord), name_text(region.key.tonic)
    if home > 1 and steps[home - 2] == 2:
        second = sounding[home - 2]
        what = f"{chord_text(second.chord)} and {name}, its own ii and V, prepare {wanted}."
        return Evidence(what, (second.symbol, lead.symbol))
    return Evidence(f"{name}, its own dominant, prepares {wanted}.", (lead.symbol,))


def find_lift(
    score: Score, placed: Sequence[PlacedChord], cues: Cues, first: int
) -> Evidence | None:
    """That the chords of an earlier place come back here higher, named by the section if one is.

    Parameters
    ----------
    first
        Index of the region's first chord event.
    """
    boxes = {mark.onset: mark.text for mark in score.rehearsal_marks}
    for shift in cues.shifts:
        if not shift.later <= first < shift.later + shift.length or shift.steps not in _STEPS:
            continue
        pairs = [
            (
                placed[cues.events[shift.first + at].first],
                placed[cues.events[shift.later + at].first],
            )
            for at in range(shift.length)
        ]
        then, now = next((pair for pair in pairs if pair[1].span.start in boxes), pairs[0])
        measure = score.measure_at(then.span.start).number
        named = boxes.get(then.span.start) if now.span.start in boxes else None
        what = f"of {named}" if named else f"from measure {measure} on"
        statement = f"The chords {what} come back {_STEPS[shift.steps]} higher."
        return Evidence(statement, (then.symbol, now.symbol))
    return None


def _new_tones(
    old: Key, new: Key, placed: Sequence[PlacedChord], span: Span
) -> tuple[str, tuple[str, ...]] | None:
    """Tones of the new key's chords that the old key lacks, and the symbols that sound them."""
    foreign = {name.pc for name in new.scale} - {name.pc for name in old.scale}
    heard: Counter[PitchName] = Counter()
    where: list[str] = []
    for one in placed:
        if one.chord is None or one.span.start not in span:
            continue
        tones = [tone for tone in one.chord.tones if tone.pc in foreign]
        heard.update(tones)
        if tones:
            where.append(one.symbol)
    if not heard:
        return None
    names = [name_text(tone) for tone, _ in heard.most_common(2)]
    return " and ".join(names), tuple(where[:8])


def _shared_chord(
    placed: Sequence[PlacedChord], span: Span, old: Key, new: Key
) -> PlacedChord | None:
    """The last chord of the old key or the first of the new one, where it belongs to both."""
    before = [one for one in placed if one.chord and one.span.start < span.start][-1:]
    after = [one for one in placed if one.chord and one.span.start >= span.start][:1]
    for one in (*before, *after):
        if one.chord and _belongs(one.chord, old) and _belongs(one.chord, new):
            return one
    return None


def _belongs(chord: Chord, key: Key) -> bool:
    return bool(chord.triad) and not is_outside(chord, key)
