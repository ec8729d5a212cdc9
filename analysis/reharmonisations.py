"""What the harmony does when a melody comes back.

The task: lay the chords of a passage and of its return side by side and name the places where they
truly differ.

Conventions. Chords are compared by sound after the transposition of the return. One chord whose
tones include all of the other's is that chord revoiced, enriched or simplified. A change that one
pass makes up to a beat sooner than the other is the same change. Where one pass has no symbol of
its own in the place, its notes decide: unless they agree with the chord that goes on, the symbol
was left out in the transcription, and nothing is claimed. All of it holds with the passes swapped.

Limits: what the accompaniment plays is only asked where a symbol is missing; a symbol that is wrong
in one pass is taken at its word.

References
----------
Common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

from analysis.chords import Chord
from analysis.marks import ChordDifference, ChordFact, Function, Repeat
from analysis.score import Note, Score
from analysis.timebase import Offset, Span

#: Up to this many quarters an earlier change is the same change.
_EARLY: Final = Fraction(1)
_ABOVE_THE_ROOT: Final = (
    "root", "♭9", "9", "minor third", "third", "11", "♯11", "fifth", "♯5", "sixth", "seventh",
    "major seventh",
)  # fmt: skip

_Sounding = Callable[[Span], list[Note]]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch of both passes in which each has one chord; offsets from the passes' starts."""

    start: Offset
    end: Offset
    first: ChordFact
    later: ChordFact


def compare_harmony(
    score: Score, repeats: Sequence[Repeat], chords: Sequence[ChordFact]
) -> tuple[Repeat, ...]:
    """The repeats with their differences of harmony, in order of time.

    Parameters
    ----------
    score
        For the notes that decide where a symbol is missing.
    repeats
        Passages and returns.
    chords
        All chords of the piece in order of time.

    Returns
    -------
    tuple of Repeat
        The same repeats in the same order; `Repeat.reharmonised` is true where a chord differs.
    """
    starts = [chord.span.start for chord in chords]
    notes = sorted(
        (note for part in score.parts for note in part.notes if note.pitch and not note.grace),
        key=lambda note: note.onset,
    )
    onsets = [note.onset for note in notes]

    def sounding(span: Span) -> list[Note]:
        return notes[bisect_right(onsets, span.start - 1) : bisect_right(onsets, span.end)]

    compared = []
    for repeat in repeats:
        stretches = _stretches(repeat, chords, starts)
        differences = []
        for region in _regions(stretches, repeat.transposition):
            difference = _difference(repeat, region, sounding)
            if difference is not None:
                differences.append(difference)
        compared.append(
            replace(repeat, differences=tuple(differences), reharmonised=bool(differences))
        )
    return tuple(compared)


def _stretches(
    repeat: Repeat, chords: Sequence[ChordFact], starts: Sequence[Offset]
) -> list[_Stretch]:
    """Both passes cut wherever either changes its chord; gaps without a chord are passed over."""
    length = min(repeat.first.duration, repeat.later.duration)
    cuts = {Fraction(0), length}
    for span in (repeat.first, repeat.later):
        low, high = bisect_right(starts, span.start), bisect_right(starts, span.start + length)
        cuts.update(start - span.start for start in starts[low:high])
    ordered = sorted(cut for cut in cuts if 0 <= cut <= length)
    stretches = []
    for start, end in pairwise(ordered):
        first = _chord_at(repeat.first.start + start, chords, starts)
        later = _chord_at(repeat.later.start + start, chords, starts)
        if first is not None and later is not None:
            stretches.append(_Stretch(start, end, first, later))
    return stretches


def _chord_at(
    at: Offset, chords: Sequence[ChordFact], starts: Sequence[Offset]
) -> ChordFact | None:
    index = bisect_right(starts, at) - 1
    if index < 0 or at >= chords[index].span.end or chords[index].chord is None:
        return None
    return chords[index]


def _regions(stretches: Sequence[_Stretch], transposition: int) -> list[list[_Stretch]]:
    """Neighbouring stretches that differ, joined; changes that merely come early are left out."""
    regions: list[list[_Stretch]] = []
    for index, stretch in enumerate(stretches):
        if _same(stretch.first, stretch.later, transposition) or _is_early(
            index, stretches, transposition
        ):
            continue
        if regions and regions[-1][-1].end == stretch.start:
            regions[-1].append(stretch)
        else:
            regions.append([stretch])
    return regions


def _is_early(index: int, stretches: Sequence[_Stretch], transposition: int) -> bool:
    """Whether a short stretch differs only because one pass changes before the other."""
    stretch = stretches[index]
    if stretch.end - stretch.start > _EARLY:
        return False
    after = stretches[index + 1] if index + 1 < len(stretches) else None
    before = stretches[index - 1] if index else None
    return (
        after is not None
        and (
            _same(after.first, stretch.later, transposition)
            or _same(stretch.first, after.later, transposition)
        )
    ) or (
        before is not None
        and (
            _same(before.first, stretch.later, transposition)
            or _same(stretch.first, before.later, transposition)
        )
    )


