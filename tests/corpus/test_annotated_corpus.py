"""Scores that nobody here made, annotated: still valid, read by others, and taken back whole.

The suite annotates a few pieces of music21's corpus, ``--full`` thirty and all samples, in both
forms. Where a source is valid MusicXML 4.0 its annotated score must be too; where it is not, there
must be no error that it did not have. music21, partitura and verovio must read what they read
before, with every word of the marks.
"""

from __future__ import annotations

import io
import re
import warnings
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import partitura
import pytest
import verovio
from lxml import etree
from music21.musicxml.xmlToM21 import MusicXMLImporter

from analysis.pipeline import analyse
from analysis.reading.scores import read_score
from analysis.reading.sources import Source, read_source
from app.export.annotated import ADDED, Form, annotate, strip
from app.review.document import Document, SourceInfo
from sample_scores import compose
from tests.corpus.pieces import sample_pieces

SCHEMA = Path(__file__).parents[3] / "shared" / "musicxml-schema" / "musicxml.xsd"
SAMPLES = [compose.FOLDER / f"{piece.stem}.musicxml" for piece in compose.PIECES]
PIECES = [*SAMPLES, *sample_pieces()[::2]]
FORMS: tuple[Form, ...] = ("directions", "numerals")
FEW = 3


def cases() -> list[Any]:
    """The first pieces of either kind in every run, the rest in a full one."""
    quick = {*SAMPLES[:1], *PIECES[len(SAMPLES) : len(SAMPLES) + FEW]}
    return [
        pytest.param(
            path, form, id=f"{path.name} {form}", marks=() if path in quick else pytest.mark.full
        )
        for path in PIECES
        for form in FORMS
    ]


@cache
def opened(path: Path) -> tuple[Source, Document]:
    source = read_source(path)
    score = read_score(source)
    info = SourceInfo(source.name, "", source.digest)
    return source, Document(info, score, analyse(score))


@pytest.mark.parametrize(("path", "form"), cases())
def test_annotated_scores_are_read_by_others_and_taken_back(path: Path, form: Form) -> None:
    source, document = opened(path)
    annotated = annotate(source, document, form)
    assert canonical(strip(annotated)) == canonical(source.original)
    words = added_words(annotated)
    assert words
    assert errors_of(annotated) <= errors_of(source.original)
    assert words <= music21_words(annotated)
    # partitura leaves rehearsal marks out.
    assert added_words(annotated, "words") <= partitura_words(annotated)
    assert words <= drawn_words(annotated)


def canonical(content: bytes) -> bytes:
    return etree.tostring(etree.fromstring(content), method="c14n")


def added_words(annotated: bytes, tag: str = "*") -> Counter[str]:
    """Every text that was added as a direction, of one tag or of any."""
    return Counter(
        direction.findtext(f"direction-type/{tag}") or ""
        for direction in etree.fromstring(annotated).iter("direction")
        if (direction.get("id") or "").startswith(ADDED)
        and direction.find(f"direction-type/{tag}") is not None
    )


@cache
def schema() -> etree.XMLSchema:
    if not SCHEMA.exists():
        pytest.skip("the MusicXML schema is not beside the project")
    return etree.XMLSchema(etree.parse(SCHEMA))


def errors_of(content: bytes) -> Counter[str]:
    """What the schema has against a document, without numbers of lines."""
    found: Any = schema()
    found.validate(etree.fromstring(content).getroottree())
    return Counter(re.sub(r"\d+", "", error.message) for error in found.error_log)


def music21_words(content: bytes) -> Counter[str]:
    importer: Any = MusicXMLImporter()  # type: ignore[no-untyped-call]
    importer.xmlText = content.decode()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        importer.parseXMLText()
    found = importer.stream.recurse()
    texts = [one.content for one in found.getElementsByClass(["TextExpression", "RehearsalMark"])]
    return Counter(texts)


def partitura_words(content: bytes) -> Counter[str]:

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = partitura.load_musicxml(io.BytesIO(content))
    return Counter(
        getattr(one, "raw_text", None) or one.text
        for part in read
        for kind in (partitura.score.Direction, partitura.score.Words)
        for one in part.iter_all(kind, include_subclasses=True)
    )


def drawn_words(content: bytes) -> Counter[str]:
    toolkit = verovio.toolkit()
    assert toolkit.loadData(content.decode())
    texts: Counter[str] = Counter()
    for page in range(1, toolkit.getPageCount() + 1):
        drawn = etree.fromstring(toolkit.renderToSVG(page).encode())
        texts.update("".join(map(str, one.itertext())).strip() for one in drawn.iter("{*}text"))
    return texts
