"""Notes as read: pitch, place, duration, voice, ties, and the score as a whole."""

from __future__ import annotations

import gc
from fractions import Fraction

import pytest

import analysis.reading.scores
from analysis.errors import ReadingError
from analysis.pitch import Pitch
from analysis.reading.scores import read_score
from analysis.reading.sources import source_of
from analysis.timebase import Meter
from tests.analysis.snippets import attributes, document, note, one, read

F = Fraction
REST = note("rest", 16)


def midi(*measures: str) -> list[int | None]:
    return [note.pitch.midi if note.pitch else None for note in one(*measures)]


# --- pitch -----------------------------------------------------------------------------------


def test_a_pitch_keeps_its_spelling() -> None:
    notes = one(attributes() + note("Bb4") + note("A#4") + note("Cb4") + note("F##3"))
    assert [str(note.pitch) for note in notes] == ["Bb4", "A#4", "Cb4", "F##3"]
    assert [note.pitch.midi for note in notes if note.pitch] == [70, 70, 59, 55]


@pytest.mark.parametrize(
    ("alter", "spelled"), [("0.5", "D4"), ("-0.5", "D4"), ("1.5", "D#4"), ("-2", "Dbb4")]
)
def test_quarter_tones_are_rounded_towards_the_letter(alter: str, spelled: str) -> None:
    bent = f"<note><pitch><step>D</step><alter>{alter}</alter><octave>4</octave></pitch>"
    notes = one(attributes() + bent + "<duration>16</duration></note>")
    assert str(notes[0].pitch) == spelled


@pytest.mark.parametrize(
    ("transpose", "sounds"),
    [
        # Written D5 on: clarinets in B flat and A, alto saxophone, horn in F, piccolo, guitar,
        # bass clarinet, trumpet in D; intervals from orchestration practice (no source).
        ("<diatonic>-1</diatonic><chromatic>-2</chromatic>", "C5"),
        ("<diatonic>-2</diatonic><chromatic>-3</chromatic>", "B4"),
        ("<diatonic>-5</diatonic><chromatic>-9</chromatic>", "F4"),
        ("<diatonic>-4</diatonic><chromatic>-7</chromatic>", "G4"),
        ("<diatonic>0</diatonic><chromatic>0</chromatic><octave-change>1</octave-change>", "D6"),
        ("<diatonic>0</diatonic><chromatic>0</chromatic><octave-change>-1</octave-change>", "D4"),
        ("<diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change>", "C4"),
        ("<diatonic>1</diatonic><chromatic>2</chromatic>", "E5"),
        # Half steps alone, as some exporters write them; and steps that contradict them.
        ("<chromatic>-2</chromatic>", "C5"),
        ("<chromatic>-14</chromatic>", "C4"),
        ("<diatonic>0</diatonic><chromatic>-12</chromatic>", "D4"),
    ],
)
def test_transposing_instruments_sound(transpose: str, sounds: str) -> None:
    notes = one(attributes(f"<transpose>{transpose}</transpose>") + note("D5", 16))
    assert str(notes[0].pitch) == sounds


def test_transposition_respells_on_the_line_of_fifths() -> None:
    down = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    notes = one(attributes(down) + note("C4") + note("F#4") + note("Eb4") + note("B3"))
    assert [str(note.pitch) for note in notes] == ["Bb3", "E4", "Db4", "A3"]


def test_transposition_may_change_and_may_belong_to_one_staff() -> None:
    down = "<transpose><chromatic>-2</chromatic></transpose>"
    off = "<attributes><transpose><chromatic>0</chromatic></transpose></attributes>"
    assert midi(attributes(down) + note("D4", 16), off + note("D4", 16)) == [60, 62]
    second = '<transpose number="2"><chromatic>-2</chromatic></transpose>'
    staves = attributes("<staves>2</staves>" + second)
    low = note("D4", 16, "<staff>2</staff>")
    music = staves + note("D4", 16, "<staff>1</staff>") + _backup(16) + low
    assert sorted(midi(music), key=str) == [60, 62]


def test_octave_clefs_change_nothing_since_pitch_sounds_already() -> None:
    clef = "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
    assert midi(attributes(clef) + note("C4", 16)) == [60]


def test_unpitched_notes_slashes_and_crosses_have_no_pitch() -> None:
    cross = note("E4", 4, "<notehead>x</notehead>")
    slash = note("B4", 4, "<notehead>slash</notehead>")
    half = note("C4", 4, "<notehead>diamond</notehead>")
    assert midi(attributes() + note("unpitched") + cross + slash + half) == [None, None, None, 60]


