"""The annotated score as PDF: vectors only, all text as outlines, the same bytes each time.

Qt writes the moment and a random id into every file. Both are replaced by others of the same length
after it has been written, so that no place in the file moves: the moment by a fixed one, the id by
one made from the file itself.

References
----------
ISO 32000-1:2008, 14.3 *Metadata* and 7.5.4 *Cross-reference table* (from memory).
"""

from __future__ import annotations

import hashlib
import re
from typing import Final

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QPageSize, QPainter, QPdfWriter

from analysis.errors import ExportError
from analysis.reading.sources import Source
from app.engraving.overlay_painting import paint_overlay
from app.engraving.painting import Ink, paint_page
from app.engraving.palettes import LIGHT
from app.export.score_sheets import HEIGHT, WIDTH, Sheet, lay_out_sheets
from app.review.document import Document

#: Ten dots to a millimetre would round thin lines; this is ten times as fine.
_DOTS_PER_INCH: Final = 2540
_DOTS: Final = _DOTS_PER_INCH / 254
_INK: Final = Ink(LIGHT.ink)
_MOMENT: Final = re.compile(rb"(?<=Date \(D:)\d{14}|(?<=Date=\")\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d")
_ID: Final = re.compile(rb"(?<=uuid:)[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
_TRAILER_ID: Final = re.compile(rb"(?<=/ID \[ <)[0-9a-fA-F]+(?:> <[0-9a-fA-F]+)?")


def to_pdf(document: Document, source: Source) -> bytes:
    """The whole score with its shown marks, page numbers, legend and a word of caution.

    Raises
    ------
    EngravingError
        If the score cannot be engraved.
    ExportError
        If the file cannot be made.
    """
    return pdf_of(lay_out_sheets(document, source), document.score.title or document.source.name)


def pdf_of(sheets: list[Sheet], title: str) -> bytes:
    """Sheets as a PDF file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(_DOTS_PER_INCH)
    writer.setTitle(title)
    writer.setCreator("Overstave")
    size = QSizeF(WIDTH / 10, HEIGHT / 10)
    writer.setPageSize(
        QPageSize(size, QPageSize.Unit.Millimeter, "", QPageSize.SizeMatchPolicy.ExactMatch)
    )
    writer.setPageMargins(QMarginsF(0, 0, 0, 0))
    painter = QPainter()
    if not painter.begin(writer):
        raise ExportError("The PDF could not be begun; there may be too little memory.")
    for number, sheet in enumerate(sheets):
        if number:
            writer.newPage()
        painter.save()
        painter.scale(_DOTS, _DOTS)
        _paint(painter, sheet)
        painter.restore()
    painter.end()
    return _always_alike(bytes(buffer.data().data()))


def _paint(painter: QPainter, sheet: Sheet) -> None:
    if sheet.page is not None:
        painter.save()
        painter.scale(sheet.scale, sheet.scale)
        paint_page(painter, sheet.page, _INK)
        paint_overlay(painter, sheet.marks, LIGHT)
        painter.restore()
    paint_overlay(painter, sheet.around, LIGHT)


def _always_alike(content: bytes) -> bytes:
    """The file without the moment and the id of its making; every place in it stays."""
    still = _MOMENT.sub(
        lambda m: b"20000101000000" if b"-" not in m[0] else b"2000-01-01T00:00:00", content
    )
    still = _ID.sub(b"00000000-0000-0000-0000-000000000000", still)
    still = _TRAILER_ID.sub(lambda m: re.sub(rb"[0-9a-fA-F]", b"0", m[0]), still)
    digest = hashlib.sha256(still).hexdigest().encode()
    own = b"-".join(
        digest[start:end] for start, end in ((0, 8), (8, 12), (12, 16), (16, 20), (20, 32))
    )
    return _ID.sub(own, still)
