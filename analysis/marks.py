"""What the analysis claims: facts, and marks that put a fact before the user.

A *fact* is the finding itself, typed by its kind. A *mark* is one claim to review: a place, the
elements it points at, a sentence, the evidence, the other defensible readings, and a confidence.
Facts and marks are values; a review never changes them, it decides about them.

Confidence is in [0, 1] and means: of a hundred such claims, about so many stand as written.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import Final, Literal

from analysis.chords import Chord
from analysis.pitch import Key, Pitch, PitchName
from analysis.timebase import Offset, Span

MarkKind = Literal[
    "key",  # a key region begins
    "section",  # a section of the form
    "chord",  # numeral and function of one chord
    "cadence",  # a phrase end, or where a phrase turns the order of functions round
    "melody",  # one melody note against its chord
    "mixed third",  # natural and lowered forms alternating, grouped
    "passage",  # one statement for a stretch of melody (pentatonic, parallel minor)
    "echo",  # a figure taken up elsewhere
    "repeat",  # a phrase come back, reharmonised or not
    "line",  # a bass or inner voice moving by step, or a bass by fifths
    "pedal",
    "rhythm",  # harmonic rhythm, where it changes
    "loop",  # a chord loop
    "shape",  # range, climax, contour
    "query",  # a doubt about the transcription
]
Function = Literal["T", "S", "D", ""]

#: Marks below this confidence are kept but not shown unless asked for.
DEFAULT_CONFIDENCE: Final = 0.5
#: Tag of a chord that a mode has of its own and major or minor has not.
MODE_CHORD: Final = "mode's own"


@dataclass(frozen=True, slots=True)
class Evidence:
    """One fact behind a claim: a plain statement and the elements it rests on."""

    statement: str
    elements: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """Another defensible reading of the same place, with what speaks for it."""

    label: str
    reason: str
    confidence: float = 0.0
    function: Function = ""
    key: Key | None = None


@dataclass(frozen=True, slots=True)
class KeyRegion:
    """A span heard in one tonic and mode; regions tile the piece in order.

    ``change`` says how it is reached: by a chord of both keys, by its own dominant, directly, or as
    a step up; ``lift`` what comes back in it at another pitch, in words, empty for nothing.
    """

    span: Span
    key: Key
    confidence: float
    alternatives: tuple[tuple[Key, float], ...] = ()
    evidence: tuple[Evidence, ...] = ()
    change: Literal["", "pivot", "dominant", "direct", "step up"] = ""
    lift: str = ""


@dataclass(frozen=True, slots=True)
class PlacedChord:
    """A chord with its place, before it has a numeral.

    ``symbol`` is the id of the written chord symbol, empty where the chord was inferred from the
    notes whose ids ``elements`` lists. ``chord`` is None for N.C.
    ``applied_root`` is the root that an inferred chord is applied to, None where it is not.
    ``weighed`` says that whoever inferred it has weighed what it could be applied to.
    """

    span: Span
    chord: Chord | None
    symbol: str = ""
    elements: tuple[str, ...] = ()
    confidence: float = 1.0
    applied_root: PitchName | None = None
    weighed: bool = False


@dataclass(frozen=True, slots=True)
class Numeral:
    """A Roman numeral in its parts; `text` joins them in one convention.

    ``degree`` 1 to 7 and ``alter`` in half steps are counted from the scale named in theory notes:
    the major scale in major-like modes, natural minor in minor-like ones. ``applied_to`` is the
    numeral of the target (``"V"``, ``"vi"``), empty where the chord is not applied.
    """

    text: str
    degree: int
    alter: int
    applied_to: str = ""
    applied_root: PitchName | None = None


@dataclass(frozen=True, slots=True)
class ChordFact:
    """One chord in its key.

    ``symbol`` is the id of the written chord symbol, empty for a chord inferred from the notes
    (``elements`` then lists the notes). ``resolution`` says what became of a dominant:
    ``resolves``, ``deceptive``, ``delayed``, ``interrupted``, ``unresolved`` or empty.
    ``expected`` is the chord a dominant wants and ``came`` the one that came, as chord symbols.
    ``chord`` is None for N.C., and then ``numeral`` is None too. ``outside_key`` says that a tone
    of the triad is not in the major scale, in minor-like keys not in natural minor with the raised
    seventh; modes are judged so too, although their own chords (bVII in mixolydian) are at home.
    """

    span: Span
    symbol: str
    elements: tuple[str, ...]
    key: Key
    chord: Chord | None
    numeral: Numeral | None
    function: Function
    outside_key: bool
    resolution: str = ""
    expected: str = ""
    came: str = ""
    reasons: tuple[str, ...] = ()
    alternatives: tuple[Reading, ...] = ()
    confidence: float = 1.0
    tags: tuple[str, ...] = ()
    scale: str = ""

    @property
    def foreign(self) -> bool:
        """Whether it is outside the key as a listener has it: a mode's own chords are at home."""
        return self.outside_key and MODE_CHORD not in self.tags

    @property
    def written(self) -> bool:
        """Whether a chord symbol in the source says so."""
        return bool(self.symbol)