def test_notes_in_measures_of_slashes_have_no_pitch() -> None:
    def slashes(kind: str, staff: str = "") -> str:
        style = f'<measure-style {staff}><slash type="{kind}"/></measure-style>'
        return f"<attributes>{style}</attributes>"

    whole = note("B4", 16)
    music = [attributes() + slashes("start") + whole, whole, slashes("stop") + whole]
    assert midi(*music) == [None, None, 71]
    assert midi(attributes() + slashes("start", 'number="2"') + whole) == [71]


def test_a_part_of_unpitched_notes_is_percussion() -> None:
    score = read([attributes() + note("unpitched", 16)], [attributes() + note("C4", 16)])
    assert [part.percussion for part in score.parts] == [True, False]


# --- place and duration ----------------------------------------------------------------------


def test_triplets_add_up() -> None:
    three = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
    notes = one(
        attributes(divisions=6, time="2/4")
        + note("C4", 2, "<type>eighth</type>" + three + "</time-modification>") * 3
        + note("D4", 6)
    )
    assert [note.onset for note in notes] == [0, F(1, 3), F(2, 3), 1]
    assert {note.duration for note in notes[:3]} == {F(1, 3)}


@pytest.mark.parametrize(
    ("divisions", "ticks", "actual", "normal", "kind"),
    [
        (256, (85, 85, 86), 3, 2, "eighth"),
        (480, (69, 68, 69, 69, 68, 69, 68), 7, 4, "16th"),
        (4, (1, 2, 1), 3, 2, "eighth"),
    ],
)
def test_rounded_tuplets_add_up_too(
    divisions: int, ticks: tuple[int, ...], actual: int, normal: int, kind: str
) -> None:
    ratio = (
        f"<type>{kind}</type><time-modification><actual-notes>{actual}</actual-notes>"
        f"<normal-notes>{normal}</normal-notes></time-modification>"
    )
    run = "".join(note("C4", tick, ratio) for tick in ticks)
    notes = one(attributes(divisions=divisions, time="2/4") + run + note("D4", divisions))
    step = F(1, actual)
    assert [note.onset for note in notes] == [step * place for place in range(actual)] + [1]
    assert {note.duration for note in notes[:-1]} == {step}


def test_rounded_triplets_of_chords_and_rests() -> None:
    ratio = (
        "<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
        "<normal-notes>2</normal-notes></time-modification>"
    )
    notes = one(
        attributes(divisions=256, time="2/4")
        + note("rest", 85, ratio)
        + note("C4", 85, ratio)
        + note("E4", 85, ratio, chord=True)
        + note("G4", 86, ratio)
        + note("C5", 256, "<type>quarter</type>")
    )
    assert [(str(note.pitch), note.onset, note.duration) for note in notes] == [
        ("C4", F(1, 3), F(1, 3)),
        ("E4", F(1, 3), F(1, 3)),
        ("G4", F(2, 3), F(1, 3)),
        ("C5", F(1), F(1)),
    ]


def test_a_rounded_tuplet_that_breaks_off_moves_nothing_after_it() -> None:
    ratio = (
        "<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
        "<normal-notes>2</normal-notes></time-modification>"
    )
    triplets = note("C4", 85, ratio) * 2
    notes = one(attributes(divisions=256, time="2/4") + triplets + note("D4", 256))
    assert notes[-1].onset == F(170, 256)


def test_chord_members_keep_their_ids_and_sort_from_the_lowest_up() -> None:
    notes = one(
        attributes()
        + note("G4", 8, attributes='id="top"')
        + note("C4", 8, chord=True)
        + note("E4", 8, chord=True)
        + note("D4", 8)
    )
    assert [(note.id, str(note.pitch), float(note.onset)) for note in notes] == [
        ("p1m1n2", "C4", 0),
        ("p1m1n3", "E4", 0),
        ("top", "G4", 0),
        ("p1m1n4", "D4", 2),
    ]


def _backup(ticks: int) -> str:
    return f"<backup><duration>{ticks}</duration></backup>"


