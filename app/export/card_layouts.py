"""The layout of caption cards: words, a small excerpt and a function strip on one panel.

A card reads from the top: a heading with what the mark is called and, at the other end of the line,
what and where it is; the sentence, in at most two lines; under it the notes, small, and beside them
what the chords around do. A thin and a thick line open the card at its left, as a barline opens a
piece. The panel is as high as its content and stands at the foot of the title-safe area, so that
the footage stays visible above. A frame that is higher than wide has the strip under the notes and
takes up to five lines of text.

Sizes follow from the frame: capitals are at least 2.5 % of its height while the sentence fits its
lines at that; a longer one is set smaller, and the card says so. Lines are broken evenly, by the
font's own widths.

References
----------
Width of lines: at most 68 % of the frame (BBC, second-hand); the themes follow or come near it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Final

from analysis.reading.sources import Source
from app.engraving.labels import LAYERS_OF, Layer, Toned
from app.engraving.metrics import Face
from app.engraving.musictext import SetText, break_lines, set_text
from app.engraving.pages import Box, PathShape
from app.engraving.palettes import Tone
from app.export.excerpts import Excerpt, Space, engrave_excerpt, is_readable
from app.export.frames import Frame, Picture, Piece
from app.export.function_strips import Strip, chords_under, lay_out_strip
from app.export.legibility import (
    FASTEST,
    SLOWEST,
    most_lines,
    reading_seconds,
    reading_warnings,
    text_warnings,
)
from app.export.legible_excerpts import TEXTS
from app.export.passages import MOST_MEASURES, marks_around, meant_marks, passages_of, spoken_part
from app.export.sentences import CAPITAL, height_of, set_sentence, toned_lines
from app.export.talking_points import KINDS, title_of, words_on_card
from app.review.document import Document, ReviewedMark

#: Lengths against the frame's shorter side: the panel's opening lines and what follows them, least
#: em of the title against the least em, space between the blocks.
_BAR: Final = 0.0075
_HAIR: Final = 0.0022
_AFTER_BAR: Final = 0.03
_TITLE_LEAST: Final = 1.35
_BLOCKS: Final = 0.05
#: Shares of the excerpt: of the panel's width beside a strip, and of the frame's height; and its
#: highest staff against the frame's shorter side.
_NOTES_WIDTH: Final = 0.46
_LINE_WIDTH: Final = 0.56
_NOTES_HEIGHTS: Final = (0.26, 0.2, 0.15)
_STAFF: Final = 0.066
_MOST_MEASURES: Final = 2
_STRIP_EM: Final = 1.25


@dataclass(frozen=True, slots=True)
class Card:
    """A card laid out for a frame: what is painted, its panel, and what there is to read.

    ``measures`` are the first and last index of the measures shown, ``lines`` counts the lines of
    the sentence; ``text_height`` is the height of the smallest capitals in pixels, ``seconds`` the
    usual reading time and ``range_seconds`` that of fast and of slow readers.
    """

    pieces: tuple[Piece, ...]
    panel: Box
    measures: tuple[int, int]
    lines: int
    words: int
    seconds: float
    range_seconds: tuple[float, float]
    text_height: float
    warnings: tuple[str, ...]

    def picture(self, frame: Frame) -> Picture:
        """What is painted."""
        return Picture(
            frame, self.pieces, (self.panel,), (self.measures,), self.text_height, self.warnings
        )


def lay_out_card(
    document: Document,
    source: Source,
    reviewed: ReviewedMark,
    frame: Frame,
    shown: float | None = None,
) -> Card:
    """The card of a mark; title and sentence are the reviewed ones.

    Parameters
    ----------
    document, source
        The review and its source.
    reviewed
        The mark.
    frame
        Size, ink, backing and theme.
    shown
        How long the card stands in the video, in seconds; None where that is not known.

    Raises
    ------
    EngravingError
        If its measures cannot be engraved.
    """
    shorter = frame.shorter
    left, top, width, height = frame.title_safe
    padding = frame.padding
    indent = 0.0 if frame.theme.opening == "none" else (_BAR + _AFTER_BAR) * shorter
    inner = width - 2 * padding - indent
    words = _Words(document, reviewed, frame, inner)
    between = _BLOCKS * shorter
    for share in _NOTES_HEIGHTS:
        pictures = _Pictures(document, source, reviewed, frame, inner, share)
        content = words.height + (between + pictures.height if pictures.height else 0.0)
        if content <= height - 2 * padding:
            break
    # A card that is too high for its frame, one narrow and full, is made smaller as a whole.
    scale = min(1.0, (height - 2 * padding) / content)
    panel_height = content * scale + 2 * padding
    share = {"head": 0.0, "middle": 0.5, "foot": 1.0}[frame.theme.place]
    panel = (left, top + share * (height - panel_height), width, panel_height)
    x, y = left + padding, panel[1] + padding
    pieces = [Piece(_opening_lines(frame, content * scale), 1.0, x, y)]
    pieces.append(Piece(list(words.strokes()), scale, x + indent, y))
    below = y + (words.height + between) * scale
    for piece in pictures.pieces():
        pieces.append(
            Piece(
                piece.strokes,
                piece.scale * scale,
                x + indent + piece.x * scale,
                below + piece.y * scale,
            )
        )
    text_height = min(words.text_height, pictures.text_height) * scale
    count = words_on_card(reviewed)
    return Card(
        pieces=tuple(pieces),
        panel=panel,
        measures=(pictures.notes.passage.first, pictures.notes.passage.last),
        lines=len(words.body),
        words=count,
        seconds=reading_seconds(count),
        range_seconds=(reading_seconds(count, FASTEST), reading_seconds(count, SLOWEST)),
        text_height=text_height,
        warnings=text_warnings(text_height, frame)
        + reading_warnings(count, len(words.body), shown, most_lines(frame)),
    )


def set_place(entries: Sequence[str], size: float, width: float, face: Face) -> tuple[SetText, ...]:
    """Entries parted by dots, a new line where the next does not fit: no line ends in a dot."""
    rows: list[str] = []
    for entry in entries:
        joined = f"{rows[-1]} · {entry}" if rows else entry
        if rows and set_text(joined, size, face).width <= width:
            rows[-1] = joined
        else:
            rows.append(entry)
    return tuple(line for row in rows for line in break_lines(row, size, width, face))


def place_of(document: Document, reviewed: ReviewedMark) -> str:
    """What the mark is and where: ``Chord · measure 16 · Chorus 1``.

    A kind that the title says already is not said again: ``measure 16 · Chorus 1``.
    """
    start = reviewed.mark.span.start
    kind = KINDS[reviewed.mark.kind]
    words = [kind] if kind != title_of(reviewed) else []
    words.append(f"measure {document.score.measure_at(start).number}")
    for section in document.analysis.sections:
        if start in section.span and section.name:
            words.append(section.name)
    return " · ".join(words)


class _Words:
    """Heading and sentence, set for a width; the origin is their upper left corner."""

    def __init__(
        self, document: Document, reviewed: ReviewedMark, frame: Frame, width: float
    ) -> None:
        theme, shorter = frame.theme, frame.shorter
        least = frame.least_text / CAPITAL
        self.width, self._least = width, least
        title = max(theme.title * shorter, _TITLE_LEAST * least)
        self.title = _shrunk(title_of(reviewed), title, width, theme.title_face)
        place = place_of(document, reviewed).replace("measure ", "measure\N{NO-BREAK SPACE}")
        self.place = set_place(place.split(" · "), least, width, theme.small_face)
        # Heading in one line where both fit; else the place stands above.
        across = self.title.width + self.place[0].width + least
        self.side_by_side = len(self.place) == 1 and across <= width
        self.body = set_sentence(reviewed.sentence, frame, width)
        self.space = 0.3 * shorter * theme.title
        ems = [least, *(line.size for line in self.body)]
        self.text_height = CAPITAL * min(ems)

    @property
    def height(self) -> float:
        """From the top of the heading's capitals to the foot of the last line."""
        body = self.space + height_of(self.body) if self.body else 0.0
        return self._title_baseline + body

    @property
    def _title_baseline(self) -> float:
        lines = 0 if self.side_by_side else len(self.place)
        above = self._least * (lines * (CAPITAL + 0.55))
        return above + max(CAPITAL * self.title.size, -self.title.top)

    def strokes(self) -> Iterator[Toned]:
        """All glyphs."""
        y = self._title_baseline
        yield from _toned(self.title, 0.0, y, "ink")
        if self.side_by_side:
            yield from _toned(self.place[0], self.width - self.place[0].width, y, "soft")
        else:
            for at, line in enumerate(self.place):
                down = at * (CAPITAL + 0.55) + CAPITAL
                yield from _toned(line, 0.0, down * self._least, "soft")
        yield from toned_lines(self.body, 0.0, y + self.space)


