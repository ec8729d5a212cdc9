"""What became of dominants: resolved, deceived, delayed, interrupted, left open; in all keys.

Rows are written in C and moved along the line of fifths. Where a row names no source it is common
practice in pop and jazz teaching, no source; OMT is Open Music Theory v1.
"""

from __future__ import annotations

import pytest

from analysis.vocabulary.wording import chord_sentence
from tests.analysis.rows import SHIFTS, facts, moved, numeral

#: Row, index of the dominant, what became of it, the chord that came.
RESOLUTIONS = [
    ("C F G7 C", 2, "resolves", "C"),
    ("C F G7 C/E", 2, "resolves", "C/E"),
    # OMT *cadenceTypes* (from memory): V–vi and V–bVI deceive.
    ("C F G7 Am", 2, "deceptive", "Am"),
    ("C F G7 Ab", 2, "deceptive", "A♭"),
    ("C E7 F C", 1, "deceptive", "F"),
    ("C A7 Bb C", 1, "deceptive", "B♭"),
    ("C B7 C G", 1, "deceptive", "C"),
    # Another chord, the minor triad on the same root, or the dominant's own ii comes between.
    ("C G7 F C", 1, "delayed", "F"),
    ("C G7 Bb C", 1, "delayed", "B♭"),
    ("C G7 Dm7 G7 C", 1, "delayed", "Dm7"),
    ("C D7 F G7 C", 1, "delayed", "F"),
    ("C D7 Dm7 G7 C", 1, "delayed", "Dm7"),
    ("C E7 Bm7b5 E7 Am", 1, "delayed", "Bø7"),
    ("F F#dim7 C/G G7 C", 1, "delayed", "C/G"),
    # Silence comes between.
    ("C G7 N.C. C", 1, "interrupted", "C"),
    ("C A7 N.C. Dm G7 C", 1, "interrupted", "Dm"),
    # Never.
    ("C D7 F C", 1, "unresolved", "F"),
    ("C G7 N.C. F C", 1, "unresolved", ""),
    ("C F G7", 2, "unresolved", ""),
    ("C Am E7 G", 2, "unresolved", "G"),
]


@pytest.mark.parametrize(("row", "at", "resolution", "came"), RESOLUTIONS)
def test_what_became_of_a_dominant(row: str, at: int, resolution: str, came: str) -> None:
    for fifths in SHIFTS:
        assert moved(row, "C major", fifths)[at].resolution == resolution
    fact = facts(row, "C major")[at]
    assert fact.came == came
    sentence = chord_sentence(fact)
    assert fact.expected
    assert came in sentence
    assert len(sentence.split()) < 30


def test_a_silence_is_said() -> None:
    fact = facts("C G7 N.C. C", "C major")[1]
    assert chord_sentence(fact).endswith("it wants C, breaks off, and C comes after the silence.")
    assert "Silence comes between it and C." in fact.reasons


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize("symbol", ["F/G", "Dm7/G", "Fmaj7/G"])
def test_a_subdominant_over_the_fifth_degree_is_a_suspended_dominant(
    symbol: str, fifths: int
) -> None:
    """Charts write V9sus4 as IV over 5; the subdominant stays as the other reading."""
    alone = moved(f"C {symbol} C", "C major", fifths)[1]
    assert (alone.function, alone.resolution) == ("D", "resolves")
    assert alone.alternatives[0].function == "S"
    before_five = moved(f"C {symbol} G7 C", "C major", fifths)[1]
    assert (before_five.function, before_five.resolution) == ("D", "resolves")


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("C Fdim7 C", "viio43"),
        ("C Ddim7 C", "viio65"),
        ("C Bdim7 Am", "viio65/vi"),
        ("F Ebdim7 G", "viio42/V"),
        ("C Bdim7 C", "viio7"),
    ],
)
def test_a_diminished_seventh_has_the_root_that_leads_on(
    row: str, expected: str, fifths: int
) -> None:
    """Its tones lie a minor third apart [derived], so a symbol may name any of them."""
    fact = moved(row, "C major", fifths)[1]
    assert (numeral(fact), fact.function, fact.resolution) == (expected, "D", "resolves")


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("row", "expected"),
    [("C C/Bb F/A", "V42/IV"), ("C D/C G/B", "V42/V"), ("C G/F C/E", "V42"), ("C C/Bb Am", "I/b7")],
)
def test_a_major_triad_over_its_seventh_is_that_seventh_chord_where_it_falls_a_fifth(
    row: str, expected: str, fifths: int
) -> None:
    assert numeral(moved(row, "C major", fifths)[1]) == expected


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("row", "expected"),
    [
        # Theory notes, *Ready values*: iiø or ii before a minor target, ii before a major one.
        ("C Gm7 C7 F", "ii7/IV"),
        ("C Em7b5 A7 Dm", "iiø7/ii"),
        ("C F#m7b5 B7 Em", "iiø7/iii"),
        ("C F#m7 B7 Em", "ii7/iii"),
        ("C Bm7 E7 Am", "ii7/vi"),
        ("C Fm7 Bb7 Eb", "ii7/bIII"),
    ],
)
def test_the_related_two_of_an_applied_dominant(row: str, expected: str, fifths: int) -> None:
    fact = moved(row, "C major", fifths)[1]
    assert (numeral(fact), fact.function) == (expected, "S")
    assert "related ii" in fact.tags