@dataclass(frozen=True, slots=True)
class MelodyFact:
    """One melody note against its chord and key.

    ``degree`` is the degree in the key (``"b3"``), ``chord_degree`` the degree above the chord's
    root (``"#9"``); ``role`` one of ``chord tone``, ``tension``, ``added tone``, ``passing``,
    ``neighbour``, ``double neighbour``, ``suspension``, ``retardation``, ``appoggiatura``,
    ``escape``, ``anticipation``, ``foreign``, empty where no chord is known; ``blue`` ``""``,
    ``"3"``, ``"5"`` or ``"7"``.
    """

    note: str
    span: Span
    part: str
    pitch: Pitch
    degree: str
    role: str
    chord_degree: str
    blue: Literal["", "3", "5", "7"] = ""
    blue_third: bool = False
    confidence: float = 1.0
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChordDifference:
    """Where two passes of a phrase differ in harmony; offsets in each pass's own place."""

    first_at: Offset
    later_at: Offset
    was: str
    now: str
    was_numeral: str = ""
    now_numeral: str = ""
    was_function: Function = ""
    now_function: Function = ""
    effect: str = ""
    roles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Repeat:
    """A phrase and one return of it. ``similarity`` is in [0, 1]; transposition in half steps.

    ``later_part`` is the part that takes the phrase up; empty where it is the same. ``sounding``
    says how many notes the shorter of both has, tied heads counted as one.
    """

    first: Span
    later: Span
    part: str
    transposition: int
    similarity: float
    reharmonised: bool
    differences: tuple[ChordDifference, ...] = ()
    first_notes: tuple[str, ...] = ()
    later_notes: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    later_part: str = ""
    sounding: int = 0


@dataclass(frozen=True, slots=True)
class Line:
    """A voice moving over several chords. ``notes`` are its pitches in order of time.

    ``implied_at`` says where each note of a line begins that lies in the chord symbols alone and
    that no voice plays as written; it is empty for all other lines.
    """

    span: Span
    kind: Literal["chromatic", "diatonic", "fifths", "pedal"]
    part: str
    direction: Literal["up", "down", ""]
    notes: tuple[PitchName, ...]
    elements: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    implied_at: tuple[Offset, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """A section of the form. ``label`` is a letter shared by like sections; ``name`` as printed."""

    span: Span
    label: str
    name: str
    written: bool
    evidence: tuple[Evidence, ...] = ()
    confidence: float = 1.0


@dataclass(frozen=True, slots=True)
class PhraseFact:
    """A phrase of the melody and the functions it passes through, such as ``T–S–D–T``.

    ``back`` is where it breaks the usual order T–S–D–T: the dominant and the subdominant that
    follows it; None where it does not, and in a blues, where that is the order.
    """

    span: Span
    part: str
    order: str
    back: Span | None = None


Fact = KeyRegion | ChordFact | MelodyFact | Repeat | Line | Section


@dataclass(frozen=True, slots=True)
class Mark:
    """One claim to review.

    Parameters
    ----------
    id
        Stable over a new analysis of the same music: made from kind, part, place and content.
    label
        The short text that may stand on the page (``V7/vi``, ``♭3``).
    elements
        Ids of source elements it points at, in score order.
    sentence
        What a viewer would be told, under thirty words.
    rank
        Place among the talking points, 1 the first; None where it is not one.
    """

    id: str
    kind: MarkKind
    span: Span
    parts: tuple[str, ...]
    elements: tuple[str, ...]
    label: str
    sentence: str
    evidence: tuple[Evidence, ...] = ()
    alternatives: tuple[Reading, ...] = ()
    confidence: float = 1.0
    rank: int | None = None
    fact: Fact | None = field(default=None, repr=False)
    words: str = ""


def mark_id(kind: str, *content: object) -> str:
    """A stable id from a mark's kind and content."""
    text = "|".join(str(one) for one in content)
    return f"{kind.replace(' ', '-')}-{hashlib.sha1(text.encode()).hexdigest()[:10]}"


@dataclass(frozen=True, slots=True)
class Analysis:
    """All that one analysis found. Sequences are in order of time."""

    key_regions: tuple[KeyRegion, ...] = ()
    sections: tuple[Section, ...] = ()
    chords: tuple[ChordFact, ...] = ()
    melody: tuple[MelodyFact, ...] = ()
    repeats: tuple[Repeat, ...] = ()
    lines: tuple[Line, ...] = ()
    marks: tuple[Mark, ...] = ()
    phrases: tuple[PhraseFact, ...] = ()


@dataclass(frozen=True, slots=True)
class Corrections:
    """What the user set by hand and the analysis must follow.

    ``chords`` maps a place to a chord (None: N.C.); ``sections`` replaces all sections when set;
    ``melody_part`` names the part that carries the melody; ``roles`` maps part id to a role word.
    """

    keys: tuple[tuple[Span, Key], ...] = ()
    chords: tuple[tuple[Span, Chord | None], ...] = ()
    sections: tuple[Section, ...] | None = None
    melody_part: str = ""
    roles: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Settings:
    """What the analysis may use; the switches are for measuring."""

    use_key_signature: bool = True
    use_chord_symbols: bool = True
    use_rehearsal_marks: bool = True
