"""The command line: its words and what they call. The work itself is in `app.commands`.

Each command is named as ``"module:function"`` and loaded when it is run, so that ``--help`` and the
window's start do not wait for libraries that they do not use.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from pkgutil import resolve_name
from typing import Final

from analysis.errors import OverstaveError
from analysis.timebase import Fraction

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
  overstave cards song.musicxml --out cards
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
        code = resolve_name(chosen.run)(chosen)
    except OverstaveError as error:
        print(f"overstave: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("overstave: interrupted", file=sys.stderr)
        return 1
    return int(code)


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
    _add_annotate(commands)
    _add_strip(commands)
    _add_pictures(commands)
    _add_outline(commands)
    _add_timeline(commands)
    return parser, frozenset(commands.choices)


def _add_marks(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    marks = _command(
        commands,
        "marks",
        "write all facts and marks as JSON",
        "overstave marks song.musicxml --json song.json\n"
        "  overstave marks songs/*.mxl --into marks --ignore-chord-symbols",
    )
    marks.add_argument("scores", nargs="+", type=Path, metavar="SCORE")
    where = marks.add_mutually_exclusive_group(required=True)
    where.add_argument("--json", metavar="OUT", help="one score; - is standard output")
    where.add_argument("--into", type=Path, metavar="FOLDER", help="one JSON a score, by its stem")
    marks.add_argument("--melody", default="", metavar="PART", help="id or name of the melody part")
    for what in ("key-signature", "chord-symbols", "rehearsal-marks"):
        marks.add_argument(f"--ignore-{what}", action="store_true", help="for measuring")
    marks.set_defaults(run="app.commands:write_marks")


def _add_annotate(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    annotate = _command(
        commands,
        "annotate",
        "write the score with the marks in it",
        "overstave annotate song.musicxml --out marked.musicxml --review song.review.json",
    )
    annotate.add_argument("score", type=Path, metavar="SCORE")
    annotate.add_argument("--out", type=Path, required=True, metavar="OUT.musicxml")
    annotate.add_argument("--review", type=Path, metavar="FILE", help="take its decisions")
    annotate.add_argument(
        "--form",
        choices=("directions", "numerals"),
        default="directions",
        help="numerals as words, which every editor shows, or as MusicXML 4.0 numerals",
    )
    annotate.set_defaults(run="app.commands:write_annotated")


def _add_strip(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    strip = _command(
        commands,
        "strip",
        "take the marks out of an annotated score again",
        "overstave strip marked.musicxml --out song-again.musicxml",
    )
    strip.add_argument("annotated", type=Path, metavar="ANNOTATED")
    strip.add_argument("--out", type=Path, required=True, metavar="OUT.musicxml")
    strip.set_defaults(run="app.commands:write_stripped")


def _add_pictures(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    for name, text, function in (
        ("stills", "write a still of each talking point, PNG with alpha", "write_stills"),
        ("cards", "write caption cards", "write_cards"),
        ("reveals", "write frames that are built up step by step", "write_reveals"),
        ("form", "write the form as a timeline strip, and a still of each section", "write_form"),
        ("all", "write everything that can be exported", "write_all"),
    ):
        command = _command(
            commands, name, text, f"overstave {name} song.musicxml --out {name} --size 1920x1080"
        )
        command.add_argument("score", type=Path, metavar="SCORE")
        command.add_argument("--out", type=Path, required=True, metavar="FOLDER")
        command.add_argument("--review", type=Path, metavar="FILE", help="take its decisions")
        command.add_argument(
            "--size",
            type=_size,
            default=(1920, 1080),
            metavar="WIDTHxHEIGHT",
            help="in pixels; 1920x1080 where nothing is said",
        )
        _add_looks(command)
        if name == "all":
            _add_video_time(command)
        command.set_defaults(run=f"app.picture_commands:{function}")


def _add_looks(command: argparse.ArgumentParser) -> None:
    """How pictures look."""
    command.add_argument("--ink", choices=("dark", "light"), default="dark", help="of the music")
    command.add_argument(
        "--backing",
        choices=("plate", "outline", "glow", "none"),
        default="plate",
        help="what keeps the ink readable on any footage",
    )
    command.add_argument("--ground", metavar="#RRGGBB", help="a colour in place of alpha")
    command.add_argument(
        "--theme",
        default="barline",
        metavar="NAME",
        help="barline, manuscript, slate, or a theme of your own as a .json file",
    )


def _add_outline(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    outline = _command(
        commands,
        "outline",
        "write the talking points as a script in Markdown",
        "overstave outline song.musicxml --out song.md --stills stills",
    )
    outline.add_argument("score", type=Path, metavar="SCORE")
    outline.add_argument(
        "--out", type=Path, required=True, metavar="OUT.md", help="- is standard output"
    )
    _add_picture_folders(outline, "", "")
    _add_video_time(outline)
    outline.set_defaults(run="app.commands:write_outline")


def _add_timeline(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    timeline = _command(
        commands,
        "timeline",
        "write captions or an edit timeline, as the ending of the file says",
        "overstave timeline song.musicxml --out song.otio --rate 25\n"
        "  overstave timeline song.musicxml --out song.vtt --first-note 12.5",
    )
    timeline.add_argument("score", type=Path, metavar="SCORE")
    timeline.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="OUT",
        help=".vtt and .srt for captions, .otio for the timeline, others where adapters are there",
    )
    _add_picture_folders(timeline, "stills", "cards")
    _add_video_time(timeline)
    timeline.set_defaults(run="app.commands:write_timeline")


def _add_picture_folders(command: argparse.ArgumentParser, stills: str, cards: str) -> None:
    command.add_argument("--review", type=Path, metavar="FILE", help="take its decisions")
    for name, usual in (("stills", stills), ("cards", cards)):
        command.add_argument(
            f"--{name}", default=usual, metavar="FOLDER", help=f"where {name} lie, seen from OUT"
        )


def _add_video_time(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--rate", default="25", help="frames a second, such as 23.976 or 29.97-drop; 25 usually"
    )
    command.add_argument(
        "--start", default="", metavar="TIMECODE", help="timecode at which the video begins"
    )
    command.add_argument(
        "--first-note",
        type=_seconds,
        default=Fraction(0),
        metavar="SECONDS",
        help="when the score begins, from the beginning of the video",
    )


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    text: str,
    example: str,
) -> argparse.ArgumentParser:
    return commands.add_parser(
        name,
        help=text,
        description=f"{text[0].upper()}{text[1:]}.",
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )


def _seconds(text: str) -> Fraction:
    match = re.fullmatch(r"\d{1,6}(\.\d{1,9})?", text)
    if match is None:
        raise argparse.ArgumentTypeError(f"“{text}” is no time; write seconds such as 12.5")
    return Fraction(text)


def _size(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"(\d{2,5})[x×](\d{2,5})", text)
    if match is None:
        raise argparse.ArgumentTypeError(f"“{text}” is not a size; write for example 1920x1080")
    return int(match[1]), int(match[2])
