"""Numerals and names as the user writes them, over what is kept in one form."""

import re
from dataclasses import replace

import pytest

from analysis.harmony.typed_numerals import read_numeral
from analysis.marks import ChordFact, Reading
from analysis.pitch import Key
from analysis.vocabulary.note_names import read_name_at
from analysis.vocabulary.numerals import Convention
from app.engraving.musictext import set_chord_symbol
from app.engraving.pages import Page, TextShape
from app.review.document import Document
from app.review.edits import Reword
from app.review.writing import Writing, degree_words, in_words, numeral_label, rewritten, written
from app.views.page_names import with_symbols
from tests.app.reviews import SAMPLES, read_sample

GERMAN, DO = Writing(naming="german"), Writing(naming="fixed do")


def chords(document: Document) -> list[ChordFact]:
    return [fact for fact in document.analysis.chords if fact.chord and fact.numeral]


def test_as_it_is_kept_a_document_is_itself() -> None:
    document = read_sample("slow-to-warm")[1]
    assert written(document, Writing(degrees="movable do")) is document


@pytest.mark.parametrize("sample", SAMPLES)
def test_every_convention_means_the_same_chord(sample: str) -> None:
    document = read_sample(sample)[1]
    for convention in (Convention("major"), Convention("mode"), Convention("own", "slash")):
        for fact in chords(document):
            assert fact.chord
            assert fact.numeral
            if re.match("(N|It|Fr|Ger|Cad|CT|sub)", fact.numeral.text):
                continue
            text = numeral_label(fact, convention)
            read = read_numeral(text, fact.key, convention)
            assert {tone.pc for tone in read.tones} == {tone.pc for tone in fact.chord.tones}, text
            assert read.bass.pc == fact.chord.bass.pc


def test_degrees_in_minor_differ_by_what_they_are_counted_from() -> None:
    # Theory notes: VI and VII of natural minor are bVI and bVII of the major scale.
    key = Key.parse("C minor")
    for own, major in (("VII", "bVII"), ("VI", "bVI"), ("III", "bIII")):
        chord = read_numeral(own, key)
        assert read_numeral(major, key, Convention("major")) == chord


def test_sentences_name_notes_in_german() -> None:
    assert in_words("B7 wants Em, but C takes its place.", GERMAN) == (
        "H7 wants Em, but C takes its place."
    )
    assert in_words("The bass falls: B♭ – A – G.", GERMAN) == "The bass falls: B – A – G."
    assert in_words("B♭maj7/D is I⁶ in B♭ major", GERMAN) == "Bmaj7/D is I⁶ in B major"


def test_the_article_is_no_note() -> None:
    assert in_words("A figure is taken up in A major: A fills half of it.", DO) == (
        "A figure is taken up in La major: La fills half of it."
    )
    assert in_words("D is V, DC is an order.", DO) == "Re is V, DC is an order."


@pytest.mark.parametrize("sample", SAMPLES)
def test_no_english_letter_is_left_in_fixed_do(sample: str) -> None:
    shown = written(read_sample(sample)[1], DO)
    for mark in shown.analysis.marks:
        if mark.kind == "chord" and " is " in mark.sentence:
            name = mark.sentence.split(" is ")[0]
            assert read_name_at(name, "fixed do"), mark.sentence


def test_words_of_the_user_are_never_rewritten() -> None:
    document = read_sample("wednesday-table")[1]
    mark = next(mark for mark in document.marks() if mark.label == "V⁷/vi")
    said = Reword(mark.id, label="B means B", sentence="B is what I call it.").apply(document)
    shown = written(said, DO).mark(mark.id)
    assert (shown.label, shown.sentence) == ("B means B", "B is what I call it.")
    assert written(said, DO).mark(mark.id).id == mark.id


def test_readings_are_said_in_the_users_letters() -> None:
    document = read_sample("wednesday-table")[1]
    first = document.analysis.marks[0]
    mark = replace(first, alternatives=(Reading("vi", "It could be B minor."),))
    analysis = replace(document.analysis, marks=(mark, *document.analysis.marks[1:]))
    shown = written(replace(document, analysis=analysis), GERMAN)
    assert shown.analysis.marks[0].alternatives[0].reason == "It could be H minor."


