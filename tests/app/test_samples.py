"""The sample scores: valid MusicXML, what the composing script writes, every feature planted."""

from __future__ import annotations

import json
import re
from collections import Counter, defaultdict
from fractions import Fraction
from pathlib import Path
from typing import Any

import music21
import pytest
from lxml import etree

from sample_scores import compose
from sample_scores.shorthand import Pitch, read_pitch

FOLDER = compose.FOLDER
SCHEMA = Path(__file__).parents[3] / "shared" / "musicxml-schema" / "musicxml.xsd"
STEMS = [piece.stem for piece in compose.PIECES]


@pytest.fixture(scope="module")
def planted() -> dict[str, Any]:
    content: dict[str, Any] = json.loads((FOLDER / "planted.json").read_text(encoding="utf-8"))
    return content


def _tree(stem: str) -> etree._ElementTree:
    return etree.parse(FOLDER / f"{stem}.musicxml")


def test_there_are_four_and_no_other() -> None:
    assert sorted(path.stem for path in FOLDER.glob("*.musicxml")) == sorted(STEMS)
    assert len(STEMS) == 4


@pytest.mark.parametrize("name", sorted(compose.compose()))
def test_composing_again_gives_the_same_bytes(name: str) -> None:
    assert compose.compose()[name] == (FOLDER / name).read_bytes()


@pytest.mark.skipif(not SCHEMA.exists(), reason="the MusicXML schema is not beside the project")
@pytest.mark.parametrize("stem", STEMS)
def test_valid_against_the_musicxml_4_schema(stem: str) -> None:
    schema = etree.XMLSchema(etree.parse(SCHEMA))
    schema.assertValid(_tree(stem))


@pytest.mark.parametrize("stem", STEMS)
def test_no_id_but_on_parts_and_instruments(stem: str) -> None:
    carriers = {element.tag for element in _tree(stem).iterfind(".//*[@id]")}
    assert carriers == {"score-part", "part", "score-instrument", "midi-instrument"}


@pytest.mark.parametrize("stem", STEMS)
def test_every_voice_fills_its_measures(stem: str) -> None:
    piece = next(piece for piece in compose.PIECES if piece.stem == stem)
    for measure in _tree(stem).iterfind(".//measure"):
        filled: Counter[str] = Counter()
        for note in measure.iterfind("note"):
            if note.find("chord") is None:
                filled[note.findtext("voice", "")] += int(note.findtext("duration", "0"))
        expected = piece.length(int(measure.get("number", "")))
        assert set(filled.values()) == {expected}, measure.get("number")


@pytest.mark.parametrize("stem", STEMS)
def test_music21_reads_all_of_it(stem: str, planted: dict[str, Any]) -> None:
    expected = planted["scores"][stem]
    score = music21.converter.parse(FOLDER / f"{stem}.musicxml")
    assert isinstance(score, music21.stream.Score)
    assert score.metadata.bestTitle == expected["title"]
    written = expected["measures"] + bool(expected["pickup_beats"])
    for part in score.parts:
        assert len(part.getElementsByClass("Measure")) == written
    symbols = score.parts[0].recurse().getElementsByClass(music21.harmony.ChordSymbol)
    places = [(symbol.measureNumber, _beat(symbol)) for symbol in symbols]
    assert places == [(int(row["measure"]), row["beat"]) for row in expected["chords"]]
    roots = [symbol.root().name.replace("-", "b") for symbol in symbols]
    assert roots == [row["root"] for row in expected["chords"]]
    basses = [symbol.bass().name.replace("-", "b") for symbol in symbols]
    assert basses == [row["bass"] for row in expected["chords"]]


def _beat(symbol: Any) -> float:
    return float(Fraction(symbol.getOffsetInHierarchy(symbol.getContextByClass("Measure")))) + 1


def test_keys_are_neither_c_nor_d(planted: dict[str, Any]) -> None:
    tonics = {key["tonic"] for score in planted["scores"].values() for key in score["keys"]}
    assert tonics
    assert not tonics & {"C", "D"}