class _Pictures:
    """The notes and the strip, side by side or one above the other; the origin as above."""

    def __init__(
        self,
        document: Document,
        source: Source,
        reviewed: ReviewedMark,
        frame: Frame,
        width: float,
        notes_height: float,
    ) -> None:
        shorter = frame.shorter
        self.beside = frame.width > frame.height
        self.between = _BLOCKS * shorter * (1.2 if self.beside else 0.7)
        beside = _LINE_WIDTH if reviewed.mark.kind == "line" else _NOTES_WIDTH
        share = width * (beside if self.beside else 1.0)
        staff = _STAFF * shorter * (1.0 if self.beside else 1.4)
        space = Space(share, notes_height * frame.height, staff, frame.least_text)
        self.notes = _notes(document, source, reviewed, space)
        rest = width - self.notes.width - self.between if self.beside else width
        em = _STRIP_EM * frame.least_text / CAPITAL
        heard = meant_marks(document, reviewed) | chords_under(document, reviewed)
        self.strip: Strip | None = lay_out_strip(document, reviewed, heard, rest, em)

    @property
    def height(self) -> float:
        """Height of both."""
        if self.strip is None:
            return self.notes.height
        if self.beside:
            return max(self.notes.height, self.strip.height)
        return self.notes.height + self.between + self.strip.height

    @property
    def text_height(self) -> float:
        """Height of the smallest capitals, the letters of the strip counted."""
        return min(self.notes.text_height or 1e9, self.strip.text_height if self.strip else 1e9)

    def pieces(self) -> Iterator[Piece]:
        """Both, each in its place."""
        x, y, _, _ = self.notes.box
        scale = self.notes.scale
        down = (self.height - self.notes.height) / 2 if self.beside else 0.0
        yield Piece(self.notes.strokes, scale, -x * scale, down - y * scale)
        if self.strip is None:
            return
        if self.beside:
            across = self.notes.width + self.between
            yield Piece(self.strip.strokes, 1.0, across, (self.height - self.strip.height) / 2)
        else:
            yield Piece(self.strip.strokes, 1.0, 0.0, self.notes.height + self.between)


