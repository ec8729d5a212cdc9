"""Talking points: the marks that are worth a picture, in the order in which they are told.

The user's order comes first, then the ranks of the analysis. Where neither says anything, the marks
are taken by what surprises a listener most: blue thirds and other melody notes against the harmony,
deceptive and applied dominants, chords from outside the key, phrases that return with other chords,
lines, changes of key; of each group the most confident first, and not more than `MOST` in all.
"""

from __future__ import annotations

import re
from typing import Final

from analysis.marks import ChordFact, KeyRegion, Line, MarkKind, MelodyFact, Repeat
from app.export.legibility import words_of
from app.review.document import Document, ReviewedMark

#: How many marks are taken where no order and no rank says which.
MOST: Final = 12
#: How many of one group.
_MOST_ALIKE: Final = 3
#: Kinds of mark whose labels are words.
_WORDED: Final = frozenset({"echo", "line", "loop", "pedal", "repeat", "rhythm"})
#: What short labels of the page are called in words.
_CADENCES: Final = {
    "PAC": "Perfect authentic cadence",
    "IAC": "Imperfect authentic cadence",
    "HC": "Half cadence",
    "PC": "Plagal cadence",
    "DC": "Deceptive cadence",
}
_BLUE: Final = {"3": "Blue third", "5": "Blue fifth", "7": "Blue seventh"}
_ROLES: Final = {
    "suspension": "Suspension",
    "retardation": "Retardation",
    "appoggiatura": "Appoggiatura",
    "escape": "Escape tone",
    "anticipation": "Anticipation",
    "passing": "Passing note",
    "neighbour": "Neighbour note",
    "double neighbour": "Double neighbour",
    "foreign": "Note foreign to its chord",
}
_LINES: Final = {
    "chromatic": "Chromatic line",
    "diatonic": "Line by step",
    "fifths": "Bass by fifths",
    "pedal": "Pedal",
}
_MEASURE: Final = re.compile(r"^as m\. (\S+?)(?=,|$)")
#: What kinds of mark are called on cards.
KINDS: Final[dict[MarkKind, str]] = {
    "key": "Key",
    "section": "Section",
    "chord": "Chord",
    "cadence": "Cadence",
    "melody": "Melody",
    "mixed third": "Mixed third",
    "passage": "Melody",
    "echo": "Echo",
    "repeat": "Return",
    "line": "Line",
    "pedal": "Pedal",
    "rhythm": "Harmonic rhythm",
    "loop": "Chord loop",
    "shape": "Melody",
    "query": "Query",
}


def talking_points(document: Document) -> list[ReviewedMark]:
    """The marks to make pictures of, the first to be told first."""
    shown = {reviewed.id: reviewed for reviewed in document.shown_marks()}
    ordered = [shown[mark] for mark in document.order if mark in shown]
    ranked = sorted(
        (r for r in shown.values() if r.mark.rank is not None and r.id not in document.order),
        key=lambda r: (r.mark.rank or 0, r.mark.span, r.id),
    )
    if ordered or ranked:
        return ordered + ranked
    return _most_surprising(list(shown.values()))


def _most_surprising(shown: list[ReviewedMark]) -> list[ReviewedMark]:
    """By group and confidence, then told in order of time."""
    groups: dict[int, list[ReviewedMark]] = {}
    for reviewed in shown:
        group = _group(reviewed)
        if group is not None:
            groups.setdefault(group, []).append(reviewed)
    chosen: list[ReviewedMark] = []
    said: set[tuple[str, str]] = set()
    for group in sorted(groups):
        taken = 0
        for reviewed in sorted(
            groups[group], key=lambda r: (-r.mark.confidence, r.mark.span, r.id)
        ):
            what = (reviewed.mark.kind, reviewed.label)
            if taken < _MOST_ALIKE and what not in said:
                said.add(what)
                chosen.append(reviewed)
                taken += 1
    return sorted(chosen[:MOST], key=lambda r: (r.mark.span, r.id))


def _group(reviewed: ReviewedMark) -> int | None:
    """How surprising a mark is, 0 the most; None where it is no talking point by itself."""
    mark, fact = reviewed.mark, reviewed.mark.fact
    if isinstance(fact, MelodyFact):
        return 0 if fact.blue else 5
    if isinstance(fact, ChordFact):
        if fact.resolution == "deceptive":
            return 1
        if fact.numeral is not None and fact.numeral.applied_to:
            return 2
        return 3 if fact.foreign else None
    if isinstance(fact, Repeat):
        return 1 if fact.reharmonised else None
    if isinstance(fact, KeyRegion):
        return 4 if mark.span.start > 0 else None
    return {"line": 3, "pedal": 4, "mixed third": 0, "echo": 5, "passage": 4}.get(mark.kind)


def title_of(reviewed: ReviewedMark) -> str:
    """What a talking point is called on its card, in words; what the user typed stays."""
    label = reviewed.label
    if label == reviewed.mark.label:
        label = _in_words(reviewed, label)
    return label or KINDS[reviewed.mark.kind]


def _in_words(reviewed: ReviewedMark, label: str) -> str:
    """A label without its abbreviations; names, numerals and other words stay."""
    fact, kind = reviewed.mark.fact, reviewed.mark.kind
    if kind == "cadence":
        return _CADENCES.get(label, label)
    if kind == "mixed third":
        return KINDS[kind]
    if isinstance(fact, MelodyFact):
        blue = _BLUE.get(fact.blue, "")
        return blue or _ROLES.get(fact.role, "") or label
    if isinstance(fact, Line) and kind == "line":
        # The sentence says where it goes; each word of a title adds to what crowds the video.
        return _LINES[fact.kind]
    if kind == "repeat":
        # The page has little room for the word.
        label = _MEASURE.sub(r"measure \1 again", label)
    if kind in _WORDED:
        label = label[:1].upper() + label[1:]
    return label


def words_on_card(reviewed: ReviewedMark) -> int:
    """How many words there are to read on a card; its time and its warnings go by them."""
    return words_of(title_of(reviewed)) + words_of(reviewed.sentence)
