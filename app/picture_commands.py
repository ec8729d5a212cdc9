"""Commands that paint: stills, cards, reveals, the form, everything. Qt, but no display."""

from __future__ import annotations

import argparse
from pathlib import Path

from app.commands import open_document, tell, video_time
from app.export.annotated_pdf import to_pdf
from app.export.cards import write_cards as paint_cards
from app.export.cautions import RIGHTS
from app.export.folders import Folder
from app.export.frames import Frame
from app.export.reveals import write_reveals as paint_reveals
from app.export.song_pictures import write_song_pictures
from app.export.stills import write_stills as paint_stills
from app.export.text_sets import Pictures, stem_of, text_files, timed
from app.export.themes import theme_named


def write_stills(chosen: argparse.Namespace) -> int:
    """Write a still of each talking point."""
    frame = _frame(chosen)
    source, document = open_document(chosen.score, chosen.review)
    paint_stills(document, source, chosen.out, frame, _tell_of)
    return 0


def write_cards(chosen: argparse.Namespace) -> int:
    """Write a caption card of each talking point."""
    frame = _frame(chosen)
    source, document = open_document(chosen.score, chosen.review)
    paint_cards(document, source, chosen.out, frame, _tell_of)
    return 0


def write_reveals(chosen: argparse.Namespace) -> int:
    """Write a reveal of each talking point."""
    frame = _frame(chosen)
    source, document = open_document(chosen.score, chosen.review)
    paint_reveals(document, source, chosen.out, frame, _tell_of)
    return 0


def write_form(chosen: argparse.Namespace) -> int:
    """Write the form of the song and its sections."""
    frame = _frame(chosen)
    source, document = open_document(chosen.score, chosen.review)
    write_song_pictures(document, source, chosen.out, frame, _tell_of)
    return 0


def write_all(chosen: argparse.Namespace) -> int:
    """Write everything that can be exported; pictures in folders of their own."""
    frame = _frame(chosen)
    time = video_time(chosen)
    source, document = open_document(chosen.score, chosen.review)
    folder = Folder(chosen.out)
    pictures = Pictures()
    written: list[Path] = []
    for name, make in text_files(document, source, time, pictures):
        tell(name)
        written.append(folder.write(name, make()))
    name = f"{stem_of(source)}-annotated.pdf"
    tell(name)
    written.append(folder.write(name, to_pdf(document, source)))
    shown = {point.mark.id: float(point.time.length) for point in timed(document, time)}
    written += paint_stills(document, source, folder.path / pictures.stills, frame, _tell_of)
    written += paint_reveals(document, source, folder.path / "reveals", frame, _tell_of)
    written += write_song_pictures(document, source, folder.path / "form", frame, _tell_of)
    written += paint_cards(document, source, folder.path / pictures.cards, frame, _tell_of, shown)
    tell(str(folder.finish(written)))
    tell(RIGHTS)
    return 0


def _frame(chosen: argparse.Namespace) -> Frame:
    """The frame that was asked for."""
    width, height = chosen.size
    theme = theme_named(chosen.theme)
    return Frame(width, height, chosen.ink, chosen.backing, chosen.ground, theme)


def _tell_of(number: int, count: int, name: str) -> None:
    tell(f"{number + 1}/{count} {name}")
