"""Accidentals of parts that have none: what the rules of notation ask for, and no more."""

from __future__ import annotations

from collections import Counter
from typing import Final

from lxml import etree

from analysis.reading.sources import source_of
from app.engraving.copies import copy_for
from app.engraving.engraver import engrave
from app.engraving.layouts import Layout
from app.engraving.pages import GlyphShape
from tests.analysis.snippets import attributes, document, note

TIED: Final = '<tie type="start"/>'
HELD: Final = '<tie type="stop"/>'
BACK: Final = "<backup><duration>16</duration></backup>"


def printed(*measures: str) -> list[str]:
    """The accidental of every note in order, ``-`` for none."""
    source = source_of(document(list(measures)), "snippet.musicxml")
    root = etree.fromstring(copy_for(source.musicxml, Layout()).musicxml.encode())
    return [one.findtext("accidental", "-") for one in root.iter("note")]


def notes(*names: str) -> str:
    return "".join(note(name, 4) for name in names)


def staffed(staff: int, *names: str) -> str:
    return "".join(note(name, 4, f"<staff>{staff}</staff>") for name in names)


def test_an_accidental_holds_until_the_barline() -> None:
    found = printed(attributes() + notes("Gb4", "Gb4", "G4", "G4"), notes("G4", "Gb4", "C4", "C4"))
    assert found == ["flat", "-", "natural", "-", "-", "flat", "-", "-"]


def test_it_holds_for_its_own_octave() -> None:
    assert printed(attributes() + notes("F#4", "F#5", "F4", "F5")) == [
        "sharp",
        "sharp",
        "natural",
        "natural",
    ]


def test_the_signature_speaks_for_its_letters() -> None:
    found = printed(attributes(fifths=-3) + notes("Eb4", "E4", "Bb4", "F#4"))
    assert found == ["-", "natural", "-", "sharp"]


def test_doubles_and_quarter_tones_have_their_names() -> None:
    quarter = "<note><pitch><step>A</step><alter>-0.5</alter><octave>4</octave></pitch>"
    quarter += "<duration>4</duration></note>"
    found = printed(attributes() + notes("Bbb4", "F##4", "F#4") + quarter)
    assert found == ["flat-flat", "double-sharp", "sharp", "quarter-flat"]


def test_a_new_signature_holds_from_where_it_stands() -> None:
    change = "<attributes><key><fifths>2</fifths></key></attributes>"
    assert printed(attributes() + notes("C#4", "C4", "C4", "C4"), change + notes("C#4", "C4")) == [
        "sharp",
        "natural",
        "-",
        "-",
        "-",
        "natural",
    ]
    inside = attributes() + notes("C#4", "C#4") + change + notes("C#4", "C4")
    assert printed(inside) == ["sharp", "-", "-", "natural"]


def test_a_signature_of_single_letters() -> None:
    key = "<key><key-step>F</key-step><key-alter>1</key-alter></key>"
    first = f"<attributes><divisions>4</divisions>{key}</attributes>"
    assert printed(first + notes("F#4", "C#4", "F4", "C#4")) == ["-", "sharp", "natural", "-"]


def test_a_tie_over_the_barline_needs_none_and_speaks_for_itself_alone() -> None:
    first = attributes() + note("C4", 12) + note("F#4", 4, TIED)
    assert printed(first, note("F#4", 8, HELD) + notes("F#4", "F#4")) == [
        "-",
        "sharp",
        "-",
        "sharp",
        "-",
    ]
    assert printed(first, note("F#4", 8, HELD) + notes("F4", "F4"))[2:] == ["-", "natural", "-"]
    signed = attributes(fifths=1) + note("C4", 12) + note("F#4", 4, TIED)
    assert printed(signed, note("F#4", 8, HELD) + notes("F#4", "F4"))[2:] == ["-", "-", "natural"]


def test_a_tie_through_several_measures_and_one_that_never_began() -> None:
    middle = note("F#4", 16, HELD + TIED)
    first = attributes() + note("F#4", 16, TIED)
    assert printed(first, middle, note("F#4", 16, HELD)) == ["sharp", "-", "-"]
    assert printed(attributes() + note("F#4", 16, HELD)) == ["sharp"]


def test_grace_notes_come_before_what_they_lead_to() -> None:
    grace = note("F#4", None, first="<grace/>")
    assert printed(attributes() + grace + notes("F#4", "F4", "G4", "A4"))[:3] == [
        "sharp",
        "-",
        "natural",
    ]
    # Written last, heard first: a grace note of the second voice.
    voices = attributes() + notes("F#4", "G4", "A4", "B4") + BACK + grace + note("D4", 16)
    assert printed(voices) == ["-", "-", "-", "-", "sharp", "-"]


def test_every_note_of_a_chord_has_its_own() -> None:
    triad = note("D4", 8) + note("F#4", 8, chord=True) + note("A4", 8, chord=True)
    assert printed(attributes() + triad + triad) == ["-", "sharp", "-", "-", "-", "-"]


