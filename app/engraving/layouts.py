"""What a page of music shall look like: its size, what is on it, what room is kept free."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from analysis.vocabulary.note_names import Naming

#: Height of a five-line staff and the space between two of its lines, in page units.
STAFF_HEIGHT: Final = 72.0
STAFF_SPACE: Final = 18.0
#: How much larger than usual text can be set against the music.
LARGEST_TEXT: Final = 1.75
#: Most room that is added to fill a page, as a share of its height.
MOST_SPREAD: Final = 0.3


@dataclass(frozen=True, slots=True)
class Layout:
    """How to engrave a score. All lengths are page units (see `app.engraving.pages`).

    The staff is always 72 units high: for larger music ask for a smaller page and enlarge it.

    Parameters
    ----------
    page_width, page_height
        Size of the page, both at most 10 m. The height is a limit where ``fit_height`` is set. A
        page on which a single system has no room is made as high as that.
    margin
        Free border on the four sides.
    one_system
        All measures in one line as long as it takes; the page is as large as its content. The time
        for it grows with the square of the number of measures: 400 of six parts take seconds.
    fit_height
        The page ends below its last system instead of at ``page_height``.
    fill_height
        Systems, and a little their staves, are spread over the height of a page, the last page no
        further than the one before it. At most `MOST_SPREAD` of the height is added.
    lyrics, chord_symbols, measure_numbers, part_names, title
        Whether they are printed.
    directions
        Whether rehearsal marks, words, dynamics and tempos are printed.
    parts
        Ids of the parts to show, in any order; None for all.
    first, last
        Indexes of the first and the last measure to show, both counted in; None for the ends. An
        excerpt begins with the clef, key and meter in force.
    room_above, room_below
        Height kept free above and below every system, for labels; both together at most 396.
    staff_gap
        Least distance between the ink of two staves of a system.
    stretch
        How much longer notes are set wider: 0 the narrowest, 0.25 usual, 1 in proportion to time.
    text
        Size of words and chord symbols against the usual, 0.5 to `LARGEST_TEXT`.
    naming
        The letters in which chord symbols are set.
    symbols
        Chord symbols to set otherwise than the source has them: element id and printed text.
    """

    page_width: float = 2100.0
    page_height: float = 2970.0
    margin: float = 100.0
    one_system: bool = False
    fit_height: bool = False
    fill_height: bool = False
    lyrics: bool = True
    directions: bool = True
    chord_symbols: bool = True
    measure_numbers: bool = True
    part_names: bool = True
    title: bool = False
    parts: tuple[str, ...] | None = None
    first: int | None = None
    last: int | None = None
    room_above: float = 0.0
    room_below: float = 0.0
    staff_gap: float = 108.0
    stretch: float = 0.25
    text: float = 1.0
    naming: Naming = "english"
    symbols: tuple[tuple[str, str], ...] = ()
