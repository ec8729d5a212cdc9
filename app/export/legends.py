"""The legend of the annotated score: each sign that stands in it, drawn small, and what it means.

Signs are drawn by what draws them in the score, so the legend cannot say otherwise. Kinds that the
score does not show are left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Final, NamedTuple

from analysis.marks import Line, MelodyFact, Section
from app.engraving.implied_notes import SMALL
from app.engraving.labels import LAYERS_OF, Layer, Toned
from app.engraving.layouts import STAFF_HEIGHT, STAFF_SPACE
from app.engraving.metrics import Face
from app.engraving.musictext import break_lines, set_text
from app.engraving.pages import Box, GlyphShape, PathShape
from app.engraving.palettes import Tone
from app.engraving.signs import bracket, cap, joined, peak, pointed, ring, rule, underline
from app.review.document import ReviewedMark, State

#: Em of the words and of the heading, width of the signs' column, space between rows, space between
#: columns, in page units.
EM: Final = 30.0
_HEADING: Final = 42.0
_SIGN_WIDTH: Final = 190.0
_ROW: Final = 30.0
_COLUMNS: Final = 60.0
_LEADING: Final = 1.3
_HEAD: Final = "E0A4"
_HEAD_WIDTH: Final = 1.18 * STAFF_SPACE


class _Entry(NamedTuple):
    """A sign, drawn around a middle height, and its meaning."""

    draw: Callable[[float, float], Iterator[Toned]]
    meaning: str


def lay_out_legend(
    marks: Sequence[ReviewedMark], left: float, top: float, width: float
) -> tuple[tuple[Toned, ...], float]:
    """The legend's shapes, and how high it is, in page units; in two columns read downwards.

    Parameters
    ----------
    marks
        The marks that the score shows.
    left, top, width
        Where it stands.
    """
    heading = set_text("Signs", _HEADING, "semibold")
    strokes = [Toned("ink", shape) for shape in heading.shapes(left, top - heading.top)]
    entries = list(_entries(marks))
    column = (width - _COLUMNS) / 2
    texts = [break_lines(one.meaning, EM, column - _SIGN_WIDTH) for one in entries]
    heights = [max(len(lines) * EM * _LEADING, 1.6 * EM) + _ROW for lines in texts]
    half = -(-len(entries) // 2)
    begin = top + heading.height + _ROW
    bottom = begin
    for at, (entry, lines) in enumerate(zip(entries, texts, strict=True)):
        second = at >= half
        x = left + (column + _COLUMNS if second else 0.0)
        y = begin + sum(heights[half:at] if second else heights[:at])
        middle = y + heights[at] / 2
        strokes += entry.draw(x, middle)
        baseline = middle - (len(lines) - 1) * EM * _LEADING / 2 + EM * 0.34
        for line in lines:
            strokes += [Toned("ink", shape) for shape in line.shapes(x + _SIGN_WIDTH, baseline)]
            baseline += EM * _LEADING
        bottom = max(bottom, y + heights[at])
    return tuple(strokes), bottom - top


def _entries(marks: Sequence[ReviewedMark]) -> Iterator[_Entry]:
    """What the score has, in the order from the bottom of a system to its top."""
    layers = {layer for mark in marks for layer in LAYERS_OF[mark.mark.kind]}
    if all(_printed(mark) for mark in marks):
        layers.discard("sections")
    for layer, entries in _LAYERS.items():
        if layer in layers:
            yield from entries
    facts = [mark.mark.fact for mark in marks if isinstance(mark.mark.fact, MelodyFact)]
    kinds = {mark.mark.kind for mark in marks}
    plain = {"foreign", "chord tone", "tension"}
    if any(not fact.blue and fact.role in plain for fact in facts):
        yield _Entry(_around(ring, "foreign"), "a note foreign to its chord")
    if any(not fact.blue and fact.role not in plain for fact in facts):
        yield _Entry(
            _around(cap, "foreign"), "another note outside its chord: passing, suspended …"
        )
    if any(fact.blue for fact in facts) or "mixed third" in kinds:
        yield _Entry(
            _around(pointed, "accent"), "a blue note, or natural and lowered third in turn"
        )
    if any(isinstance(mark.mark.fact, Line) and mark.mark.fact.implied_at for mark in marks):
        yield _Entry(_small_line, "small notes: a line that lies in the chords, not played as such")
    if "remarks" in layers:
        yield _Entry(_around(peak, "accent"), "a turning point, or a remark on this note")
    states = {mark.state for mark in marks}
    if "open" in states:
        yield _Entry(
            _around(ring, "ink", "open"), "dashed, or not underlined: nobody has reviewed it yet"
        )
    if "accepted" in states:
        yield _Entry(_under("accepted"), "underlined, or a whole line: accepted in review")
    if "edited" in states:
        yield _Entry(_under("edited"), "with a notch: edited in review")


def _printed(reviewed: ReviewedMark) -> bool:
    """Whether the mark is none of a section, or the source prints its name already."""
    fact = reviewed.mark.fact
    written = isinstance(fact, Section) and fact.written and reviewed.label == reviewed.mark.label
    return reviewed.mark.kind != "section" or written


def _text(
    text: str, tone: Tone, em: float, face: Face, barred: bool = False
) -> Callable[[float, float], Iterator[Toned]]:
    def draw(x: float, middle: float) -> Iterator[Toned]:
        found = set_text(text, em, face)
        baseline = middle + em * 0.3
        if barred:
            yield Toned(tone, rule("", x, baseline - em * 0.8, x, baseline + em * 0.14))
            x += em * 0.25
        for shape in found.shapes(x, baseline):
            yield Toned(tone, shape)

    return draw


def _around(
    sign: Callable[[str, Box, State | None], Iterator[PathShape]],
    tone: Tone,
    state: State | None = None,
) -> Callable[[float, float], Iterator[Toned]]:
    """A sign at a note head."""

    def draw(x: float, middle: float) -> Iterator[Toned]:
        x += 1.5 * STAFF_SPACE
        yield Toned("ink", _head(x, middle))
        box = (x, middle - STAFF_SPACE / 2, _HEAD_WIDTH, STAFF_SPACE)
        for shape in sign("", box, state):
            yield Toned(tone, shape)

    return draw


def _head(x: float, middle: float) -> GlyphShape:
    return GlyphShape("", "notehead", _HEAD, x, middle, STAFF_HEIGHT / 1000)


def _under(state: State) -> Callable[[float, float], Iterator[Toned]]:
    def draw(x: float, middle: float) -> Iterator[Toned]:
        found = set_text("V⁷", 36.0)
        for shape in found.shapes(x, middle + 8.0):
            yield Toned("ink", shape)
        for path in underline("", x, x + found.width, middle + 18.0, state):
            yield Toned("ink", path)

    return draw


def _line(x: float, middle: float) -> Iterator[Toned]:
    """Three heads that go down, joined."""
    step = 3.1 * STAFF_SPACE
    middles = [(x + _HEAD_WIDTH / 2 + n * step, middle + (n - 1) * STAFF_SPACE) for n in range(3)]
    for across, down in middles:
        yield Toned("ink", _head(across - _HEAD_WIDTH / 2, down))
    for shape in joined("", middles, 0.95 * STAFF_SPACE, None):
        yield Toned("line", shape)


def _small_line(x: float, middle: float) -> Iterator[Toned]:
    """Two small heads, joined."""
    step = 3.1 * STAFF_SPACE
    width = _HEAD_WIDTH * SMALL * 1000 / STAFF_HEIGHT
    for n in range(2):
        yield Toned("line", GlyphShape("", "mark", _HEAD, x + n * step, middle, SMALL))
    points = ((x + width / 2, middle), (x + step + width / 2, middle))
    for shape in joined("", points, 0.75 * STAFF_SPACE, None):
        yield Toned("line", shape)


def _bracket(x: float, middle: float) -> Iterator[Toned]:
    text = set_text("a′", EM, "medium")
    start = x + 0.8 * STAFF_SPACE
    for shape in text.shapes(start, middle + EM * 0.3):
        yield Toned("ink", shape)
    gap = (start - 0.25 * EM, start + text.width + 0.25 * EM)
    for path in bracket("", (x, x + 7.5 * STAFF_SPACE), middle, gap, 0.7 * STAFF_SPACE, None):
        yield Toned("ink", path)


_LAYERS: Final[dict[Layer, tuple[_Entry, ...]]] = {
    "keys": (
        _Entry(_text("C major", "accent", 28.0, "medium", barred=True), "the key from here on"),
    ),
    "cadences": (
        _Entry(
            _text("HC", "ink", 28.0, "medium"),
            "how a phrase ends: perfect (PAC) or imperfect (IAC) authentic, half (HC), "
            "plagal (PC) or deceptive (DC) cadence",
        ),
    ),
    "functions": (
        _Entry(
            _text("T  S  D", "ink", 28.0, "semibold"),
            "what the chord does: tonic, subdominant, dominant",
        ),
    ),
    "numerals": (
        _Entry(
            _text("V⁷/vi", "ink", 38.0, "regular"),
            "the chord in its key; after a slash the chord that it is a dominant of",
        ),
    ),
    "lines": (_Entry(_line, "a voice that moves by step or holds on under other chords"),),
    "phrases": (
        _Entry(
            _bracket,
            "a phrase; the same letter comes back, a stroke says that its chords are new",
        ),
    ),
    "sections": (
        _Entry(_text("Verse", "ink", 34.0, "semibold", barred=True), "a section of the form"),
    ),
}