def test_voices_share_a_staff_in_order_of_time() -> None:
    upper = note("F4", 8) + note("F4", 8)
    lower = note("D4", 4) + note("F#4", 4) + note("D4", 8)
    assert printed(attributes() + upper + BACK + lower) == ["-", "natural", "-", "sharp", "-"]


def test_two_forms_at_once_are_both_marked() -> None:
    found = printed(attributes() + notes("F#4", "F4") + BACK + notes("F4", "F4"))
    assert found == ["sharp", "natural", "natural", "-"]


def test_staves_are_apart_and_may_have_their_own_signatures() -> None:
    key = '<key number="1"><fifths>0</fifths></key><key number="2"><fifths>1</fifths></key>'
    first = f"<attributes><divisions>4</divisions>{key}<staves>2</staves></attributes>"
    found = printed(first + staffed(1, "F#4", "F#4") + BACK + staffed(2, "F#4", "F4"))
    assert found == ["sharp", "-", "-", "natural"]


def test_a_signature_for_all_staves() -> None:
    found = printed(
        attributes("<staves>2</staves>", fifths=1) + staffed(1, "F#4") + BACK + staffed(2, "F#3"),
        "<attributes><key><fifths>0</fifths></key></attributes>" + staffed(2, "F3", "F#3"),
    )
    assert found == ["-", "-", "-", "sharp"]


def test_a_part_with_any_accidental_is_believed() -> None:
    own = note("C#4", 4, "<accidental>sharp</accidental>")
    assert printed(attributes() + own + notes("F#4", "C4")) == ["sharp", "-", "-"]


def test_parts_are_judged_one_by_one() -> None:
    own = attributes() + note("C#4", 4, "<accidental>sharp</accidental>") + notes("F#4")
    source = source_of(document([own], [attributes() + notes("F#4")]), "snippet.musicxml")
    root = etree.fromstring(copy_for(source.musicxml, Layout()).musicxml.encode())
    assert [one.findtext("accidental") for one in root.iter("note")] == ["sharp", None, "sharp"]


def test_hidden_notes_and_tablature_count_for_nothing() -> None:
    hidden = note("F#4", 4, attributes='print-object="no"')
    assert printed(attributes() + hidden + notes("F#4")) == ["-", "sharp"]
    tablature = attributes("<clef><sign>TAB</sign></clef>")
    assert printed(tablature + notes("F#4")) == ["-"]


def test_an_excerpt_is_judged_with_the_part_it_comes_from() -> None:
    measures = [attributes() + notes("F#4"), notes("C#4"), notes("Bb4")]
    source = source_of(document(measures), "snippet.musicxml")
    copy = copy_for(source.musicxml, Layout(first=1, last=1))
    assert "<accidental>sharp</accidental>" in copy.musicxml
    own = note("F#4", 4, "<accidental>sharp</accidental>")
    source = source_of(document([attributes() + own, notes("C#4")]), "snippet.musicxml")
    assert "accidental" not in copy_for(source.musicxml, Layout(first=1, last=1)).musicxml


def test_an_excerpt_says_again_what_is_tied_into_it() -> None:
    def shown(first: str, second: str, fifths: int = 0) -> list[str]:
        parts = document([attributes(fifths=fifths) + first, second])
        copy = copy_for(source_of(parts, "snippet.musicxml").musicxml, Layout(first=1, last=1))
        root = etree.fromstring(copy.musicxml.encode())
        return [one.findtext("accidental", "-") for one in root.iter("note")]

    tied = note("Gb4", 16, TIED), note("Gb4", 8, HELD) + notes("A4", "B4")
    assert shown(*tied) == ["flat", "-", "-"]
    assert shown(*tied, fifths=-5) == ["-", "natural", "natural"]
    own = note("Gb4", 16, TIED + "<accidental>flat</accidental>")
    assert shown(own, tied[1]) == ["flat", "-", "-"]
    inside = note("Gb4", 8) + note("Gb4", 8, TIED)
    assert shown(notes("C4"), inside + note("Gb4", 4, HELD)) == ["flat", "-", "-"]


def test_the_accidental_stands_where_the_standard_wants_it() -> None:
    more = "<voice>1</voice><type>quarter</type><dot/><stem>up</stem><notations/>"
    source = source_of(document([attributes() + note("F#4", 6, more)]), "snippet.musicxml")
    root = etree.fromstring(copy_for(source.musicxml, Layout()).musicxml.encode())
    tags = [child.tag for child in next(root.iter("note"))]
    assert tags.index("accidental") == tags.index("dot") + 1 == tags.index("stem") - 1


def test_the_page_shows_them_and_the_source_stays() -> None:
    source = source_of(
        document([attributes() + notes("Gb4", "G4", "C4", "C4")]), "snippet.musicxml"
    )
    before = source.musicxml
    glyphs = Counter(
        shape.code
        for page in engrave(source, Layout())
        for shape in page.shapes
        if isinstance(shape, GlyphShape)
    )
    assert glyphs["E260"] == glyphs["E261"] == 1
    assert source.musicxml == before
    assert b"<accidental>" not in before
