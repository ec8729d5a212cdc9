"""What the timeline shows: the form of the piece running down, measures to scale.

Sections, keys and marks stand at their time. The functions of the chords are letters on three
rails, tonic, subdominant and dominant, joined by a thread, so that the course of the harmony is a
line with a shape; beside it a bar for each measure is as long as the measure has chords. A frame on
the measure numbers says what the score shows at the moment. Where not all is in view, the whole
piece stands at the side.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import Final

from PySide6.QtCore import QEvent, QPoint, QRectF, QSize, Qt
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from analysis.timebase import Fraction, Span
from app.interface_words import Phrase, said
from app.review.document import Document, ReviewedMark
from app.review.section_edits import sections_of
from app.review.selection import NOTHING, Selection
from app.review.writing import Writing
from app.views.looks import LIGHT, Look
from app.views.timeline_hits import TimelinePlaces
from app.views.timeline_layout import (
    Columns,
    LaneSign,
    lane_marks,
    lanes_of,
    looks_alike,
    signs_again,
)
from app.views.timeline_overview import WIDTH, TimelineOverview
from app.views.timeline_painting import Dragged, TimelinePainter
from app.views.timeline_pictures import TimelinePictures
from app.views.timeline_scale import Run, Scale, played_runs, written_runs
from app.views.typing_line import Check, Take, TypingLine

#: Pixels a quarter note at most, and how much one step of the wheel changes.
MOST_RATE: Final = 60.0
ZOOM_STEP: Final = 1.2
#: Pixels around what has to be painted again, for smooth edges.
EDGE: Final = 3.0
_MOMENT: Final = Fraction(1, 1024)


class TimelineFrame(QAbstractScrollArea):
    """Shows where in time everything is, at a scale and in an order."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Timeline"))
        self.setAccessibleDescription(said("Sections, keys, functions and marks over time"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.viewport().setMouseTracking(True)
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        self._look = LIGHT
        self._document: Document | None = None
        self._selection = NOTHING
        self._shown: Span | None = None
        self._played = False
        self._waiting = False
        self._writing = Writing()
        self._runs: tuple[Run, ...] = ()
        self._rate = 0.0
        self._fits = True
        self._signs: tuple[LaneSign, ...] = ()
        self._names = 0.0
        self._lanes: tuple[tuple[Phrase, int], ...] = ()
        #: Names of sections and their font, with the width of the longest.
        self._named: tuple[tuple[list[str], str], float] = (([], ""), 0.0)
        self._signs_of: tuple[tuple[ReviewedMark, ...], float, float] = ((), 0.0, 0.0)
        self._border: Dragged | None = None
        self._hinted = QSize()
        self._pictures = TimelinePictures()
        self.overview = TimelineOverview(self)
        self.overview.share_requested.connect(self._go_to_share)
        self.typing = TypingLine(self.viewport())
        self.typing.closed.connect(self.setFocus)
        self.verticalScrollBar().valueChanged.connect(self.typing.drop)
        self.verticalScrollBar().valueChanged.connect(self._show_overview)

    def show_document(self, document: Document | None) -> None:
        """Show another document, or another state of the same one."""
        is_other = document is None or self._document is None
        is_other = is_other or document.score is not self._document.score  # type: ignore[union-attr]
        before, self._document = self._document, document
        self._border = None
        if is_other:
            self._fits = True
            self._show_order()
        signs = self._signs
        self._work_out()
        if signs is not self._signs or not looks_alike(before, document):
            self.viewport().update()

    def show_selection(self, selection: Selection) -> None:
        """Mark the selected place, and bring it into view."""
        before, self._selection = self._selection, selection
        if selection.span is not None:
            self._reveal(selection.span)
        self._show_overview()
        for one in (before, selection):
            self._update_selected(one)

    def _update_selected(self, selection: Selection) -> None:
        """Have all that shows a selection painted again: its stretches from side to side."""
        spans = [] if selection.span is None else [selection.span]
        if selection.mark:
            for sign in self._signs:
                if sign.mark.id == selection.mark:
                    spans += sign.stretches
        width, scale = self.viewport().width(), self.scale
        for run in scale.runs:
            for span in spans:
                if span.overlaps(run.written) or span.start in run.written:
                    top, bottom = scale.y_in(run, span.start), scale.y_in(run, span.end)
                    height = max(bottom - top, 1.2 * self._em)
                    band = QRectF(0, top - EDGE, width, height + 2 * EDGE)
                    self.viewport().update(band.toAlignedRect())

    def show_place(self, span: Span | None) -> None:
        """Frame the stretch that the score shows."""
        if span != self._shown:
            self._shown = span
            right = ceil(self.columns.numbers_end + self._em)
            self.viewport().update(0, 0, right, self.viewport().height())

    def show_waiting(self, waiting: bool) -> None:
        """Say whether what is shown waits for an analysis."""
        if waiting != self._waiting:
            self._waiting = waiting
            self.viewport().update()

    def set_writing(self, writing: Writing) -> None:
        """Write names of notes in another way."""
        self._writing = writing
        self.viewport().update()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._look = look
        self.overview.set_look(look)
        self.viewport().update()

    def set_played_order(self, played: bool) -> None:
        """Unfold repeats, or show what is written."""
        self._played = played
        self._show_order()
        self._arrange()

    def ask_text(self, span: Span, what: str, text: str, check: Check, take: Take) -> None:
        """Let the user type something about a place."""
        self._reveal(span)
        at = QPoint(round(self.columns.sections), round(self.scale.y(span.start) + 0.2 * self._em))
        self.typing.ask(at, what, text, check, take)

    def zoom_in(self) -> None:
        """Show less time in more detail."""
        self._zoom(ZOOM_STEP, self.viewport().height() / 2)

    def zoom_out(self) -> None:
        """Show more time."""
        self._zoom(1 / ZOOM_STEP, self.viewport().height() / 2)

    def fit(self) -> None:
        """Show the whole piece."""
        self._fits = True
        self._arrange()

    @property
    def columns(self) -> Columns:
        """Where the columns stand."""
        return Columns(self._em, self._lanes, self._names)

    @property
    def scale(self) -> Scale:
        """Where times stand in the viewport."""
        return Scale(self._head - self.verticalScrollBar().value(), self._rate, self._runs)

    @property
    def places(self) -> TimelinePlaces:
        """What lies where in the viewport, scrolled to its left edge."""
        assert self._document
        return TimelinePlaces(self._document, self.columns, self.scale, self._signs, self._head)

    def sizeHint(self) -> QSize:
        """As wide as the columns."""
        return QSize(int(self.columns.width + 2 * self._em) + WIDTH, 400)

    @property
    def _em(self) -> float:
        return float(self.fontMetrics().height()) * 0.86

    @property
    def _head(self) -> float:
        """Height of the heading, which stays where it is."""
        return 2.0 * self._em

    def _show_order(self) -> None:
        self._runs = ()
        if self._document and self._document.score.measures:
            order = played_runs if self._played else written_runs
            self._runs = order(self._document.score)

    def _arrange(self) -> None:
        """Show all in another size, order or zoom."""
        self._work_out()
        self.viewport().update()

    def _work_out(self) -> None:
        """Work out scale, signs and scroll range."""
        length = float(self.scale.length)
        room = self.viewport().height() - self._head - self._em
        if self._fits and length:
            # A piece too long to fit legibly is shown at the least legible scale and scrolls.
            self._rate = min(MOST_RATE, max(self._least_rate(), room / length))
        self._rate = max(self._rate, room / length if length else 1.0, 0.01)
        bar = self.verticalScrollBar()
        bar.setRange(0, max(0, round(self._rate * length - room)))
        bar.setPageStep(max(1, round(room)))
        bar.setSingleStep(max(1, round(2 * self._em)))
        self._names = self._width_of_names()
        marks = lane_marks(self._document) if self._document else ()
        given = (marks, self._rate, self._em)
        if given != self._signs_of:
            self._signs = signs_again(self._signs, self._signs_of, given)
            self._signs_of, self._lanes = given, lanes_of(self._signs)
        margin = WIDTH if bar.maximum() else 0
        if self.viewportMargins().right() != margin:
            self.setViewportMargins(0, 0, margin, 0)
        self.overview.setVisible(bar.maximum() > 0)
        across = self.horizontalScrollBar()
        across.setRange(0, max(0, round(self.columns.width - self.viewport().width())))
        across.setPageStep(self.viewport().width())
        self._place_overview()
        self._show_overview()
        if self.sizeHint() != self._hinted:  # or the whole window is laid out at each decision
            self._hinted = self.sizeHint()
            self.updateGeometry()

    def _width_of_names(self) -> float:
        """The width of the longest name of a section."""
        sections = sections_of(self._document) if self._document else ()
        names = [section.name or section.label for section in sections]
        given = (names, self.font().toString())
        if given != self._named[0]:  # measured once, and asked for at each decision
            self._named = (given, self._widest(names))
        return self._named[1]

    def _widest(self, names: Sequence[str]) -> float:
        font = QFont(self.font())
        font.setWeight(QFont.Weight.DemiBold)
        metrics = QFontMetricsF(font)
        return max(map(metrics.horizontalAdvance, names), default=0.0)

    def _least_rate(self) -> float:
        """The scale at which a measure still has the height of half a line of text."""
        if not self._document or not self._document.score.measures:
            return 1.0
        lengths = sorted(measure.length for measure in self._document.score.measures)
        return 0.6 * self._em / max(float(lengths[len(lengths) // 2]), 0.25)

    def _zoom(self, factor: float, y: float) -> None:
        """Change the scale; the time at height ``y`` stays there."""
        if not self._document:
            return
        held = (y - self.scale.top) / self._rate
        self._fits = False
        self._rate = min(MOST_RATE, self._rate * factor)
        self._arrange()
        self.verticalScrollBar().setValue(round(self._head + held * self._rate - y))

    def _reveal(self, span: Span) -> None:
        bar = self.verticalScrollBar()
        top, bottom = self.scale.y(span.start), self.scale.y(span.end)
        if top < self._head or min(bottom, top + self._em) > self.viewport().height():
            middle = (self._head + self.viewport().height()) / 2
            bar.setValue(bar.value() + round(top - middle))

    # Overview

    def _place_overview(self) -> None:
        frame = self.contentsRect()
        self.overview.setGeometry(frame.right() - WIDTH + 1, frame.top(), WIDTH, frame.height())

    def _show_overview(self) -> None:
        length = float(self.scale.length)
        if not length:
            return
        whole = length * self._rate
        top = self._head - self.scale.top
        view = (top / whole, (top + self.viewport().height() - self._head) / whole)
        span, selected = self._selection.span, None
        if span is not None:
            ends = (self.scale.y(span.start), self.scale.y(span.end))
            selected = tuple((y - self.scale.top) / whole for y in ends)
        self.overview.show_state(
            self._document,
            self.scale,
            (max(0.0, view[0]), min(1.0, view[1])),
            (selected[0], selected[1]) if selected else None,
        )

    def _go_to_share(self, share: float) -> None:
        whole = float(self.scale.length) * self._rate
        room = self.viewport().height() - self._head
        self.verticalScrollBar().setValue(round(share * whole - room / 2))

    # Events

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint what is visible."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), QColor(self._look.frame))
        if self._document and self._runs:
            across = self.horizontalScrollBar().value()
            painter.translate(-across, 0)
            self._painter(painter, self._document).paint_ground()
            painter.translate(across, 0)
            self._paint_kept(painter, self._document, across)
            painter.translate(-across, 0)
            self._painter(painter, self._document).paint_over()
        if self.hasFocus():
            painter.resetTransform()
            painter.setPen(QPen(QColor(self._look.accent), 1))
            painter.drawRect(QRectF(self.viewport().rect()).adjusted(0.5, 0.5, -0.5, -0.5))
        painter.end()

    def _paint_kept(self, painter: QPainter, document: Document, across: int) -> None:
        """All but what is selected, shown by the score, or dragged."""
        size, ratio = self.viewport().size(), self.devicePixelRatioF()
        common = (self.columns, across, size, ratio, self.font().key(), self._look)
        given = (
            *(document.score.measures, document.analysis.chords, document.analysis.key_regions),
            *(sections_of(document), document.section_colours, self.scale),
            *(common, self._writing),
        )
        timeline = self._painter(painter, document)
        painter.drawPixmap(0, 0, self._pictures.whole(given, size, ratio, across, timeline))
        top = QSize(size.width(), ceil(self._head))
        over = (*common, self._waiting)
        painter.drawPixmap(0, 0, self._pictures.heading(over, top, ratio, across, timeline))

    def _painter(self, painter: QPainter, document: Document) -> TimelinePainter:
        return TimelinePainter(
            painter=painter,
            font=self.font(),
            look=self._look,
            document=document,
            columns=self.columns,
            scale=self.scale,
            signs=self._signs,
            selection=self._selection,
            shown=self._shown,
            head=self._head,
            height=float(self.viewport().height()),
            dragged=self._border,
            waiting=self._waiting,
            writing=self._writing,
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the whole piece in view where it was."""
        super().resizeEvent(event)
        self._arrange()

    def changeEvent(self, event: QEvent) -> None:
        """Follow a change of the text size."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._arrange()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Zoom at the pointer with Ctrl, else scroll."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            steps = event.angleDelta().y() / 120
            self._zoom(ZOOM_STEP**steps, event.position().y())
            event.accept()
        else:
            super().wheelEvent(event)
