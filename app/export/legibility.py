"""What would be hard to read in a video, said in sentences.

References
----------
Reading time: 160 to 180 words a minute for text on screen (Ofcom, quoted by BBC R&D, 2015). Least
height of text: common practice, no source. Contrast: WCAG 2.2, success criterion 1.4.3.
"""

from __future__ import annotations

from typing import Final

from app.engraving.palettes import TEXT_CONTRAST, contrast
from app.export.frames import TEXT_HEIGHT, Frame

#: Words a minute: the usual, and the range that is read by most.
WORDS_A_MINUTE: Final = 170
SLOWEST: Final = 160
FASTEST: Final = 180
#: Nothing is read in less than this, in seconds.
SHORTEST: Final = 2.0
#: A card that takes longer than this is a page to read, in seconds (common practice, no source).
LONGEST: Final = 12.0
#: Lines of a sentence that are read at a glance: in frames as wide as usual, and in upright ones,
#: whose lines hold few words.
MOST_LINES: Final = 2
MOST_LINES_UPRIGHT: Final = 5


def words_of(text: str) -> int:
    """How many words a reader speaks: runs without space that hold a letter or a digit."""
    return sum(any(c.isalnum() for c in word) for word in text.split())


def reading_seconds(words: int, words_a_minute: int = WORDS_A_MINUTE) -> float:
    """How long so many words are read on a screen, in seconds with one decimal."""
    return max(SHORTEST, round(words * 60 / words_a_minute, 1))


def text_warnings(text_height: float, frame: Frame) -> tuple[str, ...]:
    """What is wrong with a picture's text.

    Parameters
    ----------
    text_height
        Height of the smallest capitals in pixels; 0 where there is no text.
    frame
        The picture's frame.
    """
    found = []
    if 0 < text_height < 0.99 * frame.least_text:
        found.append(
            f"The smallest text is {100 * text_height / frame.height:.1f} % of the frame's height; "
            f"below {100 * TEXT_HEIGHT:g} % it is hard to read on a telephone."
        )
    if frame.backing == "none":
        if frame.ground is None:
            found.append(
                "Nothing lies under the ink, so it may be lost on some footage; "
                "take a plate, an outline or a glow."
            )
        elif (ratio := contrast(frame.palette.ink, frame.ground)) < TEXT_CONTRAST:
            found.append(
                f"The ink has a contrast of {ratio:.1f} : 1 with the ground; "
                f"{TEXT_CONTRAST:g} : 1 is the least that can be read."
            )
    return tuple(found)


def most_lines(frame: Frame) -> int:
    """How many lines of a sentence a frame takes: more where it is higher than wide."""
    return MOST_LINES if frame.width > frame.height else MOST_LINES_UPRIGHT


def reading_warnings(
    words: int, lines: int, shown: float | None = None, most: int = MOST_LINES
) -> tuple[str, ...]:
    """What is wrong with the amount of text on a card.

    Parameters
    ----------
    words, lines
        All words, and the lines of the sentence.
    shown
        How long the card stands in the video, in seconds; None where that is not known.
    most
        Lines that its frame takes; see `most_lines`.
    """
    found = []
    if lines > most:
        found.append(f"The sentence takes {lines} lines; more than {most} are seldom read.")
    needed = reading_seconds(words, FASTEST)
    if shown is not None and shown < needed:
        found.append(
            f"{words} words take {needed:g} to {reading_seconds(words, SLOWEST):g} s to read; "
            f"the card stands for {shown:.1f} s."
        )
    elif needed > LONGEST:
        found.append(f"{words} words take {needed:g} s or more to read; make two cards of them.")
    return tuple(found)
