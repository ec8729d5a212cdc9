"""The annotated score: only added to, readable by others, and taken back to the source."""

from __future__ import annotations

import io
import warnings
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from analysis.marks import ChordFact, Mark, Reading
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, source_of
from app.export.annotated import ADDED, Form, annotate, strip
from app.review.document import Document, SourceInfo
from app.review.edits import Decide, Reword

FORMS: tuple[Form, ...] = ("directions", "numerals")
SCHEMA = Path(__file__).parents[3] / "shared" / "musicxml-schema" / "musicxml.xsd"
#: Two parts, the second with two staves; a chord change under a held note; a source with odd
#: white space, a comment, an entity-free DOCTYPE and a pair of backups.
SONG = b"""<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"
  "http://www.musicxml.org/dtds/partwise.dtd">
<score-partwise version="4.0">
  <part-list>
    <score-part id="P1"><part-name>Voice</part-name></score-part>
    <score-part id="P2"><part-name>Piano</part-name></score-part>
  </part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>2</divisions><key><fifths>-1</fifths></key>
        <time><beats>4</beats><beat-type>4</beat-type></time>
        <clef><sign>G</sign><line>2</line></clef></attributes>
      <harmony><root><root-step>F</root-step></root><kind>major</kind></harmony>
      <harmony><root><root-step>C</root-step></root><kind>dominant</kind><offset>4</offset></harmony>
      <note><pitch><step>C</step><octave>5</octave></pitch><duration>8</duration>
        <voice>1</voice><type>whole</type></note>
    </measure>
    <measure number="2">  <!-- kept -->
      <harmony><root><root-step>F</root-step></root><kind>major</kind></harmony>
      <note><pitch><step>A</step><alter>-1</alter><octave>4</octave></pitch><duration>4</duration>
        <voice>1</voice><type>half</type></note>
      <note><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration>
        <voice>1</voice><type>half</type></note>
    </measure>
  </part>
  <part id="P2">
    <measure number="1">
      <attributes><divisions>4</divisions><key><fifths>-1</fifths></key>
        <time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>
        <clef number="1"><sign>G</sign><line>2</line></clef>
        <clef number="2"><sign>F</sign><line>4</line></clef></attributes>
      <note><pitch><step>A</step><octave>4</octave></pitch><duration>16</duration>
        <voice>1</voice><type>whole</type><staff>1</staff></note>
      <backup><duration>16</duration></backup>
      <note><pitch><step>F</step><octave>3</octave></pitch><duration>8</duration>
        <voice>5</voice><type>half</type><staff>2</staff></note>
      <note><pitch><step>C</step><octave>3</octave></pitch><duration>8</duration>
        <voice>5</voice><type>half</type><staff>2</staff></note>
    </measure>
    <measure number="2">
      <note><rest measure="yes"/><duration>16</duration><voice>1</voice><staff>1</staff></note>
      <backup><duration>16</duration></backup>
      <note><pitch><step>F</step><octave>3</octave></pitch><duration>16</duration>
        <voice>5</voice><type>whole</type><staff>2</staff></note>
    </measure>
  </part>
</score-partwise>
"""


def _open(content: bytes) -> tuple[Source, Document]:
    source = source_of(content, "song.musicxml")
    score = read_score(source)
    info = SourceInfo(source.name, "", source.digest)
    return source, Document(info, score, analyse(score))


def _canonical(content: bytes) -> bytes:
    out = io.BytesIO()
    etree.fromstring(content).getroottree().write_c14n(out)
    return out.getvalue()


def _timewise(content: bytes) -> bytes:
    root = etree.fromstring(content)
    parts = root.findall("part")
    for index in range(len(parts[0])):
        measure = etree.SubElement(root, "measure", number=str(index + 1))
        for part in parts:
            held = etree.SubElement(measure, "part", id=part.get("id", ""))
            held.extend(list(part.findall("measure")[index]))
    for part in parts:
        root.remove(part)
    root.tag = "score-timewise"
    return etree.tostring(root)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("content", [SONG, _timewise(SONG)], ids=["partwise", "timewise"])
def test_taking_the_marks_out_gives_the_source_back(content: bytes, form: Form) -> None:
    source, document = _open(content)
    annotated = annotate(source, document, form)
    assert len(annotated) > len(content) + 500
    assert _canonical(strip(annotated)) == _canonical(content)


@pytest.mark.parametrize("form", FORMS)
def test_annotating_twice_is_annotating_once(form: Form) -> None:
    source, document = _open(SONG)
    once = annotate(source, document, form)
    again = source_of(once, "song.musicxml")
    assert annotate(again, document, form) == once


@pytest.mark.parametrize("form", FORMS)
def test_the_result_is_valid_musicxml(form: Form) -> None:
    if not SCHEMA.exists():
        pytest.skip("the MusicXML schema is not beside the project")
    schema = etree.XMLSchema(etree.parse(SCHEMA))
    source, document = _open(SONG)
    schema.assertValid(etree.fromstring(annotate(source, document, form)).getroottree())


