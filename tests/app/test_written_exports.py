"""Exports follow the user's writing where words are for people, and are as kept for programs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from lxml import etree

from analysis.vocabulary.numerals import Convention
from app.cli import run
from app.engraving.pages import TextShape
from app.export.annotated import Form
from app.export.card_layouts import lay_out_card
from app.export.excerpts import Space, engrave_excerpt
from app.export.frames import FULL_HD
from app.export.passages import passages_of
from app.export.text_sets import Pictures, text_files
from app.export.timing import USUAL_TIME
from app.review.writing import PLAIN, Writing, written
from tests.app.reviews import read_sample

GERMAN = Writing(Convention("major", "slash"), "german")
#: What programs read.
MACHINE = ("-marks.json", "-analysis.json", ".rntxt")


def texts(sample: str, writing: Writing, form: Form = "directions") -> dict[str, bytes]:
    source, document = read_sample(sample)
    made = text_files(document, source, USUAL_TIME, Pictures(), form, writing)
    return {name.removeprefix(sample): make() for name, make in made}


@pytest.mark.parametrize("sample", ["wednesday-table", "slow-to-warm"])
def test_what_programs_read_is_as_kept_and_what_people_read_is_in_their_writing(
    sample: str,
) -> None:
    kept, ours = texts(sample, PLAIN), texts(sample, GERMAN)
    for name in MACHINE:
        assert ours[name] == kept[name]
    for name in ("-annotated.musicxml", "-marks.csv", "-outline.md", "-timeline.otio"):
        assert ours[name] != kept[name]


@pytest.mark.parametrize("sample", ["wednesday-table", "slow-to-warm"])
def test_numerals_of_musicxml_stay_as_kept(sample: str) -> None:
    def numerals(writing: Writing) -> list[bytes]:
        tree = etree.fromstring(texts(sample, writing, "numerals")["-annotated.musicxml"])
        return [
            etree.tostring(one) for one in tree.iter("harmony") if one.find("numeral") is not None
        ]

    assert numerals(PLAIN)
    assert numerals(GERMAN) == numerals(PLAIN)


def test_an_excerpts_chord_symbols_are_in_the_users_letters() -> None:
    source, document = read_sample("wednesday-table")

    def letters(writing: Writing) -> set[str]:
        worded = written(document, writing)
        mark = next(one for one in worded.shown_marks() if one.mark.kind == "chord")
        passage = passages_of(worded, mark)[-1]
        space = Space(1600.0, 800.0, 80.0, 27.0)
        excerpt = engrave_excerpt(worded, source, [], passage, space, frozenset())
        symbols: dict[str, str] = {}
        for shape in excerpt.page.shapes:
            if isinstance(shape, TextShape) and shape.role == "harm":
                symbols[shape.element] = symbols.get(shape.element, "") + shape.text
        return {re.match("Sol|Do|Re|Mi|Fa|La|Si|[A-H]", one)[0] for one in symbols.values()}  # type: ignore[index]

    assert letters(PLAIN) & {"C", "D", "E", "F", "G", "A", "B"}
    assert letters(Writing(naming="fixed do")) <= {"Do", "Re", "Mi", "Fa", "Sol", "La", "Si"}


def test_a_card_says_its_mark_in_the_users_writing() -> None:
    source, document = read_sample("wednesday-table")
    worded = written(document, Writing(Convention("own", "slash")))
    inverted = next(
        mark.id for mark in document.shown_marks()
        if mark.mark.kind == "chord" and mark.label != worded.mark(mark.id).label
    )  # fmt: skip
    cards = [lay_out_card(one, source, one.mark(inverted), FULL_HD) for one in (document, worded)]
    assert cards[0].pieces != cards[1].pieces


def test_the_command_line_writes_as_it_is_told(tmp_path: Path) -> None:
    score = "sample_scores/wednesday-table.musicxml"
    told = {}
    for at, switches in enumerate(([], ["--note-names", "fixed-do"])):
        out = tmp_path / f"{at}.csv"
        assert run(["table", score, "--out", str(out), *switches]) == 0
        told[at] = out.read_text()
    assert " major" in told[0]
    assert re.search("(Do|Re|Mi|Fa|Sol|La|Si)♭? major", told[1])
    assert not re.search("(Do|Re|Mi|Fa|Sol|La|Si)♭? major", told[0])
