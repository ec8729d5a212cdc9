"""Captions, read back by a subtitle library that did not write them."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pysubs2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.export.captions import LINES, WIDTH, Cue, broken_lines, cues_of, to_srt, to_webvtt
from app.export.talking_points import talking_points
from app.export.timecodes import RATES, FrameRate, frame_at, rate_named, seconds_of
from app.export.timing import TimedPoint, timed_points
from app.review.document import Decision, Time
from tests.app.reviews import SAMPLES, read_sample

RATE = rate_named("29.97 drop")


def sample_points(name: str) -> list[TimedPoint]:
    _, document = read_sample(name)
    return timed_points(document, talking_points(document))


def saying(text: str, start: Fraction = Fraction(3600), length: int = 6) -> TimedPoint:
    """A point with this sentence."""
    point = sample_points(SAMPLES[0])[0]
    mark = replace(point.mark, decision=Decision("edited", sentence=text))
    return TimedPoint(1, mark, Time(start, Fraction(length)))


def read_back(text: str, form: str) -> list[tuple[int, int, str]]:
    read = pysubs2.SSAFile.from_string(text, format_=form)
    return [(event.start, event.end, event.plaintext) for event in read]


@pytest.mark.parametrize("name", SAMPLES)
def test_both_formats_come_back_as_they_were_made(name: str) -> None:
    cues = cues_of(sample_points(name), RATE)
    wanted = [(cue.start, cue.end, "\n".join(cue.lines)) for cue in cues]
    assert wanted
    assert read_back(to_srt(cues), "srt") == wanted
    assert read_back(to_webvtt(cues), "vtt") == wanted


@pytest.mark.parametrize("name", SAMPLES)
def test_every_word_is_said_once_in_order_of_start(name: str) -> None:
    points = sample_points(name)
    cues = cues_of(points, RATE)
    said = " ".join(line for cue in cues for line in cue.lines).split()
    assert said == [word for point in points for word in point.mark.sentence.split()]
    for cue, following in pairwise(cues):
        assert cue.start < cue.end <= following.start
    for cue in cues:
        assert len(cue.lines) <= LINES
        assert all(len(line) <= WIDTH for line in cue.lines)


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: rate.name)
def test_cues_begin_on_frames(rate: FrameRate) -> None:
    for cue in cues_of(sample_points(SAMPLES[0]), rate):
        frame = frame_at(Fraction(cue.start, 1000), rate)
        assert abs(seconds_of(frame, rate) * 1000 - cue.start) <= Fraction(1, 2)


def test_stamps_have_three_digits_and_text_cannot_break_out() -> None:
    (cue,) = cues_of(
        [saying("A & B <b>x</b>\n\n1 --> 2 {\\i1}", Fraction(7201, 2))], rate_named("50")
    )
    vtt, srt = to_webvtt([cue]), to_srt([cue])
    assert vtt.startswith("WEBVTT\n\n01:00:00.500 --> 01:00:06.500\n")
    assert "A &amp; B &lt;b&gt;x&lt;/b&gt; 1 → 2 {\\i1}" in vtt
    assert vtt.count("-->") == srt.count("-->") == 1
    assert srt.startswith("1\n01:00:00,500 --> 01:00:06,500\n")
    assert "<" not in srt.partition("\n")[2].partition("\n")[2]
    assert read_back(srt, "srt")[0][2] == "A & B ‹b›x‹/b› 1 → 2 (\\i1)"


def test_a_point_without_words_has_no_cue() -> None:
    assert cues_of([saying(" \n")], RATE) == []
    assert to_webvtt([]) == "WEBVTT\n"
    assert to_srt([]) == ""


@given(st.text(alphabet=st.characters(codec="utf-8", include_characters="\0"), max_size=300))
def test_any_sentence_gives_files_that_can_be_read(text: str) -> None:
    cues = cues_of([saying(text)], RATE)
    vtt = to_webvtt(cues)
    stamps = re.findall(r"^(\d\d:\d\d:\d\d\.\d{3}) --> (\d\d:\d\d:\d\d\.\d{3})$", vtt, re.M)
    assert len(stamps) == len(cues)
    assert html.unescape(vtt).split() == _words_of_file(cues, vtt)


def _words_of_file(cues: list[Cue], vtt: str) -> list[str]:
    """What the file must hold: its head, stamps and the lines of its cues."""
    words = ["WEBVTT"]
    stamps = [line for line in vtt.splitlines() if " --> " in line]
    for cue, stamp in zip(cues, stamps, strict=True):
        words += [*stamp.split(), *" ".join(cue.lines).split()]
    return words


def test_lines_are_even_and_never_begin_with_a_dash() -> None:
    assert broken_lines("The bass falls step by step: G – F♯ – E – D – C – B – A – G.") == [
        "The bass falls step by step:",
        "G – F♯ – E – D – C – B – A – G.",
    ]
