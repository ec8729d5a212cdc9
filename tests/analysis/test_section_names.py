"""Letters and likely names, from what is known of each section."""

from __future__ import annotations

import pytest

from analysis.form.section_names import Stretch, letters_by_content, name_sections, share_letters


def stretches(*sections: tuple[str, int, str]) -> tuple[list[Stretch], list[str]]:
    """Sections as letter, length and words; no words and a dash for silence."""
    row, letters, at = [], [], 0
    for letter, length, words in sections:
        silent = 1.0 if words == "-" else 0.0
        row.append(Stretch(range(at, at + length), tuple(words.strip("-").split()), silent, 60.0))
        letters.append(letter)
        at += length
    return row, letters


def names(*sections: tuple[str, int, str]) -> list[str]:
    row, letters = stretches(*sections)
    same = [[float(one == two) for one in letters] for two in letters]
    return [one.name for one in name_sections(row, letters, lambda a, b: same[a][b])]


def test_words_tell_verse_from_chorus() -> None:
    assert names(
        ("A", 4, "-"),
        ("B", 8, "one two three"),
        ("C", 8, "la li lo"),
        ("B", 8, "four five six"),
        ("C", 8, "la li lo"),
        ("D", 4, "seven"),
        ("C", 8, "la li lo"),
        ("E", 4, "-"),
    ) == ["Intro", "Verse 1", "Chorus 1", "Verse 2", "Chorus 2", "Bridge", "Chorus 3", "Outro"]


def test_what_leads_to_the_chorus_each_time_is_a_pre_chorus() -> None:
    assert names(
        ("A", 8, "one two three"),
        ("B", 4, "up and up"),
        ("C", 8, "la li lo"),
        ("A", 8, "four five six"),
        ("B", 4, "up and on"),
        ("C", 8, "la li lo"),
    )[1] == "Pre-chorus 1"  # fmt: skip


def test_without_words_the_earlier_is_the_verse() -> None:
    row = [("A", 8, ""), ("B", 8, ""), ("A", 8, ""), ("B", 8, ""), ("C", 4, "")]
    assert names(*row) == ["Verse 1", "Chorus 1", "Verse 2", "Chorus 2", "Tag"]


def test_a_tag_is_short_against_the_piece() -> None:
    assert names(("A", 8, ""), ("B", 8, ""))[-1] == ""
    assert names(("A", 4, ""), ("B", 4, ""))[-1] == ""
    assert names(("A", 8, ""), ("A", 8, ""), ("B", 4, ""))[-1] == "Tag"


def test_what_comes_once_before_anything_comes_back_has_no_name() -> None:
    assert names(("A", 8, "one"), ("B", 8, "two"), ("C", 16, "three")) == ["", "", ""]


def test_the_only_section_that_comes_back_is_the_verse() -> None:
    assert names(("A", 8, ""), ("A", 8, ""), ("B", 8, "-"), ("A", 8, "")) == [
        "Verse 1", "Verse 2", "Interlude", "Verse 3",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("printed", "letters"),
    [
        (["Verse", "verse 2", "VERSE (guitar)"], "AAA"),
        (["Pre-chorus", "Prechorus 2", "pre chorus", "Chorus"], "AAAB"),
        (["A", "B", "A'", "A2", "C"], "ABAAC"),
        (["Intro", "A", "B", "A"], "CABA"),
        (["1st Verse", "Second verse", "Last Verse"], "AAA"),
        (["", "Verse", ""], "ABA"),
    ],
)
def test_like_names_share_a_letter(printed: list[str], letters: str) -> None:
    assert "".join(share_letters(printed)) == letters


def test_content_decides_by_the_most_alike_before() -> None:
    table = {(0, 1): 0.2, (0, 2): 0.9, (1, 2): 0.6, (0, 3): 0.1, (1, 3): 0.55, (2, 3): 0.2}
    assert letters_by_content(4, lambda one, two: table[one, two]) == ["A", "B", "A", "B"]


def test_more_sections_than_letters() -> None:
    assert letters_by_content(27, lambda one, two: 0.0)[-1] == "A1"
