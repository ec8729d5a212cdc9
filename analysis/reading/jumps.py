"""Played order: repeats, endings and jumps unfolded into a list of measures.

The task: from the signs that stand at the barlines and over the measures, the order in which the
measures are played, so that times in a recording can be told from places in the score.

Conventions: a repeat is played as often as it says, else twice. Of alternative endings the one that
names the pass is played. A jump (da capo, dal segno) is made once; after it repeats are not taken
again and the last ending is played; it ends at *Fine*, or leaves at *To Coda* for the coda. Jumps,
*Fine* and *To Coda* act at the end of the measure that they stand in, or of the section that ends
just after it; targets at its beginning (common practice, no source).

Limits: signs that contradict each other can ask for more than a performance; where the unfolding
does not come to an end, the written order stands.

References
----------
MusicXML 4.0, elements *repeat*, *ending*, *sound* (W3C Music Notation Community Group).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

#: Measures by which the words of a jump may stand before the barline that they are meant for.
_NEAR: Final = 2
#: Played measures for each written one, beyond which the signs are taken to be wrong.
_MOST_PLAYED: Final = 50
#: What the words over a measure may say, the first match counts: “D.S. al Coda” is a jump.
_WORDS: Final = (
    ("dacapo", re.compile(r"\bd\.\s*c\b|\bdc\b|\bda\s+capo\b")),
    ("dalsegno", re.compile(r"\bd\.\s*s\b|\bds\b|\bdal\s+segno\b")),
    ("tocoda", re.compile(r"\bto\s+(the\s+)?coda\b")),
    ("fine", re.compile(r"^\W*fine\W*$")),
    ("coda", re.compile(r"^\W*coda\W*$")),
    ("segno", re.compile(r"^\W*segno\W*$")),
)


@dataclass(slots=True)
class Signs:
    """The signs of one measure. ``endings`` holds the passes for which it is played, if limited."""

    forward: bool = False
    backward: int = 0
    endings: frozenset[int] = frozenset()
    ending_starts: bool = False
    ending_stops: bool = False
    segno: bool = False
    coda: bool = False
    tocoda: bool = False
    fine: bool = False
    dacapo: bool = False
    dalsegno: bool = False


def read_signs(barlines: Iterable[Element], directions: Iterable[Element]) -> Signs:
    """The signs of one measure, from its barlines, directions and sounds in all parts."""
    signs = Signs()
    for barline in barlines:
        _add_barline(signs, barline)
    for direction in directions:
        _add_jumps(signs, direction)
    return signs


def _add_barline(signs: Signs, barline: Element) -> None:
    """What a barline says: repeats, endings, and the signs that it may carry."""
    repeat = barline.find("repeat")
    if repeat is not None:
        if repeat.get("direction") == "forward":
            signs.forward = True
        elif repeat.get("direction") == "backward":
            signs.backward = max(signs.backward, _times(repeat.get("times")))
    for ending in barline.iterfind("ending"):
        numbers = frozenset(map(int, re.findall(r"\d{1,2}", ending.get("number", "")))) - {0}
        signs.endings = signs.endings or numbers or frozenset({1})
        if ending.get("type") == "start":
            signs.ending_starts = True
        else:
            signs.ending_stops = True
    signs.segno = signs.segno or barline.find("segno") is not None
    signs.coda = signs.coda or barline.find("coda") is not None


def _times(text: str | None) -> int:
    return min(int(text), 20) if text and text.isdecimal() and int(text) > 1 else 2


def _add_jumps(signs: Signs, direction: Element) -> None:
    """What a direction says about the order: by its sound, else by its sign, else by its words."""
    sounds = [direction] if direction.tag == "sound" else direction.findall("sound")
    said = False
    for sound in sounds:
        for name in ("segno", "coda", "tocoda", "fine", "dacapo", "dalsegno"):
            value = sound.get(name)
            if value is not None and value != "no":
                setattr(signs, name, True)
                said = True
        if sound.get("forward-repeat") == "yes":
            signs.forward = True
    if said:
        return
    words = " ".join(word.text or "" for word in direction.iterfind("direction-type/words"))
    words = " ".join(words.lower().split())
    for name, pattern in _WORDS:
        if pattern.search(words):
            setattr(signs, name, True)
            return
    signs.segno = signs.segno or direction.find("direction-type/segno") is not None
    signs.coda = signs.coda or direction.find("direction-type/coda") is not None


def played_order(measures: Sequence[Signs]) -> tuple[int, ...]:
    """Unfold repeats, endings and jumps.

    Parameters
    ----------
    measures
        The signs of each measure in written order.

    Returns
    -------
    tuple of int
        Indexes of measures in played order; the written order where the signs make no sense.

    Examples
    --------
    >>> first, second = Signs(endings=frozenset({1}), ending_starts=True, backward=2), Signs(
    ...     endings=frozenset({2}), ending_starts=True, ending_stops=True
    ... )
    >>> first.ending_stops = True
    >>> played_order([Signs(), first, second, Signs()])
    (0, 1, 0, 2, 3)
    """
    written = tuple(range(len(measures)))
    order: list[int] = []
    performance = _Performance(measures)
    at: int | None = 0
    while at is not None and at < len(measures):
        at = performance.play(at, order)
        if len(order) > _MOST_PLAYED * len(measures) or performance.steps > 10**6:
            return written
    return tuple(order) if order else written


class _Performance:
    """One way through the measures: which pass it is, and whether a jump was made."""

    def __init__(self, measures: Sequence[Signs]) -> None:
        self._measures = measures
        self._groups = _ending_groups(measures)
        self._first_of_section = 0
        self._pass = 1
        self._jumped = False
        self.steps = 0
        self._jumps = _jump_places(measures)
        codas = [index for index, signs in enumerate(measures) if signs.coda]
        # Two signs without a word: the first one sends to the coda, the last one is where it is.
        self._to_coda = {index for index, signs in enumerate(measures) if signs.tocoda}
        if not self._to_coda and len(codas) > 1:
            self._to_coda = set(codas[:-1])
        self._coda = codas[-1] if codas else None

    def play(self, at: int, order: list[int]) -> int | None:
        """Play the measure, or skip it; the next one, or None at the end."""
        self.steps += 1
        signs = self._measures[at]
        if signs.forward and self._first_of_section != at and not self._jumped:
            self._first_of_section, self._pass = at, 1
        group = self._groups.get(at)
        if group is not None and not group.plays(at, self._pass, self._jumped):
            return at + 1
        order.append(at)
        if self._jumped and signs.fine:
            return None
        if self._jumped and at in self._to_coda and self._coda is not None and self._coda > at:
            self._to_coda = set()
            return self._coda
        if signs.backward and not self._jumped:
            times = signs.backward if group is None else group.passes
            if self._pass < times:
                self._pass += 1
                return self._first_of_section
            self._first_of_section, self._pass = at + 1, 1
        if not self._jumped and at in self._jumps:
            self._jumped = True
            jump = self._jumps[at]
            return 0 if self._measures[jump].dacapo else self._segno(jump)
        return at + 1

    def _segno(self, before: int) -> int:
        """The last segno up to here; the beginning where there is none."""
        found = [i for i, signs in enumerate(self._measures[: before + 1]) if signs.segno]
        return found[-1] if found else 0


def _jump_places(measures: Sequence[Signs]) -> dict[int, int]:
    """After which measure each jump is made, and the measure that its words stand in.

    Words that stand a little before the repeat sign that ends the section are meant for its end.
    """
    places: dict[int, int] = {}
    for index, signs in enumerate(measures):
        if signs.dacapo or signs.dalsegno:
            near = range(index, min(index + _NEAR + 1, len(measures)))
            places[next((place for place in near if measures[place].backward), index)] = index
    return places


@dataclass(frozen=True, slots=True)
class _EndingGroup:
    """Alternative endings that follow each other.

    ``numbers`` are the passes of each measure; ``passes`` how often the section is played in all;
    ``alone`` says that there is only one ending and it repeats, so that later passes go past it.
    """

    numbers: dict[int, frozenset[int]]
    passes: int
    last: frozenset[int]
    alone: bool

    def plays(self, measure: int, current: int, jumped: bool) -> bool:
        """Whether the measure is played in this pass; after a jump the last ending is."""
        numbers = self.numbers[measure]
        if jumped:
            return numbers == self.last and not self.alone
        if current in numbers:
            return True
        return not self.alone and not any(current in other for other in self.numbers.values())


def _ending_groups(measures: Sequence[Signs]) -> dict[int, _EndingGroup]:
    """For each measure under an ending, the group of endings that it belongs to."""
    groups: dict[int, _EndingGroup] = {}
    numbers: dict[int, frozenset[int]] = {}
    current: frozenset[int] = frozenset()
    for index, signs in enumerate(measures):
        begins = signs.ending_starts or (signs.ending_stops and not current)
        again = begins and any(not signs.endings.isdisjoint(other) for other in numbers.values())
        if again or (not begins and not current) or (begins and signs.forward):
            _close_group(numbers, measures, groups)
            numbers = {}
        if begins:
            current = signs.endings
        if current:
            numbers[index] = current
        if signs.ending_stops or signs.backward:
            current = frozenset()
    _close_group(numbers, measures, groups)
    return groups


def _close_group(
    numbers: dict[int, frozenset[int]],
    measures: Sequence[Signs],
    groups: dict[int, _EndingGroup],
) -> None:
    """Make one group of the endings gathered, if any."""
    if not numbers:
        return
    endings = list(dict.fromkeys(numbers.values()))
    highest = max(max(ending) for ending in endings)
    repeats = max(measures[index].backward for index in numbers)
    alone = len(endings) == 1 and repeats > 0
    passes = max(highest + 1, repeats) if alone else highest
    groups.update(dict.fromkeys(numbers, _EndingGroup(numbers, passes, endings[-1], alone)))