def test_voices_and_staves_of_one_part() -> None:
    music = (
        attributes("<staves>2</staves>")
        + note("C5", 8, "<voice>1</voice><staff>1</staff>")
        + note("D5", 8, "<voice>1</voice><staff>1</staff>")
        + _backup(16)
        + "<forward><duration>4</duration></forward>"
        + note("G4", 12, "<voice>2</voice><staff>1</staff>")
        + _backup(16)
        + note("C3", 16, "<voice>5</voice><staff>2</staff>")
    )
    score = read([music])
    assert len(score.parts) == 1
    assert score.parts[0].staves == 2
    placed = [(str(n.pitch), float(n.onset), n.voice, n.staff) for n in score.parts[0].notes]
    assert placed == [
        ("C3", 0, "5", 2),
        ("C5", 0, "1", 1),
        ("G4", 1, "2", 1),
        ("D5", 2, "1", 1),
    ]


def test_a_chord_member_without_a_voice_has_that_of_its_chord() -> None:
    first = note("C4", 16, "<voice>3</voice>")
    notes = one(attributes() + first + note("E4", 16, chord=True))
    assert [note.voice for note in notes] == ["3", "3"]


def test_a_chord_with_something_in_between_is_still_a_chord() -> None:
    between = "<direction><direction-type><words>slow</words></direction-type></direction>"
    notes = one(attributes() + note("C4", 16) + between + note("E4", 16, chord=True))
    assert [note.onset for note in notes] == [0, 0]


def test_ties_are_marked_on_both_ends_and_curves_will_do() -> None:
    both = '<tie type="stop"/><tie type="start"/>'
    curve = '<notations><tied type="stop"/></notations>'
    notes = one(
        attributes() + note("C4", 8, '<tie type="start"/>') + note("C4", 8, both),
        note("C4", 8, curve) + note("D4", 8),
    )
    ends = [(note.tie_start, note.tie_stop) for note in notes]
    assert ends == [(True, False), (True, True), (False, True), (False, False)]


def test_grace_notes_come_first_in_their_own_order_and_take_no_time() -> None:
    notes = one(
        attributes()
        + note("C4", 8)
        + note("F4", None, "<type>eighth</type>", first="<grace/>")
        + note("E4", None, first="<grace/>")
        + note("A4", None, first="<grace/>", chord=True)
        + note("D4", 8)
    )
    placed = [(str(n.pitch), float(n.onset), float(n.duration), n.grace) for n in notes]
    assert placed == [
        ("C4", 0, 2, False),
        ("F4", 2, 0, True),
        ("E4", 2, 0, True),
        ("A4", 2, 0, True),
        ("D4", 2, 2, False),
    ]


def test_cue_notes_are_marked() -> None:
    cue = note("C4", 8, first="<cue/>")
    assert [note.cue for note in one(attributes() + cue + note("D4", 8))] == [True, False]


def test_notes_that_are_not_printed_are_left_out_and_move_nothing() -> None:
    hidden = note("C4", 8, attributes='print-object="no"')
    notes = one(attributes() + hidden + note("E4", 8, chord=True) + note("D4", 8))
    assert [(str(note.pitch), float(note.onset)) for note in notes] == [("E4", 0), ("D4", 2)]


def test_divisions_may_change_within_a_measure() -> None:
    finer = "<attributes><divisions>8</divisions></attributes>"
    notes = one(attributes() + note("C4", 4) + finer + note("D4", 8) + note("E4", 4))
    assert [(float(note.onset), float(note.duration)) for note in notes] == [
        (0, 1),
        (1, 1),
        (2, 0.5),
    ]


def test_divisions_that_are_missing_are_found_from_a_note() -> None:
    notes = one(note("C4", 24, "<type>quarter</type>") + note("D4", 12, "<type>eighth</type>"))
    assert [(float(note.onset), float(note.duration)) for note in notes] == [(0, 1), (1, 0.5)]


def test_a_duration_that_is_missing_is_the_printed_one() -> None:
    notes = one(attributes() + note("C4", None, "<type>half</type><dot/>") + note("D4", 4))
    assert [(float(note.onset), float(note.duration)) for note in notes] == [(0, 3), (3, 1)]


def test_a_part_of_many_measures() -> None:
    notes = one(attributes() + note("C4", 16), *[note("D4", 16)] * 249)
    assert [float(note.onset) for note in notes] == [4.0 * place for place in range(250)]
    assert [str(note.pitch) for note in notes] == ["C4"] + ["D4"] * 249


# --- the score as a whole --------------------------------------------------------------------


