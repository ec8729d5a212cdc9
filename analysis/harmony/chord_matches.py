"""Whether two chords are one chord, written or voiced in another way.

Conventions (common practice, no source): the root decides, with the third above it. Inversions,
sevenths, ninths and other added tones, altered fifths over a major third, and suspensions do not
make another chord. A chord over a foreign bass that sounds as a suspension on it (F/G, Dm7/G)
stands on that bass. Chords of the same tones are one chord (C6 and Am7, a diminished seventh chord
in any spelling), and so are two with the same bass of which one holds all tones of the other (F
and Dm7/F). Spelling never counts.
"""

from __future__ import annotations

from analysis.chords import Chord

#: Least number of tones from which one chord can hold another.
_LEAST_TONES = 3


def same_chord(first: Chord, later: Chord, half_steps: int = 0) -> bool:
    """Whether ``later`` is ``first``, moved by so many half steps, in another form.

    Examples
    --------
    >>> from analysis.chords import KIND_DEGREES
    >>> from analysis.pitch import PitchName
    >>> def chord(root, kind, bass=None):
    ...     name = PitchName.parse
    ...     return Chord(name(root), KIND_DEGREES[kind], name(bass or root), kind)
    >>> same_chord(chord("C", "major"), chord("C", "dominant-ninth", "E"))
    True
    >>> same_chord(chord("G", "major"), chord("E", "minor-seventh"))
    False
    """
    if (_root(first) + half_steps - _root(later)) % 12 == 0:
        return _same_third(first, later)
    tones = {(pc + half_steps) % 12 for pc in first.pitch_classes}
    others = later.pitch_classes
    if tones == others:
        return True
    if (first.bass.pc + half_steps - later.bass.pc) % 12:
        return False
    fewer, more = sorted((tones, others), key=len)
    return len(fewer) >= _LEAST_TONES and fewer <= more


def _root(chord: Chord) -> int:
    """The pitch class it stands on: its bass where it sounds as a suspension on it."""
    return chord.bass.pc if _suspends_bass(chord) else chord.root.pc


def _suspends_bass(chord: Chord) -> bool:
    if not chord.foreign_bass:
        return False
    above = {(pc - chord.bass.pc) % 12 for pc in chord.pitch_classes}
    return 5 in above and not above & {3, 4, 11}


def _same_third(first: Chord, later: Chord) -> bool:
    qualities = {
        "" if _suspends_bass(chord) else chord.triad.replace("aug", "maj")
        for chord in (first, later)
    }
    return len(qualities) == 1 or "" in qualities