@pytest.mark.parametrize("fifths", SHIFTS)
def test_a_related_two_that_is_in_the_key_offers_the_applied_reading(fifths: int) -> None:
    fact = moved("C Am7 D7 G7", "C major", fifths)[1]
    assert numeral(fact) == "vi7"
    assert "ii⁷/V" in {one.label for one in fact.alternatives}


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("row", "at", "resolution"),
    [
        ("C G7 Bdim7 C", 1, "resolves"),
        ("C Bdim G7 C", 1, "resolves"),
        ("C Bdim G7 Am", 1, "deceptive"),
        ("C G7 Gm Am", 1, "unresolved"),
        ("C G7 A7 Dm", 1, "unresolved"),
    ],
)
def test_what_is_handed_on_and_what_gives_up(
    row: str, at: int, resolution: str, fifths: int
) -> None:
    """Another dominant of the same target is no delay, an applied one no deception."""
    assert moved(row, "C major", fifths)[at].resolution == resolution


@pytest.mark.parametrize("fifths", SHIFTS)
@pytest.mark.parametrize(
    ("row", "expected", "others"),
    [
        # Theory notes, *Ready values*: pairs that only the continuation decides; each keeps the
        # readings that another continuation would have made the first.
        ("C Bb7 C", "bVII7", {"subV⁷/vi"}),
        ("C Bb7 Am", "subV7/vi", {"♭VII⁷"}),
        ("C Bb7 Eb", "V7/bIII", {"♭VII⁷"}),
        ("C Bb7 F", "bVII7", {"♭VII⁷", "subV⁷/vi"}),
        ("C F7 C", "IV7", {"subV⁷/iii"}),
        ("C F7 Em", "subV7/iii", {"IV⁷"}),
        ("C Ab7 G", "subV7/V", {"Ger⁶₅"}),
        ("C Ab7 C/G G", "Ger65", {"subV⁷/V"}),
        ("C Ab7 C", "bVI7", {"subV⁷/V"}),
        ("C Db7 C", "subV7", {"V⁷(♭⁵)"}),
        ("C Db7 Gb", "bII7", {"subV⁷"}),
        ("C C7 F", "V7/IV", {"I⁷"}),
        ("C D F C", "II", {"V/V"}),
    ],
)
def test_both_readings_of_chords_that_only_the_continuation_decides(
    row: str, expected: str, others: set[str], fifths: int
) -> None:
    fact = moved(row, "C major", fifths)[1]
    assert numeral(fact) == expected
    assert others <= {one.label for one in fact.alternatives}


@pytest.mark.parametrize(
    ("row", "deciding"),
    [("C Bb7 C", "C"), ("C Bb7 Am", "Am"), ("C F7 Em", "Em"), ("C Ab7 G", "G"), ("C Db7 C", "C")],
)
def test_the_reason_names_the_chord_that_decided(row: str, deciding: str) -> None:
    assert any(one.startswith(f"{deciding} decides") for one in facts(row, "C major")[1].reasons)


@pytest.mark.parametrize("fifths", SHIFTS)
def test_four_has_a_function_by_what_follows(fifths: int) -> None:
    """OMT *popRockHarmony*: IV in pop depends on context; bVII–IV–I after Everett 2004."""
    home, ready = (moved(f"C F {after}", "C major", fifths)[1] for after in ("C", "G C"))
    assert "plagal" in home.tags
    assert "to the dominant" in ready.tags
    assert "double plagal" in moved("C Bb F C", "C major", fifths)[1].tags
    assert "double plagal" not in moved("C Bb F G C", "C major", fifths)[1].tags
    assert "getting ready" in chord_sentence(ready)


@pytest.mark.parametrize("fifths", SHIFTS)
def test_the_backdoor_pair(fifths: int) -> None:
    pair = moved("C Fm7 Bb7 C", "C major", fifths)[1:3]
    assert [numeral(fact) for fact in pair] == ["iv7", "bVII7"]
    assert [fact.function for fact in pair] == ["S", "D"]
    assert "backdoor pair" in pair[0].tags
