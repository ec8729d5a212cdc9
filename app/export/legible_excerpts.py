"""Excerpts that can be read: what is given up, and in which order, until text has its height.

The least height of text is a share of the frame's, so a frame that is low, narrow or shared has
little room. So it is with a picture of a mark that would have tiny staves or a nearly empty last
line. What goes first is what a viewer misses least: words of direction; then the music is set
smaller against its text; then parts other than the one that is spoken of, whose chord symbols are
lent to it; then lyrics; measures go last, since a phrase is what the picture is about. Parts that
the user chose stay.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

from app.engraving.layouts import LARGEST_TEXT, STAFF_HEIGHT
from app.export.excerpts import Excerpt
from app.export.passages import Passage

#: Sizes of text against the usual, from what looks best to what still looks well.
TEXTS: Final = (1.0, 1.3, LARGEST_TEXT)
#: What rounding may take from the least height of text.
SLACK: Final = 0.99
#: Least width of a last line against the first, and least height of a staff against that of text.
_LAST_LINE: Final = 0.65
_STAFF: Final = 1.6


def most_legible(
    engraved: Callable[[Passage], Excerpt],
    passage: Passage,
    least_text: float,
    part: tuple[str, ...] | None = None,
    *,
    fewer_measures: bool = True,
    hopeless: float = 0.0,
) -> Excerpt:
    """The first excerpt whose text is high enough, else the one with the highest.

    Parameters
    ----------
    engraved
        Makes an excerpt of a passage.
    passage
        What is wanted.
    least_text
        Height of capitals in pixels.
    part
        The part that is spoken of; None where the parts are to stay.
    fewer_measures
        Whether measures at the end may be left out.
    hopeless
        Share of the least height below which nothing else is tried.
    """
    best: Excerpt | None = None
    whole: Excerpt | None = None
    for choice in _choices(passage, part, fewer_measures=fewer_measures):
        if whole is not None and (len(choice.indexes) < len(passage.indexes)):
            # A phrase in a poor shape tells more than a part of it in a better one.
            return whole
        excerpt = engraved(choice)
        small = 0 < excerpt.text_height < SLACK * least_text
        if not small and not (fewer_measures and _is_cramped(excerpt, least_text)):
            return excerpt
        if not small and whole is None:
            whole = excerpt
        if best is None and excerpt.text_height < hopeless * least_text:
            return excerpt
        if best is None or excerpt.text_height > best.text_height:
            best = excerpt
    assert best is not None
    return whole or best


def _is_cramped(excerpt: Excerpt, least_text: float) -> bool:
    """Whether its staves are tiny under their text, or a last line is left with little on it."""
    first, last = (excerpt.page.systems[at].box[2] for at in (0, -1))
    staff = excerpt.scale * STAFF_HEIGHT
    return last < _LAST_LINE * first or staff < _STAFF * least_text


def _choices(
    passage: Passage, part: tuple[str, ...] | None, *, fewer_measures: bool
) -> Iterator[Passage]:
    yield passage
    bare = replace(passage, directions=False)
    yield from _in_texts(bare, passage)
    alone = replace(bare, parts=part) if part else bare
    if alone != bare:
        yield from _in_texts(alone, None)
    counts = range(len(passage.indexes), 0, -1) if fewer_measures else [len(passage.indexes)]
    for count in counts:
        cut = replace(alone, last=passage.first + count - 1)
        if passage.lyrics:
            if cut != alone:
                yield replace(cut, text=TEXTS[-1])
            cut = replace(cut, lyrics=False)
            yield from _in_texts(cut, None)
        elif cut != alone:
            yield from _in_texts(cut, None)
    # A measure full of chords: their numerals are left.
    yield replace(alone, lyrics=False, chord_symbols=False, text=TEXTS[-1])


def _in_texts(passage: Passage, known: Passage | None) -> Iterator[Passage]:
    """A passage in growing text, but for one that is known."""
    for text in TEXTS:
        choice = replace(passage, text=text)
        if choice != known:
            yield choice
