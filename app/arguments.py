"""Groups of arguments that several commands of the command line share.

Each function adds one group, so that a switch is called, explained and checked alike wherever it
stands. Nothing here loads a library.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable
from pathlib import Path
from typing import Final

from analysis.errors import ExportError
from analysis.timebase import Fraction
from app.export.reveal_steps import check_steps

_KINDS: Final = ("png", "svg", "pdf")
_LAYERS: Final = (
    "numerals", "functions", "keys", "cadences", "sections", "phrases", "melody", "lines", "remarks"
)  # fmt: skip


def add_command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    name: str,
    text: str,
    example: str,
    run: str,
) -> argparse.ArgumentParser:
    """A command that is explained in one sentence with an example, and what it runs."""
    command = commands.add_parser(
        name,
        help=text,
        description=f"{text[0].upper()}{text[1:]}.",
        epilog=f"example:\n  {example}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    command.set_defaults(run=run)
    return command


def add_score(command: argparse.ArgumentParser, out: str, text: str = "") -> None:
    """What is read and where the result goes."""
    command.add_argument(
        "score", type=Path, metavar="SCORE", help="a score, or a review file, which knows its score"
    )
    command.add_argument("--out", type=Path, required=True, metavar=out, help=text or None)
    command.add_argument(
        "--review", type=Path, metavar="FILE", help="a review file: take its decisions"
    )


def add_files(command: argparse.ArgumentParser, kinds: str, *, named: bool = True) -> None:
    """Size, kinds and names of pictures, and which are made."""
    command.add_argument(
        "--size",
        type=_size,
        default=(1920, 1080),
        metavar="WIDTHxHEIGHT",
        help="in pixels; 1920x1080 where nothing is said",
    )
    command.add_argument(
        "--kinds",
        type=_listed(_KINDS),
        default=tuple(kinds.split(",")),
        metavar="KIND,KIND",
        help=f"kinds of file, of {', '.join(_KINDS)}; {kinds} where nothing is said",
    )
    if named:
        command.add_argument(
            "--names",
            default="{number}-m{measure}-{kind}-{label}",
            metavar="PATTERN",
            help="how pictures are named; {number}, {measure}, {kind}, {label}, {section} and "
            "{song} stand for what they say",
        )
        command.add_argument(
            "--only",
            type=_numbers,
            metavar="NUMBERS",
            help="only some talking points, by their place in the order, such as 1,3-5",
        )


def add_contents(command: argparse.ArgumentParser, *, layers: bool = True) -> None:
    """What of the score pictures show."""
    command.add_argument(
        "--parts",
        type=_words,
        metavar="PART,PART",
        help="parts that are shown, by name or id; where nothing is said, those that suit",
    )
    if layers:
        command.add_argument(
            "--layers",
            type=_listed(_LAYERS),
            metavar="LAYER,LAYER",
            help=f"what is written over the music, of {', '.join(_LAYERS)}",
        )
    command.add_argument("--no-lyrics", action="store_true", help="leave out the sung words")
    command.add_argument("--no-symbols", action="store_true", help="leave out chord symbols")
    command.add_argument("--measure-numbers", action="store_true", help="show measure numbers")


def add_places(command: argparse.ArgumentParser) -> None:
    """Stretches of the score to make stills of, in place of the talking points."""
    places = command.add_argument_group("stills of other places, in place of the talking points")
    places.add_argument(
        "--measures",
        action="append",
        default=[],
        metavar="FIRST-LAST",
        help="some measures by their printed numbers, such as 5-8; may be repeated",
    )
    places.add_argument(
        "--section",
        action="append",
        default=[],
        metavar="NAME",
        help="a section by its name, such as “Verse 2”; may be repeated",
    )
    places.add_argument(
        "--span",
        action="append",
        type=_span,
        default=[],
        metavar="FROM:TO",
        help="a stretch in quarter notes from the first measure, such as 16:24.5; may be repeated",
    )
    places.add_argument(
        "--pages", action="store_true", help="what stands on each page as it is printed"
    )
    places.add_argument(
        "--whole",
        action="store_true",
        help="each in one picture, even where its text becomes too small to read",
    )


def add_looks(command: argparse.ArgumentParser) -> None:
    """How pictures look."""
    command.add_argument(
        "--ink", choices=("dark", "light"), default="dark", help="dark for light footage"
    )
    command.add_argument(
        "--backing",
        choices=("plate", "outline", "glow", "none"),
        default="plate",
        help="what keeps the ink readable on any footage",
    )
    command.add_argument(
        "--ground", type=_ground, metavar="#RRGGBB", help="a colour; alpha where nothing is said"
    )
    command.add_argument(
        "--theme",
        default="barline",
        metavar="NAME",
        help="barline, manuscript, slate, or a theme of your own as a .json file",
    )


def add_steps(command: argparse.ArgumentParser) -> None:
    """What reveals add, and in which order."""
    command.add_argument(
        "--steps",
        type=_steps,
        default=(),
        metavar="STEP,STEP",
        help="what is added, in order, of score, symbols, numerals, functions, keys, mark, "
        "sentence; all but keys where nothing is said",
    )


def add_writing(command: argparse.ArgumentParser) -> None:
    """How numerals and names of notes are written wherever words are for people."""
    command.add_argument(
        "--numerals",
        choices=("own", "major", "mode"),
        default="own",
        help="degrees counted from the major scale and in minor from natural minor (own), always "
        "from the major scale, or from the scale of the mode",
    )
    command.add_argument(
        "--inversions",
        choices=("figures", "slash"),
        default="figures",
        help="as figures, or as the degree in the bass after a slash",
    )
    command.add_argument(
        "--note-names",
        choices=("english", "german", "fixed-do"),
        default="english",
        help="of notes, keys and chord symbols",
    )


def add_video_time(command: argparse.ArgumentParser) -> None:
    """How the score's time becomes the video's."""
    command.add_argument(
        "--rate",
        type=_written(
            r"\d{2}(\.\d{1,3})?([- ]?(drop|df))?", "a frame rate", "23.976 or 29.97-drop"
        ),
        default="25",
        help="frames a second, such as 23.976 or 29.97-drop; 25 usually",
    )
    command.add_argument(
        "--start",
        type=_written(r"\d{1,2}([:;.,]\d{1,2}){1,3}", "a timecode", "01:00:00:00"),
        default="",
        metavar="TIMECODE",
        help="timecode at which the video begins",
    )
    command.add_argument(
        "--first-note",
        type=_seconds,
        default=Fraction(0),
        metavar="SECONDS",
        help="when the score begins, from the beginning of the video",
    )


def add_picture_folders(command: argparse.ArgumentParser, stills: str, cards: str) -> None:
    """Where the pictures lie that a text names."""
    for name, usual in (("stills", stills), ("cards", cards)):
        command.add_argument(
            f"--{name}", default=usual, metavar="FOLDER", help=f"where {name} lie, seen from OUT"
        )


def _words(text: str) -> tuple[str, ...]:
    return tuple(word for word in (piece.strip() for piece in text.split(",")) if word)


def _listed(known: tuple[str, ...]) -> Callable[[str], tuple[str, ...]]:
    """A reader of words that are all among the known ones, each once."""

    def read(text: str) -> tuple[str, ...]:
        words = tuple(dict.fromkeys(word.lower() for word in _words(text)))
        for word in words:
            if word not in known:
                raise argparse.ArgumentTypeError(f"“{word}” is none of {', '.join(known)}")
        if not words:
            raise argparse.ArgumentTypeError(f"name one at least of {', '.join(known)}")
        return words

    return read


def _steps(text: str) -> tuple[str, ...]:
    try:
        return check_steps(_words(text))
    except ExportError as error:
        raise argparse.ArgumentTypeError(str(error)) from None


def _written(form: str, what: str, example: str) -> Callable[[str], str]:
    """A reader of what has a form; whether there is such a one is asked where it is used."""

    def read(text: str) -> str:
        if text and not re.fullmatch(form, text, re.IGNORECASE):
            raise argparse.ArgumentTypeError(f"“{text}” is not {what}; write for example {example}")
        return text

    return read


def _numbers(text: str) -> frozenset[int]:
    """Numbers and ranges of them: ``1,3-5``."""
    found: set[int] = set()
    for word in _words(text):
        match = re.fullmatch(r"(\d{1,4})(?:[-–](\d{1,4}))?", word)
        if match is None:
            raise argparse.ArgumentTypeError(f"“{word}” is no number; write for example 1,3-5")
        found.update(range(int(match[1]), int(match[2] or match[1]) + 1))
    return frozenset(found)


def _span(text: str) -> tuple[Fraction, Fraction]:
    match = re.fullmatch(r"(\d{1,6}(?:\.\d{1,6})?):(\d{1,6}(?:\.\d{1,6})?)", text)
    if match is None or Fraction(match[1]) >= Fraction(match[2]):
        raise argparse.ArgumentTypeError(f"“{text}” is no stretch; write for example 16:24.5")
    return Fraction(match[1]), Fraction(match[2])


def _ground(text: str) -> str | None:
    if text.lower() == "alpha":
        return None
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text):
        raise argparse.ArgumentTypeError(f"“{text}” is no colour; write one like #336699, or alpha")
    return text


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