def _words(annotated: bytes) -> list[tuple[str, str, str]]:
    """(measure number, text, offset) of each added direction, in order."""
    root = etree.fromstring(annotated)
    return [
        (
            measure.get("number", ""),
            direction.findtext("direction-type/*") or "",
            direction.findtext("offset") or "0",
        )
        for measure in root.iter("measure")
        for direction in measure.iterfind("direction")
        if (direction.get("id") or "").startswith(ADDED)
    ]


def test_numerals_and_functions_stand_where_their_chords_begin() -> None:
    source, document = _open(SONG)
    words = _words(annotate(source, document))
    numerals = [(m, text, at) for m, text, at in words if text in {"I", "V7", "T", "D"}]
    # The second chord begins where the left hand's second note does, so no offset is needed.
    assert numerals == [
        ("1", "I", "0"),
        ("1", "T", "0"),
        ("1", "V7", "0"),
        ("1", "D", "0"),
        ("2", "I", "0"),
        ("2", "T", "0"),
    ]


def test_the_user_s_words_are_written_and_rejected_marks_are_not() -> None:
    source, document = _open(SONG)
    chords = [m for m in document.marks() if isinstance(m.mark.fact, ChordFact)]
    document = Reword(chords[0].id, label="home").apply(document)
    document = Decide((chords[1].id,), "rejected").apply(document)
    texts = [text for _, text, _ in _words(annotate(source, document))]
    assert "home" in texts
    assert "V7" not in texts


def test_other_libraries_read_the_marks(tmp_path: Path) -> None:
    music21 = pytest.importorskip("music21")
    source, document = _open(SONG)
    path = tmp_path / "annotated.musicxml"
    path.write_bytes(annotate(source, document))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = music21.converter.parse(path, format="musicxml")
        partitura = pytest.importorskip("partitura")
        partitura_score = partitura.load_musicxml(str(path))
    expressions = stream.flatten().getElementsByClass("TextExpression")
    assert {"I", "V7", "T", "D"} <= {expression.content for expression in expressions}
    texts = {
        direction.raw_text or direction.text
        for part in partitura_score
        for direction in part.iter_all(partitura.score.Direction, include_subclasses=True)
    }
    texts |= {
        words.text
        for part in partitura_score
        for words in part.iter_all(partitura.score.Words, include_subclasses=True)
    }
    assert {"I", "V7", "T", "D"} <= texts


def test_verovio_draws_the_marks() -> None:
    verovio = pytest.importorskip("verovio")
    source, document = _open(SONG)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(annotate(source, document).decode())
    drawn = etree.fromstring(toolkit.renderToSVG(1).encode())
    texts = {"".join(map(str, element.itertext())).strip() for element in drawn.iter("{*}text")}
    assert {"I", "V7", "T", "D"} <= texts


def test_another_reading_is_written_as_it_was_chosen_and_not_as_the_numeral_found() -> None:
    source, document = _open(SONG)
    chord = next(m for m in document.marks() if isinstance(m.mark.fact, ChordFact))
    reading = Reading("IV/V", "heard in the dominant's key", 0.3, "S")
    mark = replace(chord.mark, alternatives=(reading,))
    marks = tuple(mark if one.id == mark.id else one for one in document.analysis.marks)
    document = replace(document, analysis=replace(document.analysis, marks=marks))
    document = Reword(mark.id, reading="IV/V").apply(document)
    for form in FORMS:
        texts = [text for _, text, _ in _words(annotate(source, document, form))]
        assert texts[texts.index("IV/V") + 1] == "S"
        assert texts.count("I") == (1 if form == "directions" else 0)


def test_a_label_that_readers_take_for_a_jump_is_written_out() -> None:
    music21 = pytest.importorskip("music21")
    source, document = _open(SONG)
    span = document.score.measures[0].span
    mark = Mark("end", "cadence", span, (), (), "DC", "A deceptive cadence.")
    annotated = annotate(source, replace(document, own_marks=(mark,)))
    assert "deceptive cadence" in [text for _, text, _ in _words(annotated)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream = music21.converter.parse(annotated.decode(), format="musicxml")
    assert not stream.flatten().getElementsByClass("RepeatExpression")


def test_a_section_that_the_user_renamed_is_written_beside_the_source_s_name() -> None:
    named = SONG.replace(
        b'<measure number="1">',
        b'<measure number="1"><direction><direction-type><rehearsal>A</rehearsal>'
        b"</direction-type></direction>",
        1,
    )
    source, document = _open(named)
    section = next(mark for mark in document.marks() if mark.mark.kind == "section")
    before = [text for _, text, _ in _words(annotate(source, document))]
    assert section.label not in before
    document = Reword(section.id, label="Opening").apply(document)
    assert "Opening" in [text for _, text, _ in _words(annotate(source, document))]


def test_notes_named_like_our_additions_stay() -> None:
    content = SONG.replace(b"<note>", f'<note id="{ADDED}1">'.encode(), 1)
    assert content != SONG
    source, document = _open(content)
    assert _canonical(strip(annotate(source, document))) == _canonical(content)
