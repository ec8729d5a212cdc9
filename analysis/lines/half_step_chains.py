"""Chains of half steps from chord to chord, through the tones that a voice or a symbol has there.

The task is pure search: given the tones under each chord, find the longest ways through them that
move by a half step from one chord to the next, all up or all down. A tone that is held over a chord
written again belongs to no move; a way begins where its first tone is heard last before it moves.

Method. From chord to chord, for each tone the longest chain that ends on it. Most neighbouring
chords have no half step between them: there every chain ends.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from analysis.chords import Chord
from analysis.marks import ChordFact
from analysis.pitch import PitchName


@dataclass(frozen=True, slots=True)
class Link:
    """A tone of a chord: its place from below, its sound, and whether it colours the chord.

    ``sound`` is a key number, or a pitch class where no register is known.
    """

    place: int
    sound: int
    name: PitchName
    element: str
    colour: bool = True


@dataclass(frozen=True)
class Struck:
    """The tones under one chord, from the lowest up."""

    links: tuple[Link, ...] = ()

    @cached_property
    def classes(self) -> frozenset[int]:
        """Their pitch classes."""
        return frozenset(link.sound % 12 for link in self.links)

    @cached_property
    def beside(self) -> dict[int, frozenset[int]]:
        """The pitch classes a half step above (1) and below (-1) them."""
        return {move: frozenset((sound + move) % 12 for sound in self.classes) for move in (-1, 1)}


@dataclass(frozen=True, slots=True)
class Chain:
    """Tones that move by half steps, up (1) or down (-1), with the indexes of their chords."""

    links: tuple[Link, ...]
    chords: tuple[int, ...]
    move: int


#: Chains while they grow: of each place in the last chord its chords and tones.
_Growing = dict[int, list[tuple[int, Link]]]


def find_chains(
    chords: Sequence[ChordFact], rows: Sequence[Struck], *, written: bool, least: int = 3
) -> Iterator[Chain]:
    """The chains of at least so many tones: the falling ones, then those that rise, by first chord.

    Parameters
    ----------
    chords, rows
        Chord facts in order of time, and the tones under each.
    written
        Whether a voice plays the tones, so that each goes on at its own place in the chord.
    """
    held = [False, *(_alike(*pair) for pair in pairwise(chords)), False]
    for move in (-1, 1):
        ended: list[list[tuple[int, Link]]] = []
        ending: _Growing = {}
        before = Struck()
        for at, row in enumerate([*rows, Struck()]):
            same = held[at] and bool(row.links and before.links)
            if same or not row.classes.isdisjoint(before.beside[move]):
                grown, carried = _grown(chords, at, (before, row), ending, move, written, same)
                ended += [chain for place, chain in ending.items() if place not in carried]
            else:
                grown = {link.place: [(at, link)] for link in row.links}
                ended += ending.values()
            ending, before = grown, row
        long = [chain for chain in ended if len(chain) >= least]
        for chain in sorted(long, key=lambda chain: (chain[0][0], chain[0][1].place)):
            yield Chain(tuple(link for _, link in chain), tuple(at for at, _ in chain), move)


def _grown(
    chords: Sequence[ChordFact],
    at: int,
    rows: tuple[Struck, Struck],
    ending: _Growing,
    move: int,
    written: bool,
    same: bool,
) -> tuple[_Growing, set[int]]:
    """The chains that end on the tones of a chord, and the places before it that they go on from.

    ``rows`` are the tones of the chord before and of the one at the index; ``same`` says that it
    is written again.
    """
    before, row = rows[0].links, rows[1].links
    grown: _Growing = {}
    carried: set[int] = set()
    for link in row:
        best: list[tuple[int, Link]] = []
        held = [other for other in before if other.sound == link.sound and same]
        for other in held:
            carried.add(other.place)
            # A line begins where its first note is heard last before it moves.
            before_it = ending[other.place]
            grown[link.place] = before_it if len(before_it) > 1 else [(at, link)]
        for other in before:
            if _goes_on(other, link, len(before) - len(row), move, written) or (
                written and _turns(chords[at - 1], chords[at], other, link, row, move)
            ):
                carried.add(other.place)
                best = max(best, ending[other.place], key=len)
        if best or not held:
            grown[link.place] = [*best, (at, link)]
    return grown, carried


def _alike(left: ChordFact, right: ChordFact) -> bool:
    """Whether one chord is written again, so that a tone can be held."""
    if left.chord is None or right.chord is None:
        return False
    return (left.chord.root, left.chord.degrees) == (right.chord.root, right.chord.degrees)


def _goes_on(other: Link, link: Link, fewer: int, move: int, written: bool) -> bool:
    """Whether a tone goes on in the next chord: a half step, and in chords at the same place."""
    if not written:
        return (link.sound - other.sound) % 12 == move % 12
    same = other.place in (link.place, link.place + fewer)
    return same and link.sound - other.sound == move


def _turns(
    before: ChordFact, after: ChordFact, other: Link, link: Link, row: Sequence[Link], move: int
) -> bool:
    """Whether a tone moves on in another octave, over one root and leaving its place empty."""
    return (
        (link.sound - other.sound - move) % 12 == 0
        and _one_root(before.chord, after.chord)
        and all((one.sound - other.sound) % 12 for one in row)
    )


def _one_root(before: Chord | None, after: Chord | None) -> bool:
    return before is not None and after is not None and before.root.pc == after.root.pc