def test_title_composer_parts_and_instruments() -> None:
    head = (
        "<work><work-title>  Night\nferry </work-title></work><identification>"
        '<creator type="lyricist">A</creator><creator type="composer">B</creator></identification>'
    )
    listed = [
        "<part-name>Voice</part-name><part-abbreviation>V.</part-abbreviation>"
        '<score-instrument id="I1"><instrument-name>Alto</instrument-name></score-instrument>'
        '<midi-instrument id="I1"><midi-channel>1</midi-channel>'
        "<midi-program>53</midi-program></midi-instrument>",
        '<part-name/><midi-instrument id="I2"><midi-channel>10</midi-channel></midi-instrument>',
    ]
    music = [attributes() + note("C4", 16)]
    score = read(music, music, head=head, listed=listed)
    assert (score.title, score.composer) == ("Night ferry", "B")
    voice, drums = score.parts
    assert (voice.id, voice.name, voice.abbreviation) == ("P1", "Voice", "V.")
    assert (voice.instrument, voice.midi_program, voice.percussion) == ("Alto", 52, False)
    assert (drums.name, drums.midi_program, drums.percussion) == ("P2", None, True)


def test_a_title_may_stand_on_the_page_alone() -> None:
    credit = "<credit><credit-type>title</credit-type><credit-words>Tide</credit-words></credit>"
    assert read([attributes() + note("C4", 16)], head=credit).title == "Tide"


def test_the_collector_is_held_only_while_reading() -> None:
    assert gc.isenabled()
    one(attributes() + note("C4", 16))
    assert gc.isenabled()
    with pytest.raises(ReadingError):
        one(attributes() + note("C4", 10**9))
    assert gc.isenabled()


@pytest.mark.parametrize(
    ("broken", "words"),
    [
        ("<pitch><step>H</step><octave>4</octave></pitch><duration>4</duration>", "pitch"),
        ("<pitch><step>C</step></pitch><duration>4</duration>", "pitch"),
        ("<pitch><step>C</step><alter>44</alter><octave>4</octave></pitch>", "pitch"),
        ("<pitch><step>C</step><alter>nan</alter><octave>4</octave></pitch>", "pitch"),
        ("<pitch><step>C</step><alter>1e999</alter><octave>4</octave></pitch>", "pitch"),
        ("<rest/><duration>99999999</duration>", "duration"),
        ("<rest/><duration>1e40</duration>", "duration"),
    ],
)
def test_what_cannot_be_music_is_named_by_measure(broken: str, words: str) -> None:
    with pytest.raises(ReadingError, match=f"Measure 2 holds a {words}"):
        read([attributes() + note("C4", 16), f"<note>{broken}</note>"])


def test_a_measure_without_a_number_is_counted() -> None:
    with pytest.raises(ReadingError, match="Measure 2 holds a pitch"):
        read([attributes() + note("C4", 16), "@@<note><pitch/></note>"])


@pytest.mark.parametrize("text", ["-4", "x", "", "0"])
def test_durations_without_sense_take_no_time(text: str) -> None:
    odd = f"<note><rest/><duration>{text}</duration></note>"
    assert [note.onset for note in one(attributes() + odd + note("C4", 16))] == [0]


def test_whatever_music21_raises_is_a_named_error(monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken:
        stream = None

        def xmlRootToScore(self, *_: object) -> None:
            raise RecursionError("too deep")

    monkeypatch.setattr(analysis.reading.scores, "MusicXMLImporter", Broken)
    source = source_of(document([attributes() + note("C4", 16)]), "a.musicxml")
    with pytest.raises(ReadingError, match="The music in “a") as raised:
        read_score(source)
    assert raised.value.details == "RecursionError: too deep"


def test_measures_and_meter_of_a_score_of_rests_and_one_note() -> None:
    score = read([attributes(time="3/4") + note("C4", 12), REST])
    assert [measure.length for measure in score.measures] == [3, 3]
    assert score.measures[1].meter == Meter(3, 4)
    assert score.parts[0].notes[0].pitch == Pitch.parse("C4")


def test_a_pitch_that_cannot_be_read_is_told_on_one_line() -> None:
    broken = document([attributes() + note("A4", 16).replace("<step>A", "<step>\t\n\x7fA9")])
    with pytest.raises(ReadingError, match=r"Measure 1 holds a pitch .*\(A9 4\)"):
        read_score(source_of(broken, "song.xml"))
