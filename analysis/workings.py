"""What an analysis keeps of its work, so that the next one of the same score can take it over.

All are values; each holds what one step of the analysis found and what that rests on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from analysis.chords import Chord
from analysis.form.section_comparisons import SectionPair
from analysis.groundwork import Groundwork
from analysis.harmony.played_orders import Seam
from analysis.lines.line_finds import LineFind
from analysis.lines.stays import Stay
from analysis.marks import (
    Analysis,
    ChordFact,
    KeyRegion,
    Mark,
    MelodyFact,
    PhraseFact,
    PlacedChord,
    Repeat,
    Section,
)
from analysis.pitch import Key
from analysis.returns.loops import Round
from analysis.timebase import Span
from analysis.vocabulary.dominants import ChordInKey
from analysis.vocabulary.phrases import Phrase
from analysis.vocabulary.thirds import HeardThird


@dataclass(frozen=True, slots=True)
class PlainChords:
    """The chords of a piece, placed and in their keys, with what is known of each.

    ``thirds`` are those heard where a chord has none, ``blues`` the keys that are a blues,
    ``facts`` are those before the first chord outside the key is marked.
    """

    placed: tuple[PlacedChord, ...]
    row: tuple[ChordInKey, ...]
    thirds: tuple[HeardThird | None, ...]
    blues: frozenset[Key]
    facts: tuple[ChordFact, ...]


@dataclass(frozen=True, slots=True)
class Harmony:
    """Chords in their keys, and how they differ from those before.

    ``time`` is the stretch in which facts of chords or keys have changed, ``sounding`` that in
    which chords sound anew or in another key; None where nothing has. ``same_tones`` says that
    only keys have changed. ``seams`` are the chords played around each jump.
    """

    regions: tuple[KeyRegion, ...]
    plain: PlainChords
    seams: tuple[Seam, ...]
    chords: tuple[ChordFact, ...]
    time: Span | None
    sounding: Span | None
    same_tones: bool


def tones_of(facts: tuple[ChordFact, ...]) -> list[tuple[Span, Chord | None, str]]:
    """What bass, inner lines, loops and rhythm hear of chords: all but the key."""
    return [(fact.span, fact.chord, fact.symbol) for fact in facts]


@dataclass(frozen=True, slots=True)
class Lines:
    """The bass, the lines that are the same in any key, and all lines."""

    bass: tuple[Stay, ...]
    inner: tuple[LineFind, ...]
    stepwise: tuple[LineFind, ...]
    finds: tuple[LineFind, ...]


@dataclass(frozen=True, slots=True)
class Form:
    """Sections and phrases, and all that comes back.

    ``orders`` are the functions that each phrase goes through, ``pairs`` the sections that come
    back beside the first, ``told`` the same compared in harmony, ``repeats`` all other returns
    likewise, ``rounds`` the places where chords go round.
    """

    sections: tuple[Section, ...]
    phrases: tuple[Phrase, ...]
    orders: tuple[PhraseFact, ...]
    pairs: tuple[SectionPair, ...]
    told: tuple[SectionPair, ...]
    repeats: tuple[Repeat, ...]
    rounds: tuple[Round, ...]


@dataclass(frozen=True, slots=True)
class Marked:
    """Marks with the words sung under them, and all that they were made from."""

    sources: tuple[object, ...]
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Worked:
    """An analysis with its workings."""

    analysis: Analysis
    ground: Groundwork
    harmony: Harmony
    plain_melody: tuple[MelodyFact, ...]
    lines: Lines
    form: Form
    marks: Mapping[str, Marked]
