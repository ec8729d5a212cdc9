"""Commands that write text: marks, scores, the outline, captions and timelines. No Qt."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

from analysis.errors import ExportError, OverstaveError
from analysis.marks import Corrections, Settings
from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source
from analysis.score import Score
from analysis.vocabulary.note_names import Naming
from analysis.vocabulary.numerals import Convention
from app.export.annotated import annotate, strip
from app.export.cautions import RIGHTS
from app.export.mark_tables import to_csv, to_table_json
from app.export.marks_json import to_json
from app.export.romantext import to_romantext
from app.export.text_sets import Pictures, outline_of, timeline_endings, timeline_makers
from app.export.timecodes import rate_named, read_timecode
from app.export.timing import VideoTime
from app.review.carrying import carry_over, plan_carrying
from app.review.document import Document, SourceInfo
from app.review.files import write_atomically
from app.review.storage import SUFFIX, document_of, read_review, score_of
from app.review.writing import Writing, written


def write_marks(chosen: argparse.Namespace) -> int:
    """Write marks as JSON; of several scores, the ones that are refused do not stop the rest."""
    if chosen.json is not None:
        if chosen.json != "-":
            check_file(Path(chosen.json))
        keep_apart(Path(chosen.json), chosen.scores[0])
        tell(f"reading {chosen.scores[0]}")
        text = marks_text(chosen.scores[0], chosen)
        if chosen.json == "-":
            sys.stdout.write(text)
        else:
            write_file(Path(chosen.json), text.encode())
        return 0
    make_folder(chosen.into)
    names = _names(chosen.scores)
    refused = 0
    for at, (path, name) in enumerate(zip(chosen.scores, names, strict=True), 1):
        tell(f"{at}/{len(chosen.scores)} {path}")
        out = chosen.into / f"{name}.json"
        try:
            keep_apart(out, *chosen.scores)
            write_file(out, marks_text(path, chosen).encode())
        except OverstaveError as error:
            tell(f"overstave: {path}: {error}")
            refused += 1
        except Exception as error:
            # A fault of the program in one score of hundreds must not cost the others.
            tell(f"overstave: {path}: unexpected {type(error).__name__}: {error}")
            refused += 1
    return 1 if refused else 0


def write_annotated(chosen: argparse.Namespace) -> int:
    """Write the score with the marks in it."""
    check_score_name(chosen.out, ".pdf")
    check_file(chosen.out)
    source, document = open_document(chosen.score, chosen.review, chosen.out)
    write_file(chosen.out, annotate(source, written(document, writing_of(chosen)), chosen.form))
    return 0


def write_table(chosen: argparse.Namespace) -> int:
    """Write all marks as a table, or the numerals as RomanText, as the ending of the file says."""
    writing = writing_of(chosen)
    makers: dict[str, Callable[[Document], bytes]] = {
        ".csv": lambda document: to_csv(written(document, writing)),
        ".json": to_table_json,
        ".rntxt": lambda document: to_romantext(document).encode(),
    }
    make = makers.get(chosen.out.suffix.lower())
    if make is None:
        raise ExportError(f"Tables can be {', '.join(makers)}; not “{chosen.out.name}”.")
    check_file(chosen.out)
    write_file(chosen.out, make(open_document(chosen.score, chosen.review, chosen.out)[1]))
    return 0


def write_stripped(chosen: argparse.Namespace) -> int:
    """Write an annotated score without its marks."""
    check_score_name(chosen.out)
    check_file(chosen.out)
    keep_apart(chosen.out, chosen.annotated)
    tell(f"reading {chosen.annotated}")
    source = read_source(chosen.annotated)
    write_file(chosen.out, strip(source.original))
    return 0


def write_outline(chosen: argparse.Namespace) -> int:
    """Write the talking points as Markdown."""
    time = video_time(chosen)
    if str(chosen.out) != "-":
        check_file(chosen.out)
    _, document = open_document(chosen.score, chosen.review, chosen.out)
    pictures = None
    if chosen.stills or chosen.cards:
        pictures = Pictures(chosen.stills, chosen.cards, root=chosen.out.parent)
    text = outline_of(written(document, writing_of(chosen)), time, pictures)
    if str(chosen.out) == "-":
        sys.stdout.write(text)
    else:
        write_file(chosen.out, text.encode())
    return 0


def write_timeline(chosen: argparse.Namespace) -> int:
    """Write captions or an edit timeline, as the ending of the file says."""
    time = video_time(chosen)
    ending = chosen.out.suffix.removeprefix(".").lower()
    if ending not in timeline_endings():
        known = ", ".join(f".{one}" for one in timeline_endings())
        raise ExportError(f"Timelines can be written as {known}; not as “{chosen.out.name}”.")
    check_file(chosen.out)
    _, document = open_document(chosen.score, chosen.review, chosen.out)
    pictures = Pictures(chosen.stills, chosen.cards, root=chosen.out.parent)
    makers = timeline_makers(written(document, writing_of(chosen)), time, pictures)
    write_file(chosen.out, makers[ending]().encode())
    tell(RIGHTS)
    return 0


def video_time(chosen: argparse.Namespace) -> VideoTime:
    """How the score's time becomes the video's, from the arguments of a command."""
    rate = rate_named(chosen.rate)
    start = read_timecode(chosen.start, rate) if chosen.start else 0
    return VideoTime(rate, start, chosen.first_note)


def writing_of(chosen: argparse.Namespace) -> Writing:
    """How words for people are written, from the arguments of a command."""
    names: dict[str, Naming] = {"german": "german", "fixed-do": "fixed do"}
    convention = Convention(chosen.numerals, chosen.inversions)
    return Writing(convention, names.get(chosen.note_names, "english"))


def marks_text(path: Path, chosen: argparse.Namespace) -> str:
    """The marks of one score as JSON."""
    source = read_source(path)
    score = read_score(source)
    settings = Settings(
        use_key_signature=not chosen.ignore_key_signature,
        use_chord_symbols=not chosen.ignore_chord_symbols,
        use_rehearsal_marks=not chosen.ignore_rehearsal_marks,
    )
    corrections = Corrections(melody_part=melody_part(score, chosen.melody))
    return to_json(analyse(score, settings, corrections), score, source.name, source.digest)


def melody_part(score: Score, wanted: str) -> str:
    """The id of the part that has this id or name; empty where nothing is wanted."""
    if not wanted:
        return ""
    for part in score.parts:
        if wanted in (part.id, part.name):
            return part.id
    names = ", ".join(f"{part.id} ({part.name})" for part in score.parts)
    raise OverstaveError(f"There is no part “{wanted}”; the score has {names}.")


def open_document(path: Path, review_file: Path | None, out: Path) -> tuple[Source, Document]:
    """Read and analyse a score, with the decisions of a review file where one is given.

    The path may be that of a review, which knows its score. Refuses where the result would be
    written over either of them.
    """
    if review_file is None and path.name.endswith(SUFFIX):
        review_file = path
    review = read_review(review_file) if review_file else None
    if review is not None and review_file == path:
        path = score_of(path, review)
    keep_apart(out, path, *([review_file] if review_file else []))
    tell(f"reading {path}")
    source = read_source(path)
    score = read_score(source)
    info = SourceInfo(source.name, str(path.absolute()), source.digest)
    tell("analysing")
    if review is None:
        return source, Document(info, score, analyse(score))
    if review.source.digest == source.digest:
        analysis = analyse(score, Settings(), review.corrections)
        return source, document_of(review, info, score, analysis)
    plan = plan_carrying(review, score)
    analysis = analyse(score, Settings(), plan.corrections)
    carried = carry_over(plan, info, score, analysis)
    tell(f"the score has changed since this review: {carried.report.summary}")
    return source, document_of(carried.review, info, score, analysis)


def keep_apart(out: Path, *read: Path) -> None:
    """Refuse a result that would be written over what it is made from."""
    for path in read:
        # By identity, not by name: links and other spellings lead to the same file.
        if out.exists() and path.exists() and out.samefile(path):
            raise ExportError(
                f"{out} is what is read and is never written over; name another file."
            )


def check_score_name(out: Path, *further: str) -> None:
    """Refuse a name that promises another format: editors believe the ending."""
    known = (".musicxml", ".xml", *further)
    if out.suffix.lower() not in known:
        raise ExportError(f"Scores can be written as {', '.join(known)}; not as “{out.name}”.")


def check_file(out: Path) -> None:
    """Refuse a file that could not be written, before the work that would be for nothing."""
    if os.path.isdir(out):
        raise ExportError(f"{out} is a folder; name a file in it.")
    if not os.path.isdir(out.parent):
        raise ExportError(f"There is no folder {out.parent}; make it, or name another.")
    _check_writable(out.parent)


def check_folder(out: Path) -> None:
    """Refuse a folder that could not be made or written into; it is not made yet."""
    stands = next((one for one in (out, *out.absolute().parents) if os.path.lexists(one)), out)
    if not os.path.isdir(stands):
        raise ExportError(f"{stands} is no folder; name another.")
    _check_writable(stands)


def _check_writable(folder: Path) -> None:
    if not os.access(folder, os.W_OK | os.X_OK):
        raise ExportError(f"Nothing can be written into {folder.absolute()}; name another folder.")


def write_file(path: Path, content: bytes) -> None:
    """Write a file in one step, or say in words why not."""
    try:
        write_atomically(path, content)
    except OSError as error:
        raise ExportError(f"{path} could not be written: {error.strerror or error}.") from error


def make_folder(folder: Path) -> None:
    """Make a folder and those above it, or say in words why not."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise ExportError(f"{folder} could not be made: {error.strerror or error}.") from error


def tell(text: str) -> None:
    """Progress for people, on standard error."""
    print(text, file=sys.stderr)


def _names(paths: Iterable[Path]) -> list[str]:
    """File stems, numbered where two are the same, so that no file writes over another."""
    seen: dict[str, int] = {}
    names = []
    for path in paths:
        seen[path.stem] = seen.get(path.stem, 0) + 1
        names.append(path.stem if seen[path.stem] == 1 else f"{path.stem}-{seen[path.stem]}")
    return names
