"""Two passages one under the other, in place of the score while they are compared."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractScrollArea,
    QComboBox,
    QLabel,
    QPushButton,
    QToolTip,
    QVBoxLayout,
    QWidget,
)

from analysis.marks import ChordDifference
from app.engraving.alignments import PairLine
from app.engraving.comparisons import Comparison, compare
from app.engraving.layouts import STAFF_HEIGHT
from app.engraving.overlay_painting import paint_overlay
from app.engraving.painting import Ink, PagePainter
from app.interface_words import counted, said
from app.review.document import Document
from app.review.selection import NOTHING, Selection
from app.views.flow_layout import FlowLayout
from app.views.looks import LIGHT, Look
from app.views.page_column import element_at
from app.views.page_marks import palette_of
from app.views.pairs import Pair
from app.views.places import element_text, place_text
from app.views.selections import selection_of_element, selection_of_mark

#: Height of a staff in lines of the view's text, and the widths that pictures have, in page units.
STAFF_LINES = 2.2
WIDTHS = (1200.0, 3200.0)
#: How far a label reaches for the mouse, in page units.
SLACK = 6.0


class ComparisonView(QWidget):
    """Chooses a pair and shows its picture; asks for pairs, selections, and to be closed."""

    #: Index of a pair in the list.
    pair_requested = Signal(int)
    selection_requested = Signal(object)
    close_requested = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Comparison"))
        self.pair_box = QComboBox()
        self.pair_box.setAccessibleName(said("Passages to compare"))
        self.pair_box.setSizeAdjustPolicy(
            QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon
        )
        self.pair_box.setMinimumContentsLength(42)
        self.pair_box.setMinimumWidth(80)
        self.summary = QLabel()
        self.summary.setProperty("quiet", True)
        self.close_button = QPushButton(said("Back to the &Score"))
        self.picture = ComparisonPicture()
        head = FlowLayout(spacing=12)
        head.setContentsMargins(10, 8, 10, 8)
        head.addWidget(self.pair_box)
        head.addWidget(self.summary)
        head.addWidget(self.close_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(head)
        layout.addWidget(self.picture, 1)
        self.pair_box.activated.connect(self.pair_requested)
        self.close_button.clicked.connect(self.close_requested)
        self.picture.selection_requested.connect(self.selection_requested)

    def show_pairs(self, pairs: tuple[Pair, ...], at: int) -> None:
        """Offer pairs, one of them chosen."""
        self.pair_box.clear()
        self.pair_box.addItems([pair.name for pair in pairs])
        self.pair_box.setCurrentIndex(at)

    def show_pair(
        self, document: Document, pair: Pair, differences: tuple[ChordDifference, ...]
    ) -> None:
        """Begin with a pair; its lines come one by one."""
        count = len(differences)
        differing = counted("One chord differs", "{count} chords differ", count)
        self.summary.setText(differing if count else said("The same chords"))
        self.picture.show_pair(document, pair, differences)

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self.picture.set_look(look)


class ComparisonPicture(QAbstractScrollArea):
    """The picture of a pair, as wide as the view."""

    selection_requested = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(said("Passages one under the other"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.viewport().setMouseTracking(True)
        self._look = LIGHT
        self._document: Document | None = None
        self._pair: Pair | None = None
        self._differences: tuple[ChordDifference, ...] = ()
        self._lines: list[PairLine] = []
        self._found = Comparison(1.0, 1.0)
        self._painters: list[PagePainter] = []
        self._selection = NOTHING
        self.verticalScrollBar().valueChanged.connect(lambda _: self.viewport().update())

    @property
    def found(self) -> Comparison:
        """What is shown."""
        return self._found

    @property
    def wanted_width(self) -> float:
        """The width in page units at which the picture is easy to read in this view."""
        staff = STAFF_LINES * self.fontMetrics().height()
        width = self.viewport().width() * STAFF_HEIGHT / staff
        return min(max(width, WIDTHS[0]), WIDTHS[1])

    def show_pair(
        self, document: Document, pair: Pair, differences: tuple[ChordDifference, ...]
    ) -> None:
        """Begin with a pair."""
        self._document, self._pair, self._differences = document, pair, differences
        self._lines = []
        self._lay_out()
        self.verticalScrollBar().setValue(0)

    def add_line(self, line: PairLine) -> None:
        """Show a further line."""
        self._lines.append(line)
        self._lay_out()

    def show_document(
        self, document: Document | None, differences: tuple[ChordDifference, ...]
    ) -> None:
        """Show the same passages as they are now called."""
        self._document, self._differences = document, differences
        self._lay_out()

    def show_selection(self, selection: Selection) -> None:
        """Frame the selected mark."""
        self._selection = selection
        self.viewport().update()

    def set_look(self, look: Look) -> None:
        """Paint in other colours."""
        self._look = look
        self.viewport().update()

    @property
    def scale(self) -> float:
        """Pixels a page unit."""
        return self.viewport().width() / self._found.width

    def sizeHint(self) -> QSize:
        """As large as a score."""
        return QSize(800, 600)

    def _lay_out(self) -> None:
        self._found = Comparison(1.0, 1.0)
        if self._document is not None and self._pair is not None and self._lines:
            self._found = compare(
                self._document, self._pair.first, self._pair.later, self._differences,
                self._lines, self.wanted_width,
            )  # fmt: skip
        self._painters = [PagePainter(page) for page in self._found.pages]
        self._arrange()

    def _arrange(self) -> None:
        room = self.viewport().height()
        bar = self.verticalScrollBar()
        bar.setRange(0, max(0, round(self._found.height * self.scale) - room))
        bar.setPageStep(max(1, round(0.9 * room)))
        bar.setSingleStep(40)
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint bands, music and labels."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), QColor(self._look.paper))
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.translate(0, -self.verticalScrollBar().value())
        painter.scale(self.scale, self.scale)
        for band in self._found.bands:
            painter.fillRect(QRectF(*band), QColor(self._look.wash))
        for page in self._painters:
            page.paint(painter, Ink(self._look.ink))
        palette = palette_of(self._look)
        paint_overlay(painter, self._found.overlay.strokes, palette)
        for box in (
            self._found.overlay.boxes_of(self._selection.mark) if self._selection.mark else ()
        ):
            painter.setPen(QColor(self._look.accent))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRoundedRect(QRectF(*box).adjusted(-6, -6, 6, 6), 6, 6)
        painter.end()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the picture as wide as the view."""
        super().resizeEvent(event)
        self._arrange()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Select a chord or a note."""
        if event.button() == Qt.MouseButton.LeftButton and self._document:
            mark, element = self._under(event.position())
            if mark:
                self.selection_requested.emit(selection_of_mark(self._document.mark(mark)))
            elif element:
                self.selection_requested.emit(selection_of_element(self._document, element))

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what is under the pointer."""
        if isinstance(event, QHelpEvent) and self._document:
            mark, element = self._under(QPointF(event.pos()))
            text = element_text(self._document, element) if element else ""
            if mark:
                reviewed = self._document.mark(mark)
                place = place_text(self._document.score, reviewed.mark.span.start)
                text = said("{place}: {sentence}", place=place, sentence=reviewed.sentence)
            QToolTip.showText(event.globalPos(), text, self)
            return True
        return super().viewportEvent(event)

    def _under(self, point: QPointF) -> tuple[str, str]:
        """Ids of the mark and the note at a point of the viewport, empty where none is."""
        x = point.x() / self.scale
        y = (point.y() + self.verticalScrollBar().value()) / self.scale
        mark = self._found.overlay.mark_at(x, y, SLACK) or ""
        for page in self._found.pages:
            element = element_at(page, x, y, page.boxes)
            if element:
                return mark, element
        return mark, ""