def _same(first: ChordFact, later: ChordFact, transposition: int) -> bool:
    """Whether two chords sound as one chord, revoiced, enriched or simplified."""
    one, two = first.chord, later.chord
    if one is None or two is None:
        return one is two
    tones = {(tone.pc + transposition) % 12 for tone in one.tones}
    others = {tone.pc for tone in two.tones}
    same_root = (one.root.pc + transposition - two.root.pc) % 12 == 0
    if same_root:
        return one.triad == two.triad or "" in (one.triad, two.triad)
    return tones == others or (min(len(tones), len(others)) >= 3 and _nested(tones, others))


def _nested(tones: set[int], others: set[int]) -> bool:
    return tones <= others or others <= tones


def _difference(
    repeat: Repeat, region: Sequence[_Stretch], sounding: _Sounding
) -> ChordDifference | None:
    """The difference that a region shows; None where a symbol was merely left out."""
    start, end = region[0].start, region[-1].end
    first_span = Span(repeat.first.start + start, repeat.first.start + end)
    later_span = Span(repeat.later.start + start, repeat.later.start + end)
    told = [
        stretch
        for stretch in region
        if _has_own(stretch.first, first_span) and _has_own(stretch.later, later_span)
    ]
    stretch = told[0] if told else region[0]
    first_own = any(_has_own(one.first, first_span) for one in region)
    later_own = any(_has_own(one.later, later_span) for one in region)
    shift = repeat.transposition
    if not later_own and _left_out(stretch.later, stretch.first, shift, sounding(later_span)):
        return None
    if not first_own and _left_out(stretch.first, stretch.later, -shift, sounding(first_span)):
        return None
    was, now = stretch.first, stretch.later
    return ChordDifference(
        first_at=repeat.first.start + stretch.start,
        later_at=repeat.later.start + stretch.start,
        was=_name(was.chord),
        now=_name(now.chord),
        was_numeral=was.numeral.text if was.numeral else "",
        now_numeral=now.numeral.text if now.numeral else "",
        was_function=was.function,
        now_function=now.function,
        effect=_effect(was, now),
        roles=_new_roles(repeat, was, now, sounding(later_span), later_span),
    )


def _has_own(fact: ChordFact, span: Span) -> bool:
    """Whether the chord begins in the span, or just before it."""
    return fact.span.start >= span.start - _EARLY


def _left_out(going_on: ChordFact, other: ChordFact, shift: int, notes: Sequence[Note]) -> bool:
    """Whether the notes speak for the other pass's chord rather than the one that goes on."""
    if going_on.chord is None or other.chord is None:
        return True
    held = {tone.pc for tone in going_on.chord.tones}
    asked = {(tone.pc + shift) % 12 for tone in other.chord.tones}
    weight = {True: Fraction(0), False: Fraction(0)}
    for note in notes:
        if note.pitch is not None:
            inside_held, inside_asked = note.pitch.midi % 12 in held, note.pitch.midi % 12 in asked
            if inside_held != inside_asked:
                weight[inside_held] += note.duration
    return weight[True] <= weight[False]


def _name(chord: Chord | None) -> str:
    """A plain name of a chord for facts: root, triad, seventh, bass."""
    if chord is None:
        return "N.C."
    quality = {"maj": "", "min": "m", "dim": "dim", "aug": "aug", "": ""}[chord.triad]
    seventh = {"": "", "m7": "7", "M7": "maj7", "d7": "7"}[chord.seventh]
    bass = f"/{chord.bass}" if chord.bass.pc != chord.root.pc else ""
    return f"{chord.root}{quality}{seventh}{bass}"


def _effect(was: ChordFact, now: ChordFact) -> str:
    """What the exchange does, in a few words."""
    if now.resolution == "deceptive":
        return "resolves deceptively"
    words: dict[Function, str] = {"T": "tonic", "S": "subdominant", "D": "dominant", "": ""}
    if was.function and now.function and was.function != now.function:
        return f"{words[was.function]} became {words[now.function]}"
    if now.outside_key and not was.outside_key:
        return "a chord from outside the key"
    return "the same function in another colour" if was.function else ""


def _new_roles(
    repeat: Repeat, was: ChordFact, now: ChordFact, notes: Sequence[Note], span: Span
) -> tuple[str, ...]:
    """What the melody's notes were and are: ``G: root → seventh``."""
    if was.chord is None or now.chord is None:
        return ()
    wanted = set(repeat.later_notes)
    roles: dict[str, None] = {}
    for note in notes:
        if note.id in wanted and note.pitch is not None and note.onset in span:
            old = _ABOVE_THE_ROOT[(note.pitch.midi - repeat.transposition - was.chord.root.pc) % 12]
            new = _ABOVE_THE_ROOT[(note.pitch.midi - now.chord.root.pc) % 12]
            if old != new:
                roles[f"{note.pitch.name}: {old} → {new}"] = None
    return tuple(roles)
