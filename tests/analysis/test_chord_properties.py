"""What holds of numerals and functions whatever the chords: properties over random rows."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.chords import KIND_DEGREES, Chord
from analysis.harmony.chord_facts import find_chord_facts
from analysis.harmony.functions import find_functions
from analysis.harmony.typed_numerals import read_numeral
from analysis.marks import ChordFact, KeyRegion, PlacedChord
from analysis.pitch import MODE_SHIFT, Key, PitchName
from analysis.timebase import Span
from analysis.vocabulary.dominants import ChordInKey, find_dominants
from analysis.vocabulary.numerals import respelled
from analysis.vocabulary.wording import chord_sentence

#: Kinds that name a function or next to nothing.
NAMED = ("pedal", "Tristan", "Neapolitan", "Italian", "French", "German")
KINDS = st.sampled_from([kind for kind in KIND_DEGREES if kind not in NAMED])
#: Roots within reach of C on the line of fifths, basses among the near ones.
CHORDS = st.builds(
    lambda root, kind, bass: Chord(
        PitchName(root), KIND_DEGREES[kind], PitchName(root + bass), kind
    ),
    st.integers(-6, 6),
    KINDS,
    st.sampled_from([0, 0, 0, 4, -3, 1, -2, -1]),
)
ROWS = st.lists(CHORDS, min_size=1, max_size=8)
KEYS = st.builds(
    Key,
    st.integers(-2, 2).map(PitchName),
    st.sampled_from([m for m in MODE_SHIFT if m != "locrian"]),
)


def facts_of(row: list[Chord], key: Key) -> tuple[ChordFact, ...]:
    placed = [
        PlacedChord(Span(Fraction(4 * at), Fraction(4 * at + 4)), chord, f"h{at}", (f"h{at}",))
        for at, chord in enumerate(row)
    ]
    region = KeyRegion(Span(Fraction(0), Fraction(4 * len(row))), key, 1.0)
    return find_chord_facts(placed, [region])


def shifted(chord: Chord, fifths: int) -> Chord:
    return Chord(chord.root + fifths, chord.degrees, chord.bass + fifths, chord.kind)


def said(fact: ChordFact) -> tuple[object, ...]:
    assert fact.numeral is not None
    return (
        fact.numeral.text,
        fact.numeral.applied_to,
        fact.function,
        fact.outside_key,
        fact.resolution,
        fact.tags,
        tuple(reading.label for reading in fact.alternatives),
    )


@settings(max_examples=150, deadline=None)
@given(ROWS, KEYS, st.integers(-7, 7))
def test_transposition_changes_no_numeral_and_no_function(
    row: list[Chord], key: Key, fifths: int
) -> None:
    here = facts_of(row, key)
    there = facts_of([shifted(one, fifths) for one in row], Key(key.tonic + fifths, key.mode))
    assert [said(fact) for fact in here] == [said(fact) for fact in there]


@settings(max_examples=150, deadline=None)
@given(ROWS, KEYS, st.data())
def test_enharmonic_spelling_changes_nothing(
    row: list[Chord], key: Key, data: st.DataObject
) -> None:
    """Chords of the key spelled twelve fifths away get the same numerals and functions."""
    settled = [respelled(one, key.tonic) for one in row]
    # At either end of the range two spellings are as good as each other.
    edges = (-6, -3, 6, 9)
    settled = [one for one in settled if one.root - key.tonic not in edges]
    far = [shifted(one, data.draw(st.sampled_from([-12, 0, 12]))) for one in settled]
    for one, other in zip(settled, far, strict=True):
        assert {tone.pc for tone in one.tones} == {tone.pc for tone in other.tones}
        assert respelled(other, key.tonic) == one
    near, away = facts_of(settled, key), facts_of(far, key)
    assert [said(fact)[:5] for fact in near] == [said(fact)[:5] for fact in away]


@settings(max_examples=150, deadline=None)
@given(CHORDS, KEYS)
def test_reducing_a_chord_to_its_triad_keeps_its_degree(chord: Chord, key: Key) -> None:
    triad = tuple(degree for degree in chord.degrees if degree[0] in (1, 2, 3, 4, 5))
    bare = Chord(chord.root, triad, chord.root, "other")
    whole, reduced = facts_of([chord], key)[0], facts_of([bare], key)[0]
    assert whole.numeral is not None
    assert reduced.numeral is not None
    if whole.numeral.applied_root is None and reduced.numeral.applied_root is None:
        assert (whole.numeral.degree, whole.numeral.alter) == (
            reduced.numeral.degree,
            reduced.numeral.alter,
        )


@settings(max_examples=200, deadline=None)
@given(ROWS, KEYS)
def test_sentences_are_short_and_whole(row: list[Chord], key: Key) -> None:
    for fact in facts_of(row, key):
        sentence = chord_sentence(fact)
        assert len(sentence.split()) < 30
        assert sentence.endswith(".")
        assert fact.reasons
        assert all(reason.endswith(".") for reason in fact.reasons)
        assert 0 < fact.confidence <= 1


@settings(max_examples=200, deadline=None)
@given(ROWS, KEYS)
def test_a_numeral_reads_back_as_its_root(row: list[Chord], key: Key) -> None:
    """What is written can be typed: the same root and bass come back (CT names no root)."""
    for fact, chord in zip(facts_of(row, key), row, strict=True):
        assert fact.numeral is not None
        if fact.numeral.text.startswith(("CT", "It", "Fr", "Ger")):
            continue
        back = read_numeral(fact.numeral.text, key)
        assert back.root.pc == chord.root.pc
        assert back.bass.pc == chord.bass.pc


@given(ROWS, KEYS, st.data())
def test_chords_asked_for_alone_say_what_they_say_in_the_whole_row(
    row: list[Chord], key: Key, data: st.DataObject
) -> None:
    held = [
        ChordInKey(Span(Fraction(4 * at), Fraction(4 * at + 4)), chord, key)
        for at, chord in enumerate(row)
    ]
    start = data.draw(st.integers(0, len(row)))
    asked = range(start, data.draw(st.integers(start, len(row))))
    dominants, blues = find_dominants(held, frozenset()), frozenset[Key]()
    whole = find_functions(held, dominants, blues)
    part = find_functions(held, dominants, blues, asked)
    assert all(role is not None for role in whole)
    for at, role in enumerate(part):
        if at not in asked:
            assert role is None
        elif at + 1 in asked or at + 1 == len(row):
            # The last one asked for may belong to a dominant after it that was not.
            assert role == whole[at]
        else:
            assert role is not None
