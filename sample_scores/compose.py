"""Write the sample scores and the list of what is planted in them.

Run ``python -m sample_scores.compose`` after a change of a piece; the same pieces give the same
bytes. `planted.json` is what the tests of the analysis look for, by printed measure and by beat
(quarter notes, from 1; the beat of a pickup counts from its own start).
"""

from __future__ import annotations

import json
from pathlib import Path

from sample_scores import wednesday_table
from sample_scores.shorthand import Key, Piece, Planted, read_chords
from sample_scores.writing import to_musicxml

FOLDER = Path(__file__).parent
PIECES = (
    wednesday_table.PIECE,
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


def _expected(piece: Piece) -> dict[str, object]:
    chords = [
        {
            "measure": str(measure),
            "beat": _number(float(chord.beat)),
            "symbol": chord.symbol,
            "key": _key_at(piece, measure, float(chord.beat)).tonic,
            "mode": _key_at(piece, measure, float(chord.beat)).mode,
            "numeral": chord.numeral,
            "function": chord.function,
        }
        for measure, row in read_chords(piece).items()
        for chord in row
    ]
    return {
        "title": piece.title,
        "beats": piece.beats,
        "pickup_beats": piece.pickup,
        "measures": len(read_chords(piece)) - (piece.first == 0),
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
