"""The table and the JSON of all marks: every mark, every state, read back."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.export import mark_tables
from app.export.mark_tables import COLUMNS, defused, read_csv, to_csv, to_table_json
from app.review.document import Decision, Document
from tests.app.reviews import SAMPLES, crowded_sample, read_sample

SCHEMA = json.loads(Path(mark_tables.__file__).with_name("mark_table.schema.json").read_text())
NASTY = (
    "=1+1",
    "+1",
    "-1",
    "@a",
    "\t=1",
    "'=1",
    "''-",
    'say "a", b',
    "one\r\ntwo",
    "'quoted'",
    "♭",
)


def decided(name: str) -> Document:
    """A sample with words of all sorts in its decisions, and one mark rejected."""
    _, document = crowded_sample(name)
    marks = [reviewed.mark for reviewed in document.marks()]
    words = {
        mark.id: Decision("edited", label=text, sentence=text, comment=text, mark=mark)
        for mark, text in zip(marks, NASTY, strict=False)
    }
    words[marks[-1].id] = Decision("rejected", mark=marks[-1])
    return replace(document, decisions={**document.decisions, **words})


@pytest.mark.parametrize("name", SAMPLES)
def test_the_table_comes_back_cell_by_cell(name: str) -> None:
    document = decided(name)
    rows = read_csv(to_csv(document))
    marks = list(document.marks())
    assert [row["id"] for row in rows] == [mark.id for mark in marks]
    for row, reviewed in zip(rows, marks, strict=True):
        assert tuple(row) == COLUMNS
        assert (row["label"], row["sentence"], row["comment"], row["state"]) == (
            reviewed.label,
            reviewed.sentence,
            reviewed.comment,
            reviewed.state,
        )
    assert {row["state"] for row in rows} == {"open", "accepted", "edited", "rejected"}


def test_the_table_is_as_rfc_4180_has_it_and_no_cell_is_a_formula() -> None:
    content = to_csv(decided(SAMPLES[0]))
    assert not content.startswith(b"\xef\xbb\xbf")
    assert content.endswith(b"\r\n")
    text = content.decode()
    assert '"say ""a"", b"' in text
    for cell in ("'=1+1", "'+1", "'-1", "'@a"):
        assert f",{cell}," in text


def test_readings_of_one_label_are_listed_with_their_functions() -> None:
    _, document = read_sample("seven-small-screws")
    mark = next(
        one.mark
        for one in document.marks()
        if [reading.label for reading in one.mark.alternatives].count("VII⁷") == 2
    )

    def cell() -> str:
        rows = read_csv(to_csv(document))
        return next(row["other readings"] for row in rows if row["id"] == mark.id)

    assert cell() == "VII⁷ (D); VII⁷ (S)"
    chosen = Decision("edited", reading="VII⁷", function="D", mark=mark)
    document = replace(document, decisions={mark.id: chosen})
    assert cell() == "VII⁷ (S)"


@given(
    st.text(alphabet=st.sampled_from("'=+-@ \t\r\nab♭"), max_size=6)
    | st.text(st.characters(codec="utf-8", include_characters="\0"), max_size=20)
)
def test_a_defused_cell_is_harmless_and_comes_back(cell: str) -> None:
    safe = defused(cell)
    assert not safe.lstrip().startswith(("=", "+", "-", "@"))
    if "\0" not in cell:
        read = read_csv(
            f'a\r\n"{safe.replace(chr(34), chr(34) * 2)}"\r\n'.encode("utf-8", "replace")
        )
        assert read == [{"a": cell.encode("utf-8", "replace").decode()}]


@pytest.mark.parametrize("name", SAMPLES)
def test_json_keeps_to_its_schema_and_has_every_mark(name: str) -> None:
    document = decided(name)
    table = json.loads(to_table_json(document))
    jsonschema.Draft202012Validator(SCHEMA).validate(table)
    marks = list(document.marks())
    for row, reviewed in zip(table["marks"], marks, strict=True):
        assert row["id"] == reviewed.id
        assert row["state"] == reviewed.state
        assert row["label"] == reviewed.label
        assert row["found"]["label"] == reviewed.mark.label
        assert row["elements"] == list(reviewed.mark.elements)
    assert to_table_json(document) == to_table_json(decided(name))


def test_numbers_are_places_among_the_talking_points() -> None:
    _, document = read_sample(SAMPLES[0])
    rows = json.loads(to_table_json(document))["marks"]
    numbers = sorted(row["number"] for row in rows if row["number"] is not None)
    assert numbers == list(range(1, len(numbers) + 1))
    assert numbers
