"""The command line: its words and what they call. The work itself is in `app.commands`.

Each command is named as ``"module:function"`` and loaded when it is run, so that ``--help`` and the
window's start do not wait for libraries that they do not use.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from pkgutil import resolve_name
from typing import Final

from analysis.errors import OverstaveError
from app.arguments import (
    add_command,
    add_contents,
    add_files,
    add_looks,
    add_picture_folders,
    add_places,
    add_score,
    add_steps,
    add_video_time,
    add_writing,
)

_ANNOTATE: Final = "app.commands:write_annotated"
_PRINT: Final = "app.picture_commands:write_printed"
_EPILOG: Final = """\
without a command the window opens:
  overstave
  overstave song.musicxml

examples of commands, none of which needs a display:
  overstave marks song.musicxml --json -
  overstave marks songs/*.mxl --into marks
  overstave annotate song.musicxml --out marked.musicxml --review song.review.json
  overstave strip marked.musicxml --out song-again.musicxml
  overstave stills song.musicxml --out stills --size 1920x1080
  overstave stills song.musicxml --out stills --section "Verse 2" --measures 5-8
  overstave cards song.review.json --out cards --kinds png,svg --ink light
  overstave reveals song.musicxml --out reveals --steps score,numerals,mark
  overstave outline song.musicxml --out song.md --review song.review.json
  overstave timeline song.musicxml --out song.otio --rate 29.97-drop --start "01:00:00;00"
  overstave all song.musicxml --out everything

overstave COMMAND --help tells more. The exit is 0 when all went well, 1 with one sentence on
standard error when a file could not be read or written, 2 when the command was not understood.
"""


def run(arguments: Sequence[str]) -> int:
    """Do what the arguments say; the exit code."""
    parser, commands = _parsers()
    if not arguments or (arguments[0] not in commands and not arguments[0].startswith("-")):
        arguments = ["window", *arguments]
    chosen = parser.parse_args(arguments)
    if getattr(chosen, "json", None) is not None and len(chosen.scores) > 1:
        parser.error("--json takes one score; use --into FOLDER for several")
    try:
        code = resolve_name(_runner(chosen))(chosen)
    except OverstaveError as error:
        print(f"overstave: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("overstave: interrupted", file=sys.stderr)
        return 1
    return int(code)


def _runner(chosen: argparse.Namespace) -> str:
    """What a command runs: what prints a score is a painter, which text does without."""
    printed = chosen.run == _ANNOTATE and chosen.out.suffix.lower() == ".pdf"
    return _PRINT if printed else str(chosen.run)


def _parsers() -> tuple[argparse.ArgumentParser, frozenset[str]]:
    """The parser and the names of its commands."""
    parser = argparse.ArgumentParser(
        prog="overstave",
        description="Names what a song does, shows it on the score, takes it to the video.",
        epilog=_EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)
    window = commands.add_parser("window", help="open the window (also without a command)")
    window.add_argument("file", nargs="?", type=Path, help="a score or a review file")
    window.set_defaults(run="app.start_window:open_window")
    _add_marks(commands)
    _add_scores(commands)
    _add_pictures(commands)
    _add_texts(commands)
    _add_all(commands)
    return parser, frozenset(commands.choices)


def _add_marks(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    marks = add_command(
        commands,
        "marks",
        "write all facts and marks as JSON",
        "overstave marks song.musicxml --json song.json\n"
        "  overstave marks songs/*.mxl --into marks --ignore-chord-symbols",
        "app.commands:write_marks",
    )
    marks.add_argument("scores", nargs="+", type=Path, metavar="SCORE")
    where = marks.add_mutually_exclusive_group(required=True)
    where.add_argument("--json", metavar="OUT", help="one score; - is standard output")
    where.add_argument("--into", type=Path, metavar="FOLDER", help="one JSON a score, by its stem")
    marks.add_argument("--melody", default="", metavar="PART", help="id or name of the melody part")
    for what in ("key-signature", "chord-symbols", "rehearsal-marks"):
        marks.add_argument(f"--ignore-{what}", action="store_true", help="for measuring")


def _add_scores(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    annotate = add_command(
        commands,
        "annotate",
        "write the score with the marks in it, as MusicXML or to print as PDF",
        "overstave annotate song.musicxml --out marked.musicxml --review song.review.json\n"
        "  overstave annotate song.review.json --out marked.pdf",
        _ANNOTATE,
    )
    add_score(annotate, "OUT", "MusicXML, or PDF where the name ends in .pdf")
    _add_form(annotate)
    add_writing(annotate)
    strip = add_command(
        commands,
        "strip",
        "take the marks out of an annotated score again",
        "overstave strip marked.musicxml --out song-again.musicxml",
        "app.commands:write_stripped",
    )
    strip.add_argument("annotated", type=Path, metavar="ANNOTATED")
    strip.add_argument("--out", type=Path, required=True, metavar="OUT.musicxml")


def _add_form(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--form",
        choices=("directions", "numerals"),
        default="directions",
        help="numerals as words, which every editor shows, or as MusicXML 4.0 numerals",
    )


def _add_pictures(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    def add(name: str, text: str, more: str = "") -> argparse.ArgumentParser:
        example = f"overstave {name} song.musicxml --out {name} {more}".rstrip()
        command = add_command(commands, name, text, example, f"app.picture_commands:write_{name}")
        add_score(command, "FOLDER")
        add_writing(command)
        return command

    stills = add("stills", "write a still of each talking point, PNG with alpha", "--ink light")
    add_files(stills, "png")
    add_looks(stills)
    add_contents(stills)
    add_places(stills)
    cards = add("cards", "write caption cards", "--kinds png,svg")
    add_files(cards, "png")
    add_looks(cards)
    reveals = add(
        "reveals", "write frames that are built up step by step", "--steps score,numerals,mark"
    )
    add_files(reveals, "png")
    add_looks(reveals)
    add_steps(reveals)
    add_contents(reveals, layers=False)
    form = add("form", "write the form as a timeline strip, and stills of each section")
    add_files(form, "png", named=False)
    add_looks(form)
    add_contents(form)


def _add_texts(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    outline = add_command(
        commands,
        "outline",
        "write the talking points as a script in Markdown",
        "overstave outline song.musicxml --out song.md --stills stills",
        "app.commands:write_outline",
    )
    add_score(outline, "OUT.md", "- is standard output")
    add_picture_folders(outline, "", "")
    add_writing(outline)
    add_video_time(outline)
    timeline = add_command(
        commands,
        "timeline",
        "write captions or an edit timeline, as the ending of the file says",
        "overstave timeline song.musicxml --out song.otio --rate 25\n"
        "  overstave timeline song.musicxml --out song.vtt --first-note 12.5",
        "app.commands:write_timeline",
    )
    add_score(
        timeline,
        "OUT",
        ".vtt and .srt for captions, .otio for the timeline, others where adapters are there",
    )
    add_picture_folders(timeline, "stills", "cards")
    add_writing(timeline)
    add_video_time(timeline)
    table = add_command(
        commands,
        "table",
        "write all marks with their states as a table, or the numerals as RomanText",
        "overstave table song.review.json --out song.csv",
        "app.commands:write_table",
    )
    add_score(table, "OUT", ".csv or .json for the marks, .rntxt for the numerals")
    add_writing(table)


def _add_all(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    command = add_command(
        commands,
        "all",
        "write everything that can be exported",
        "overstave all song.musicxml --out everything --size 1080x1920",
        "app.picture_commands:write_all",
    )
    add_score(command, "FOLDER")
    add_files(command, "png,svg")
    add_looks(command)
    add_contents(command)
    add_steps(command)
    _add_form(command)
    add_writing(command)
    add_video_time(command)