def test_every_feature_is_planted_and_no_piece_has_more_than_half(planted: dict[str, Any]) -> None:
    held: dict[str, set[str]] = defaultdict(set)
    for row in planted["planted"]:
        held[row["score"]].add(row["feature"])
    assert set().union(*held.values()) == set(planted["features"]) == set("abcdefghijkl")
    assert set(held) == set(STEMS)
    for stem, features in held.items():
        assert 2 * len(features) <= len(planted["features"]), stem


def test_places_lie_in_the_piece(planted: dict[str, Any]) -> None:
    for row in planted["planted"]:
        score = planted["scores"][row["score"]]
        parts = [node.text for node in _tree(row["score"]).iterfind(".//part-name")]
        assert 0 <= int(row["measure"]) <= score["measures"], row
        assert 1 <= row["beat"] < score["beats"] + 1, row
        assert row["part"] in ["", *parts], row


def test_a_feature_of_the_chord_symbols_stands_at_a_chord_symbol(planted: dict[str, Any]) -> None:
    for row in planted["planted"]:
        places = {(c["measure"], c["beat"]) for c in planted["scores"][row["score"]]["chords"]}
        if row["feature"] in "bcdefghl":
            assert (row["measure"], row["beat"]) in places, row


def test_the_readme_has_the_same_tables(planted: dict[str, Any]) -> None:
    text = (FOLDER / "README.md").read_text(encoding="utf-8").replace("\\|", "¦")
    rows = re.findall(r"^\| ([a-l]) \| (\d+) \| ([\d.]+) \| (.*?) ?\| (.*) \|$", text, re.MULTILINE)
    assert [(f, m, float(b), p, what.replace("¦", "|")) for f, m, b, p, what in rows] == [
        (row["feature"], row["measure"], row["beat"], row["part"], row["detail"])
        for row in planted["planted"]
    ]


def test_the_same_numeral_means_the_same_chord(planted: dict[str, Any]) -> None:
    # A slip of the hand in the numerals would show as one numeral for two chords of a key.
    meant: dict[tuple[str, str, str], set[tuple[str, str]]] = defaultdict(set)
    for score in planted["scores"].values():
        for row in score["chords"]:
            key = (row["key"]["tonic"], row["key"]["mode"], row["numeral"])
            meant[key].add((row["root"], row["bass"]))
    assert {key: chords for key, chords in meant.items() if len(chords) > 1} == {}


def test_applied_dominants_stand_a_fifth_above_their_target(planted: dict[str, Any]) -> None:
    rows = [row for score in planted["scores"].values() for row in score["chords"]]
    applied = [row for row in rows if row["numeral"].startswith("V") and row["applied_root"]]
    assert len(applied) >= 10
    for row in applied:
        target = read_pitch(f"{row['applied_root']}4")
        fifth = target.moved(4, 7)
        assert (fifth.step, fifth.alter) == _name(row["root"]), row


def _name(text: str) -> tuple[str, int]:
    pitch = read_pitch(f"{text}4")
    return pitch.step, pitch.alter


Sung = tuple[Fraction, Fraction, str, int]
"""Onset in quarter notes from the first measure asked for, length, name, octave."""


def _line(stem: str, part: str, first: int, last: int, voice: str = "1") -> list[Sung]:
    # Read from the file, so that it can contradict the shorthand; written octave, ties joined.
    tree = _tree(stem)
    ids = {node.findtext("part-name"): node.get("id") for node in tree.iterfind(".//score-part")}
    (written,) = (node for node in tree.iterfind("part") if node.get("id") == ids[part])
    line: list[Sung] = []
    start = Fraction(0)
    for measure in written.iterfind("measure"):
        if not first <= int(measure.get("number", "")) <= last:
            continue
        onset = start
        for note in measure.iterfind("note"):
            length = Fraction(int(note.findtext("duration", "0")), 12)
            if note.findtext("voice") != voice:
                continue
            if note.find("pitch") is not None and note.find("chord") is None:
                _lengthen(line, note, onset, length)
            onset += 0 if note.find("chord") is not None else length
        start = onset
    return line


