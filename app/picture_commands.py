"""Commands that paint: stills, cards, and everything at once. They need Qt but no display."""

from __future__ import annotations

import argparse
from pathlib import Path

from app.commands import make_folder, open_document, tell, write_file
from app.export.annotated import annotate
from app.export.cards import write_cards as paint_cards
from app.export.frames import Frame
from app.export.marks_json import to_json
from app.export.stills import write_stills as paint_stills


def write_stills(chosen: argparse.Namespace) -> int:
    """Write a still of each talking point."""
    frame = Frame(*chosen.size)
    source, document = open_document(chosen.score, chosen.review)
    paint_stills(document, source, chosen.out, frame, _tell_of)
    return 0


def write_cards(chosen: argparse.Namespace) -> int:
    """Write a caption card of each talking point."""
    frame = Frame(*chosen.size)
    source, document = open_document(chosen.score, chosen.review)
    paint_cards(document, source, chosen.out, frame, _tell_of)
    return 0


def write_all(chosen: argparse.Namespace) -> int:
    """Write everything that can be exported, stills and cards in folders of their own."""
    frame = Frame(*chosen.size)
    source, document = open_document(chosen.score, chosen.review)
    folder: Path = chosen.out
    make_folder(folder)
    stem = Path(source.name).stem
    tell("annotated score")
    write_file(folder / f"{stem}-annotated.musicxml", annotate(source, document))
    tell("marks")
    text = to_json(document.analysis, document.score, source.name, source.digest)
    write_file(folder / f"{stem}-marks.json", text.encode())
    paint_stills(document, source, folder / "stills", frame, _tell_of)
    paint_cards(document, source, folder / "cards", frame, _tell_of)
    return 0


def _tell_of(number: int, count: int, name: str) -> None:
    tell(f"{number + 1}/{count} {name}")
