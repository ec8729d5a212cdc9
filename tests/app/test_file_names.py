"""Names that every system takes, and no two the same."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import ExportError
from app.export.file_names import (
    FIELDS,
    LONGEST,
    named,
    picture_names,
    safe_name,
    without_clashes,
)
from app.export.talking_points import talking_points
from app.review.document import Decision
from tests.app.reviews import SAMPLES, read_sample

#: From memory: Microsoft, Naming Files, Paths, and Namespaces.
DEVICES = ("CON", "prn", "Aux", "NUL", "com1", "LPT9", "COM¹", "nul.txt", "com3.tar.gz")


@given(st.text(st.characters(codec="utf-8", include_characters="\0"), max_size=400))
def test_any_text_becomes_a_safe_name(text: str) -> None:
    name = safe_name(text)
    assert re.fullmatch(r"[A-Za-z0-9]([A-Za-z0-9._-]*[A-Za-z0-9_])?|_[A-Za-z0-9._-]*", name)
    assert len(name) <= LONGEST + 2
    assert not re.fullmatch(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", name, re.I)
    assert safe_name(name) == name


@pytest.mark.parametrize("name", DEVICES)
def test_names_of_devices_are_not_taken(name: str) -> None:
    assert safe_name(name).startswith("x-")


def test_letters_and_music_signs_are_spelled() -> None:
    assert safe_name("♭VII⁷ → vii°⁷/V") == "bVII7-viio7-V"
    assert safe_name("Łódź, straße, cœur") == "Lodz-strasse-coeur"
    composed, decomposed = "é", "e\N{COMBINING ACUTE ACCENT}"
    assert safe_name(composed) == safe_name(decomposed) == "e"
    assert safe_name("../../etc/passwd") == "etc-passwd"
    assert safe_name(" ..") == "untitled"


@given(st.lists(st.sampled_from(["a", "A", "a-2", "A-2", "a-3", "b"]), max_size=12))
def test_no_two_names_are_one_to_any_file_system(names: list[str]) -> None:
    found = without_clashes(names)
    assert len({name.casefold() for name in found}) == len(names)
    for name, given_name in zip(found, names, strict=True):
        assert name.startswith(given_name)


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("pattern", ["{label}", "{song} {section} {number}", "same", "{kind}"])
def test_each_point_has_a_name_of_its_own(name: str, pattern: str) -> None:
    _, document = read_sample(name)
    points = talking_points(document)
    names = picture_names(document, points, pattern)
    assert len({one.casefold() for one in names}) == len(points)


def test_the_usual_pattern_says_number_measure_kind_and_label() -> None:
    _, document = read_sample("wednesday-table")
    chord = next(mark for mark in document.marks() if mark.mark.kind == "chord")
    measure = document.score.measure_at(chord.mark.span.start).number
    named_so = replace(chord, decision=Decision("edited", label="V⁷/vi"))
    assert picture_names(document, [named_so]) == [f"01-m{measure}-chord-V7-vi"]
    # A label without letters leaves no loose hyphen.
    unsaid = replace(chord, decision=Decision("edited", label="!"))
    assert picture_names(document, [unsaid]) == [f"01-m{measure}-chord"]


@pytest.mark.parametrize("pattern", ["{nothing}", "{", "}", "{label!r}", "{number:5}", "{}"])
def test_a_pattern_that_cannot_be_followed_is_refused_in_words(pattern: str) -> None:
    with pytest.raises(ExportError):
        named(pattern, dict.fromkeys(FIELDS, "x"))
