"""The views of a document side by side: timeline, score, and the marks with the chosen one.

While two passages are compared, their picture stands in the place of the score.
"""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QByteArray, Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSplitter, QStackedWidget, QVBoxLayout, QWidget

from app.views.comparison_view import ComparisonView
from app.views.detail_view import DetailView
from app.views.guide_view import GuideView
from app.views.looks import Look
from app.views.marks_view import MarksView
from app.views.score_view import ScoreView
from app.views.timeline_view import TimelineView


class Workbench(QWidget):
    """Holds the views; knows nothing of what they show."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        #: How many times their width the sides have, and are to have, against usual letters.
        self._factor = self._wanted = 1.0
        self.timeline = TimelineView()
        self.score = ScoreView()
        self.marks = MarksView()
        self.detail = DetailView()
        self.comparison = ComparisonView()
        self._middle = QStackedWidget()
        self._middle.addWidget(self.score)
        self._middle.addWidget(self.comparison)
        self.guide = GuideView()
        self.guide.hide()
        queue = QWidget()
        column = QVBoxLayout(queue)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.guide)
        column.addWidget(self.marks, 1)
        self._review = QSplitter(Qt.Orientation.Vertical, childrenCollapsible=False)
        self._review.addWidget(queue)
        self._review.addWidget(self.detail)
        self._review.setSizes([460, 380])
        self._review.setStretchFactor(0, 1)
        self._across = QSplitter(Qt.Orientation.Horizontal, childrenCollapsible=False)
        for widget in (self.timeline, self._middle, self._review):
            self._across.addWidget(widget)
        self._across.setStretchFactor(1, 1)
        self.timeline.setMinimumWidth(160)
        self._middle.setMinimumWidth(320)
        self._review.setMinimumWidth(240)
        self._across.setSizes([344, 744, 352])
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self._across)
        stations = (self.timeline, self.score, *self.marks.stations, self.detail.label_field)
        for one, following in pairwise(stations):
            self.setTabOrder(one, following)

    def show_guide(self, shown: bool) -> None:
        """Show or hide the first steps over the list of marks."""
        if shown and self.guide.isHidden():
            self.guide.begin()
        self.guide.setVisible(shown)

    @property
    def comparing(self) -> bool:
        """Whether the comparison is shown in place of the score."""
        return self._middle.currentWidget() is self.comparison

    def show_comparison(self, shown: bool) -> None:
        """Show the comparison or the score."""
        self._middle.setCurrentWidget(self.comparison if shown else self.score)
        (self.comparison.picture if shown else self.score).setFocus()

    def set_look(self, look: Look) -> None:
        """Paint all in other colours."""
        for view in (
            self.timeline, self.score, self.marks, self.detail, self.comparison, self.guide,
        ):  # fmt: skip
            view.set_look(look)

    def follow_letters(self, before: float, now: float) -> None:
        """Share out the room as the letters grow or shrink; both sizes against the usual one.

        The columns beside the score grow with them, but not into the two fifths of the window that
        are the score's. What is not on screen has no widths yet and takes them when it is shown.
        """
        self._wanted = max(self._wanted * now / before, min(now, 1.0))
        if self.isVisible():
            self._scale_sides()

    def showEvent(self, event: QShowEvent) -> None:
        """Follow the letters that have grown meanwhile."""
        super().showEvent(event)
        self._scale_sides()

    def _scale_sides(self) -> None:
        left, middle, right = self._across.sizes()
        whole, sides = left + middle + right, left + right
        if self._wanted == self._factor or not sides:
            return
        most = max(0.6 * whole / sides, 1.0) * self._factor
        self._wanted = min(self._wanted, most)
        left, right = (round(one * self._wanted / self._factor) for one in (left, right))
        self._factor = self._wanted
        self._across.setSizes([left, whole - left - right, right])

    def states(self) -> dict[str, QByteArray]:
        """How the room is shared out, to be remembered."""
        return {"across": self._across.saveState(), "review": self._review.saveState()}

    def restore(self, name: str, state: QByteArray) -> None:
        """Share out the room as it was."""
        splitter = {"across": self._across, "review": self._review}.get(name)
        if splitter is not None:
            splitter.restoreState(state)
