"""Write the sample scores and the list of what is planted in them.

Run ``python -m sample_scores.compose`` after a change of a piece; the same pieces give the same
bytes. `planted.json` is what the tests of the analysis look for, by printed measure and by beat
(quarter notes, from 1; the beat of a pickup counts from its own start).
"""

from __future__ import annotations

import json
from pathlib import Path

from sample_scores import kettle_wont_sing, seven_small_screws, slow_to_warm, wednesday_table
from sample_scores.shorthand import Chord, Key, Piece, Planted, read_chords, read_pitch
from sample_scores.writing import to_musicxml

FOLDER = Path(__file__).parent
PIECES = (
    wednesday_table.PIECE,
    slow_to_warm.PIECE,
    seven_small_screws.PIECE,
    kettle_wont_sing.PIECE,
)
FEATURES = {
    "a": "a lowered third sung over the major tonic chord, then the natural one",
    "b": "IV over a tonic pedal",
    "c": "an applied dominant in inversion",
    "d": "an applied dominant resolved deceptively",
    "e": "a dominant-quality bVII7 going up to I",
    "f": "mixture",
    "g": "a Neapolitan or augmented sixth",
    "h": "a modulation",
    "i": "a phrase that returns with other chords under the same melody",
    "j": "a chromatic inner voice over three or more chords",
    "k": "an answering figure",
    "l": "a chord on every beat beside a static passage",
}

QUALITIES = {
    "": ("maj", ""),
    "m": ("min", ""),
    "7": ("maj", "m7"),
    "maj7": ("maj", "M7"),
    "m7": ("min", "m7"),
    "m6": ("min", ""),
    "dim7": ("dim", "d7"),
    "sus4": ("", ""),
    "7sus4": ("", "m7"),
    "7b9": ("maj", "m7"),
}
"""Triad and seventh of each kind, in the words of the marks JSON."""

SCALES = {"major": (0, 2, 4, 5, 7, 9, 11), "minor": (0, 2, 3, 5, 7, 8, 10)}
DEGREES = ("i", "ii", "iii", "iv", "v", "vi", "vii")


def _number(value: float) -> int | float:
    return int(value) if value == int(value) else float(value)


def _row(planted: Planted) -> dict[str, object]:
    return {
        "feature": planted.feature,
        "measure": str(planted.measure),
        "beat": _number(planted.beat),
        "part": planted.part,
        "detail": planted.detail,
    }


def _key_at(piece: Piece, measure: int, beat: float) -> Key:
    return [key for key in piece.keys if (key.measure, key.beat) <= (measure, beat)][-1]


def _chord_row(chord: Chord, measure: int, key: Key) -> dict[str, object]:
    triad, seventh = QUALITIES[chord.kind]
    bass = chord.bass or chord.root
    thirds = ("CDEFGAB".index(bass[0]) - "CDEFGAB".index(chord.root[0])) % 7
    _, _, target = chord.numeral.partition("/")
    applied_root = ""
    if target:
        steps = DEGREES.index(target.lower())
        found = read_pitch(f"{key.tonic}4").moved(steps, SCALES[key.mode][steps])
        applied_root = found.step + "#" * found.alter + "b" * -found.alter
    return {
        "measure": str(measure),
        "beat": _number(float(chord.beat)),
        "symbol": chord.symbol,
        "key": {"tonic": key.tonic, "mode": key.mode},
        "numeral": chord.numeral,
        "root": chord.root,
        "bass": bass,
        "triad": triad,
        "seventh": seventh,
        "inversion": (0, 2, 4, 6).index(thirds),
        "applied_to": target,
        "applied_root": applied_root,
        "function": chord.function,
    }


def _expected(piece: Piece) -> dict[str, object]:
    numbered = read_chords(piece)
    chords = [
        _chord_row(chord, measure, _key_at(piece, measure, float(chord.beat)))
        for measure, row in numbered.items()
        for chord in row
    ]
    return {
        "title": piece.title,
        "beats": piece.beats,
        "pickup_beats": piece.pickup,
        "measures": len(numbered) - (1 if piece.pickup else 0),
        "keys": [
            {
                "measure": str(key.measure),
                "beat": key.beat,
                "tonic": key.tonic,
                "mode": key.mode,
                "note": key.note,
            }
            for key in piece.keys
        ],
        "sections": [
            {"measure": str(measure), "name": name} for measure, name in piece.sections.items()
        ],
        "chords": chords,
        "also": [_row(planted) for planted in piece.also],
    }


def to_planted() -> bytes:
    """The list of everything planted, as JSON."""
    content = {
        "features": FEATURES,
        "planted": [
            {"score": piece.stem, **_row(planted)} for piece in PIECES for planted in piece.planted
        ],
        "scores": {piece.stem: _expected(piece) for piece in PIECES},
    }
    return (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode()


def compose() -> dict[str, bytes]:
    """The bytes of every file, by name."""
    files = {f"{piece.stem}.musicxml": to_musicxml(piece) for piece in PIECES}
    return files | {"planted.json": to_planted()}


if __name__ == "__main__":
    for name, content in compose().items():
        (FOLDER / name).write_bytes(content)