def _lengthen(line: list[Sung], note: etree._Element, onset: Fraction, length: Fraction) -> None:
    signs = {"": "", "1": "#", "-1": "b"}[note.findtext("pitch/alter", "")]
    name = note.findtext("pitch/step", "") + signs
    if line and any(tie.get("type") == "stop" for tie in note.iterfind("tie")):
        line[-1] = (line[-1][0], line[-1][1] + length, *line[-1][2:])
    else:
        line.append((onset, length, name, int(note.findtext("pitch/octave", "0"))))


def test_the_lowered_thirds_are_sung_and_the_natural_ones_follow(planted: dict[str, Any]) -> None:
    rows = [row for row in planted["planted"] if row["feature"] == "a"]
    assert rows
    for row in rows:
        line = _line(row["score"], row["part"], int(row["measure"]), int(row["measure"]))
        place = [onset for onset, *_ in line].index(Fraction(row["beat"]) - 1)
        assert [name for *_, name, _ in line[place : place + 2]] == ["G", "G#"]


@pytest.mark.parametrize(
    ("stem", "first", "later", "count"),
    [
        ("wednesday-table", 5, 22, 3),
        ("slow-to-warm", 1, 17, 4),
        ("slow-to-warm", 5, 21, 2),
        ("kettle-wont-sing", 5, 17, 2),
    ],
)
def test_the_phrases_return_over_other_chords(
    planted: dict[str, Any], stem: str, first: int, later: int, count: int
) -> None:
    assert _line(stem, "Voice", first, first + count - 1) == _line(
        stem, "Voice", later, later + count - 1
    )
    rows = planted["scores"][stem]["chords"]
    under = [
        [row["symbol"] for row in rows if start <= int(row["measure"]) < start + count]
        for start in (first, later)
    ]
    assert under[0] != under[1]


def test_the_inner_voice_of_the_ballad_falls_by_half_steps() -> None:
    line = _line("slow-to-warm", "Piano", 1, 5, voice="2")
    assert [name for *_, name, _ in line] == ["Eb", "D", "Db", "C", "Cb", "Bb"]


@pytest.mark.parametrize(
    ("stem", "part", "sung", "answered", "count", "octaves"),
    [
        ("wednesday-table", "Guitar", 41, 42, 3, -1),
        ("kettle-wont-sing", "Guitar", 2, 3, 4, 1),
        ("kettle-wont-sing", "Guitar", 6, 7, 3, 1),
        ("kettle-wont-sing", "Guitar", 14, 15, 4, 1),
        ("kettle-wont-sing", "Guitar", 18, 19, 3, 1),
    ],
)
def test_exact_answers_repeat_the_voice(
    stem: str, part: str, sung: int, answered: int, count: int, octaves: int
) -> None:
    voice = [
        (on, name, octave + octaves) for on, _, name, octave in _line(stem, "Voice", sung, sung)
    ]
    answer = [(on, name, octave) for on, _, name, octave in _line(stem, part, answered, answered)]
    assert voice == answer
    assert len(voice) == count


@pytest.mark.parametrize(("sung", "answered"), [(18, 19), (27, 28), (35, 36), (39, 40)])
def test_the_chorus_is_answered_in_its_rhythm_a_step_higher(sung: int, answered: int) -> None:
    voice = _line("wednesday-table", "Voice", sung, sung)[:4]
    answer = _line("wednesday-table", "Guitar", answered, answered)[:4]
    assert [row[:2] for row in voice] == [row[:2] for row in answer]
    steps = [_place(name, octave) for *_, name, octave in answer]
    assert steps == [_place(name, octave) + 1 - 7 for *_, name, octave in voice]


def _place(name: str, octave: int) -> int:
    return "CDEFGAB".index(name[0]) + 7 * octave


@pytest.mark.parametrize(
    ("pitch", "steps", "expected"),
    [
        ("B3", (1, 1), Pitch("C", 0, 4)),
        ("Eb4", (1, 2), Pitch("F", 0, 4)),
        ("C#5", (1, 2), Pitch("D", 1, 5)),
        ("C4", (-1, -1), Pitch("B", 0, 3)),
    ],
)
def test_moving_a_pitch(pitch: str, steps: tuple[int, int], expected: Pitch) -> None:
    assert read_pitch(pitch).moved(*steps) == expected
