"""The outline, read back by a Markdown library."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from analysis.marks import Mark
from analysis.timebase import Span
from app.export.outlines import clock_time, escaped, to_outline
from app.export.talking_points import talking_points, title_of
from app.export.timing import Clock, TimedPoint, timed_points
from app.review.document import Decision, Document, ReviewedMark
from tests.app.reviews import SAMPLES, read_sample


def made(document: Document) -> tuple[str, list[TimedPoint]]:
    points = timed_points(document, talking_points(document))
    pictures = {point.mark.id: [f"stills/{point.number}.png"] for point in points}
    return to_outline(document, points, pictures), points


def blocks(text: str, opening: str) -> list[str]:
    """The text of each block of one kind, as a reader sees it."""
    tokens = MarkdownIt().parse(text)
    found = []
    for at, token in enumerate(tokens):
        if token.type == opening:
            inline = next(one for one in tokens[at:] if one.type == "inline")
            assert inline.children is not None
            found.append("".join(child.content for child in inline.children))
    return found


@pytest.mark.parametrize("name", SAMPLES)
def test_each_point_has_its_heading_sentence_and_picture(name: str) -> None:
    _, document = read_sample(name)
    text, points = made(document)
    in_order = sorted(points, key=lambda point: point.number)
    headings = blocks(text, "heading_open")
    assert headings[0] == document.score.title
    assert headings[1:] == [f"{p.number}. {title_of(p.mark)}" for p in in_order]
    paragraphs = blocks(text, "paragraph_open")
    assert [one for one in paragraphs if one in {p.mark.sentence for p in points}] == [
        p.mark.sentence for p in in_order
    ]
    assert [one for one in paragraphs if one.startswith("Pictures")] == [
        f"Pictures: stills/{p.number}.png" for p in in_order
    ]


def test_the_user_s_order_and_words_are_followed() -> None:
    _, document = read_sample(SAMPLES[0])
    points = talking_points(document)
    chosen = points[-1]
    decision = Decision("edited", label="# Home", sentence="*Listen* now.", comment="- a\n\n1. b")
    document = replace(
        document, order=(chosen.id,), decisions={chosen.id: replace(decision, mark=chosen.mark)}
    )
    text, _ = made(document)
    assert blocks(text, "heading_open")[1] == "1. # Home"
    paragraphs = blocks(text, "paragraph_open")
    assert "*Listen* now." in paragraphs
    assert blocks(text, "blockquote_open") == ["- a", "1. b"]


def test_measures_times_and_speaking_time_are_said() -> None:
    _, document = read_sample("seven-small-screws")
    measures = document.score.measures
    span = Span(measures[4].onset + 1, measures[5].span.end)
    mark = Mark("own", "passage", span, (), (), "lift", "word " * 19)
    (repeated,) = timed_points(document, [ReviewedMark(mark, None)])
    text = to_outline(document, [repeated])
    times = Clock(document.score).times_of(span.start)
    # The sample goes back to its beginning once, at 150 quarter notes a minute.
    assert times[0] == Fraction(13 * 60, 150)
    assert len(times) == 2
    place = f"- Measures {measures[4].number}–{measures[5].number}, from beat 2\n"
    assert f"{place}- Played at 0:05, {clock_time(times[1])}\n" in text
    # Its title is read as well: 20 words at 160 a minute.
    assert "- In the video at 0:05 for 7.5 s\n" in text
    # 19 words at 180 and at 160 a minute: 6.3 and 7.1 s, rounded up.
    assert "- 19 words, 7–8 s\n" in text


@given(
    st.text(st.characters(codec="utf-8", include_characters="\0"), max_size=60)
    | st.text(alphabet=st.sampled_from("*_`[]()<>#-+=1. &;!|~\\\n:"), max_size=9)
)
def test_no_text_becomes_markup(text: str) -> None:
    written = " ".join(text.split())
    if not written or any(ord(c) < 32 or c in "\x7f\0" for c in written):
        return
    rendered = MarkdownIt().enable(["table", "strikethrough"]).render(escaped(text))
    inside = re.fullmatch(r"<p>(.*)</p>\n", rendered, re.DOTALL)
    assert inside is not None, rendered
    assert html.unescape(inside[1]) == written


def test_times_are_as_a_player_shows_them() -> None:
    assert clock_time(Fraction(599, 10)) == "0:59"
    assert clock_time(Fraction(3661)) == "1:01:01"


def test_a_score_without_points_has_an_outline() -> None:
    _, document = read_sample(SAMPLES[0])
    assert "0 points, 0 words, 0 s to speak" in to_outline(document, [])