def _notes(document: Document, source: Source, reviewed: ReviewedMark, space: Space) -> Excerpt:
    """The beginning of the mark's passage, as many measures as can be read in one line."""
    whole = passages_of(document, reviewed)[-1]
    if reviewed.mark.kind == "echo":
        # Two measures of one part have room for the echo alone.
        start = document.score.measure_at(reviewed.mark.span.start).index
        whole = replace(whole, first=min(start, whole.last))
    layers: frozenset[Layer] = frozenset(LAYERS_OF[reviewed.mark.kind])
    layers -= {"numerals", "functions"}
    parts = spoken_part(reviewed, whole.parts)
    meant = meant_marks(document, reviewed)
    marks = list(marks_around(document, reviewed))
    bare = replace(whole, parts=parts, lyrics=False, directions=False)
    line = reviewed.mark.kind == "line"
    longest = min(whole.last, whole.first + (MOST_MEASURES if line else _MOST_MEASURES) - 1)
    found: list[Excerpt] = []
    counts = range(longest, whole.first - 1, -1)
    # The strip names the chords as well, so of a line as many notes as can be are shown without.
    tries = list(product((True, False), counts))
    if line:
        tries.sort(key=lambda one: (-one[1], not one[0]))
    for (symbols, last), text in product(tries, TEXTS):
        passage = replace(bare, last=last, text=text, chord_symbols=symbols)
        excerpt = engrave_excerpt(
            document, source, marks, passage, space, layers, meant, context=False
        )
        if is_readable(excerpt, space):
            return excerpt
        found.append(excerpt)
    return max(found, key=lambda excerpt: excerpt.text_height)


def _shrunk(text: str, em: float, width: float, face: Face) -> SetText:
    """The text on one line, smaller where it would be wider than the width."""
    whole = set_text(text, em, face)
    return whole if whole.width <= width else set_text(text, em * width / whole.width, face)


def _toned(text: SetText, x: float, y: float, tone: Tone) -> Iterator[Toned]:
    for shape in text.shapes(x, y):
        yield Toned(tone, shape)


def _opening_lines(frame: Frame, height: float) -> list[Toned]:
    """A thick and a thin line, as at the beginning of a repeat; or as the theme has it."""
    thick, thin = _BAR * frame.shorter, _HAIR * frame.shorter
    lines: list[tuple[Tone, float, float]] = [
        ("accent", thick / 2, thick),
        ("soft", thick + 3 * thin, thin),
    ]
    count = {"double": 2, "single": 1, "none": 0}[frame.theme.opening]
    return [
        Toned(tone, PathShape("", "mark", "ML", (x, 0.0, x, height), False, stroke))
        for tone, x, stroke in lines[:count]
    ]