def test_degrees_as_syllables() -> None:
    # Movable do with the tonic as do: common practice, no source.
    said = [degree_words(one, "movable do") for one in ("1", "b3", "3", "#4", "b7")]
    assert said == ["do", "me", "mi", "fi", "te"]
    assert degree_words("b3", "numbers") == "♭3"


def test_chord_symbols_on_the_page_are_set_again() -> None:
    symbol = set_chord_symbol("Bbm7/Db", 40.0, "medium")
    printed = tuple(symbol.shapes(100.0, 50.0, element="h1", role="harm"))
    note = TextShape("n1", "syl", "B", 0.0, 0.0, 30.0)
    page = Page(0, 500.0, 100.0, (*printed, note), (), {"h1": (100.0, 20.0, 60.0, 30.0)})
    shown = with_symbols(page, {"h1": "B♭m7/D♭"}, "german")
    wanted = set_chord_symbol("Bm7/D♭", 40.0, "medium")
    assert shown.shapes[:-1] == tuple(wanted.shapes(100.0, 50.0, element="h1", role="harm"))
    assert shown.shapes[-1] is note
    do = with_symbols(page, {"h1": "B♭m7/D♭"}, "fixed do")
    letters = [shape.text for shape in do.shapes if isinstance(shape, TextShape)]
    assert "".join(letters[:3]) == "Sim"
    assert with_symbols(page, {}, "german").shapes == page.shapes


@pytest.mark.parametrize("sample", SAMPLES)
def test_returns_and_cadences_say_numerals_by_the_users_convention(sample: str) -> None:
    # Every “NAME (NUMERAL)” must be what some chord of the piece is called in this writing.
    document = read_sample(sample)[1]
    for writing in (Writing(Convention("major", "slash")), Writing(Convention("mode"), "german")):
        shown = written(document, writing)
        labels = {numeral_label(fact, writing.convention) for fact in chords(document)}
        seen = 0
        for mark in shown.analysis.marks:
            if mark.kind not in ("repeat", "cadence"):
                continue
            for text in (mark.sentence, *(one.statement for one in mark.evidence)):
                said = re.findall(r"\S+ \((\S+?)\)(?=[\s.,:;])|^\S+ is (\S+)\.$", text)
                for pair in said:
                    seen += 1
                    assert "".join(pair) in labels, text
        assert seen


def test_a_return_in_minor_counts_from_the_major_scale_where_the_user_does() -> None:
    document = read_sample("seven-small-screws")[1]
    shown = written(document, Writing(Convention("major")))
    told = next(mark for mark in shown.analysis.marks if mark.kind == "repeat")
    assert "E♭maj7 (♭VImaj⁷) replaces B♭maj7 (♭IIImaj⁷)" in told.sentence
    german = written(document, Writing(Convention("major"), "german"))
    told = next(mark for mark in german.analysis.marks if mark.kind == "repeat")
    assert told.sentence.startswith("Clarinet in B flat takes up")
    assert "E♭maj7 (♭VImaj⁷) replaces Bmaj7 (♭IIImaj⁷)" in told.sentence


def test_a_cadence_says_the_numerals_that_its_evidence_names() -> None:
    document = read_sample("slow-to-warm")[1]
    cadence = next(mark for mark in document.analysis.marks if mark.kind == "cadence")
    chord, label = "Gm/B♭", "i⁶"
    kept = replace(
        cadence,
        sentence=f"A cadence: V to {label}, and I am no numeral.",
        evidence=(replace(cadence.evidence[0], statement=f"{chord} is {label}."),),
    )
    shown = rewritten(kept, Writing(Convention("own", "slash")), {(chord, label): "i/3"})
    assert shown.sentence == "A cadence: V to i/3, and I am no numeral."
    assert shown.evidence[0].statement == "Gm/B♭ is i/3."
