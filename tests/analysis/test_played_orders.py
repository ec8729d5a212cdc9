"""Chords judged by what is played after them: first and second endings, da capo, Fine.

The rows are four measures or a few, in C, hand-built; expected answers are common practice, no
source.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from analysis.marks import ChordFact
from analysis.vocabulary.wording import chord_sentence
from tests.analysis.rows import numeral
from tests.analysis.tunes import study, tune

SUNG = "C5:4"


def chords(symbols: str, played: str, key: str = "C major") -> tuple[ChordFact, ...]:
    """The facts of chords of a measure each, the measures played in an order of indexes."""
    row = symbols.split()
    score = tune(" ".join([SUNG] * len(row)), " ".join(f"{one}:4" for one in row))
    order = tuple(int(one) for one in played.split())
    return study(replace(score, played=order), key).chords


def test_a_first_ending_goes_back_not_on_into_the_second() -> None:
    # 0 1 2 | first ending 3 | second ending 4 5.
    facts = chords("C F Am G7 E7 Am", "0 1 2 3 0 1 2 4 5")
    assert (facts[3].resolution, facts[3].came) == ("resolves", "C")
    assert "After it the music goes back to C in measure 1." in facts[3].reasons
    assert (numeral(facts[4]), facts[4].resolution) == ("V7/vi", "resolves")


def test_an_applied_dominant_of_a_first_ending_is_deceived_by_the_repeat() -> None:
    facts = chords("F C Am7 E7 G C", "0 1 2 3 0 1 2 4 5")
    assert numeral(facts[3]) == "V7/vi"
    assert (facts[3].expected, facts[3].resolution, facts[3].came) == ("Am", "deceptive", "F")
    assert chord_sentence(facts[3]).endswith("it wants Am, but F takes its place.")


def test_before_two_endings_the_answer_that_comes_home_is_told_and_the_other_beside_it() -> None:
    facts = chords("C F G7 Am C C", "0 1 2 3 0 1 2 4 5")
    assert (facts[2].resolution, facts[2].came) == ("resolves", "C")
    assert "The first time Am follows." in facts[2].reasons


def test_more_passes_outweigh_one_that_comes_home() -> None:
    facts = chords("C F G7 Am C", "0 1 2 3 0 1 2 3 0 1 2 4")
    assert (facts[2].resolution, facts[2].came) == ("deceptive", "Am")
    assert "The third time C follows." in facts[2].reasons


def test_another_numeral_of_another_pass_is_another_reading() -> None:
    # A7 goes to Dm the second time; the first it steps up a tone, as no dominant does.
    facts = chords("C Am A7 G Dm7 G7 C", "0 1 2 3 0 1 2 4 5 6")
    assert numeral(facts[2]) == "V7/ii"
    assert facts[2].resolution == "resolves"
    told = [*facts[2].reasons, *(one.reason for one in facts[2].alternatives)]
    assert any(one == "The first time G follows." for one in told)


def test_a_da_capo_answers_the_last_dominant() -> None:
    facts = chords("Am Dm E7 Am F Dm E7", "0 1 2 3 4 5 6 0 1 2 3", "A minor")
    assert (facts[6].resolution, facts[6].came) == ("resolves", "Am")
    assert "After it the music goes back to Am in measure 1." in facts[6].reasons


def test_at_fine_the_music_ends_the_second_time() -> None:
    facts = chords("C G7 C Am D7 G7", "0 1 2 3 4 5 0 1 2")
    written = chords("C G7 C Am D7 G7", "0 1 2 3 4 5")
    assert facts[2].function == written[2].function == "T"
    assert facts[5].resolution == "resolves"
    assert written[5].resolution == "unresolved"


def test_without_a_jump_nothing_changes() -> None:
    facts = chords("C F G7 Am", "0 1 2 3")
    assert facts[2].resolution == "deceptive"
    assert not any("time" in reason for fact in facts for reason in fact.reasons)


def test_a_repeat_of_the_whole_agrees_with_itself() -> None:
    facts = chords("C F G7 C", "0 1 2 3 0 1 2 3")
    assert facts == chords("C F G7 C", "0 1 2 3")


def test_a_chord_held_into_the_place_jumped_to_is_heard_there() -> None:
    score = tune(" ".join([SUNG] * 4), "C:8 F:4 G7:4")
    facts = study(replace(score, played=(0, 1, 2, 3, 1, 2, 3)), "C major").chords
    assert (facts[2].resolution, facts[2].came) == ("resolves", "C")


NAMES = ["C", "F", "G", "G7", "Am", "Dm7", "D7", "E7", "A7", "Em", "Bb", "Fm", "Bdim", "C/E"]
#: Measures of a piece, and orders in which they may be played.
ORDERS = [
    (4, "0 1 2 3 0 1 2 3"),
    (6, "0 1 2 3 0 1 2 4 5"),
    (7, "0 1 2 3 1 2 4 1 2 5 6"),
    (8, "0 1 2 3 4 5 6 7 0 1 2 3"),
    (8, "0 1 2 3 2 3 4 5 6 7 0 1 2 3"),
    (8, "0 1 2 3 4 5 0 1 6 7"),
]


def claim(fact: ChordFact) -> tuple[object, ...]:
    return (fact.numeral, fact.function, fact.resolution, fact.expected, fact.came)


@given(order=st.sampled_from(ORDERS), data=st.data())
def test_the_facts_are_those_of_the_piece_written_out(
    order: tuple[int, str], data: st.DataObject
) -> None:
    length, played = order
    row = data.draw(st.lists(st.sampled_from(NAMES), min_size=length, max_size=length))
    places = [int(one) for one in played.split()]
    folded = chords(" ".join(row), played)
    unfolded = chords(
        " ".join(row[at] for at in places), " ".join(str(at) for at in range(len(places)))
    )
    for measure in set(places):
        passes = Counter(
            claim(fact) for fact, at in zip(unfolded, places, strict=True) if at == measure
        )
        assert passes[claim(folded[measure])] == max(passes.values())
