"""Words under marks: whole words, melismas, words still sung where a mark begins."""

from __future__ import annotations

from analysis.vocabulary.voices import join_words, lead_line, sung_words
from tests.analysis.tunes import study, tune

MELODY = "C5:1=ket- D5:1=-tle E5:1 D5:1=won’t C5:4=sing, r:4 C5:4=now"


def test_syllables_are_joined_and_a_melisma_goes_on() -> None:
    words = sung_words(lead_line(tune(MELODY).parts[0]))
    assert [word.text if word else "" for word in words] == [
        "kettle", "kettle", "kettle", "won’t", "sing,", "now"
    ]  # fmt: skip
    assert join_words(words) == "kettle won’t sing, now"
    assert join_words(words[:5]) == "kettle won’t sing"
    assert join_words(words, most=2) == "kettle won’t …"


def test_every_mark_has_the_words_of_its_place() -> None:
    analysis = study(tune(MELODY, "C:4 G7:4 F:4 C:4"))
    chords = [mark.words for mark in analysis.marks if mark.kind == "chord"]
    assert chords == ["kettle won’t", "sing", "", "now"]


def test_a_note_after_a_rest_carries_no_word_on() -> None:
    words = sung_words(lead_line(tune("C5:1=one r:1 D5:1 E5:1=two").parts[0]))
    assert [word.text if word else "" for word in words] == ["one", "", "two"]
