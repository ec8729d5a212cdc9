"""How the window looks: colours, size of text, layers of the score, and how things are written."""

from __future__ import annotations

from functools import partial
from typing import Final, cast

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction, QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from app.engraving.labels import LAYERS, Layer
from app.preferences import LookChoice, Preferences
from app.review.writing import Writing, degree_words
from app.views.export_room_ticks import TICKED, outlined
from app.views.looks import DARK, LIGHT
from app.views.workbench import Workbench
from app.views.writing_dialog import WritingDialog

#: Layers that are no kind of mark.
MORE_LAYERS: Final = ("symbols", "degrees")
_STEP: Final = 1.1
_SIZES: Final = (0.7, 2.5)


class Appearance(QObject):
    """The looks of one window, by the user's preferences."""

    #: Marks are written otherwise, so what is open must be shown again.
    writing_changed = Signal()
    #: The `Look` is another one.
    look_changed = Signal(object)

    def __init__(
        self,
        window: QWidget,
        preferences: Preferences,
        workbench: Workbench,
        actions: dict[str, QAction],
    ) -> None:
        super().__init__(window)
        self._window = window
        self._preferences = preferences
        self._workbench = workbench
        self._actions = actions
        self._text_size = QApplication.font().pointSizeF()
        self._system = QGuiApplication.styleHints().colorScheme()
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._follow_system)

    def restore(self) -> None:
        """Look as the user left it."""
        for layer in (*LAYERS, *MORE_LAYERS):
            shown = layer not in self._preferences.hidden_layers
            self._actions[f"toggle_layer {layer}"].setChecked(shown)
        self._actions[f"set_look {self._preferences.look}"].setChecked(True)
        self._show_writing()
        self._show_look()
        self._show_text_size()

    # Layers and writing

    def toggle_layer(self, layer: str) -> None:
        """Show or hide one layer of the score."""
        hidden = [name for name in self._preferences.hidden_layers if name != layer]
        if not self._actions[f"toggle_layer {layer}"].isChecked():
            hidden.append(layer)
        self._preferences.hidden_layers = hidden
        self._show_layers()

    def choose_writing(self) -> None:
        """Ask how numerals and names are written."""
        dialog = WritingDialog(self._preferences.writing, self._window)
        dialog.writing_requested.connect(self.set_writing)
        dialog.open()

    def set_writing(self, writing: Writing) -> None:
        """Write numerals and names so from now on."""
        self._preferences.writing = writing
        self._show_writing()
        self.writing_changed.emit()

    def _show_layers(self) -> None:
        hidden, score = self._preferences.hidden_layers, self._workbench.score
        shown: frozenset[Layer] = frozenset(layer for layer in LAYERS if layer not in hidden)
        score.set_layers(shown)
        score.leave_out(frozenset({"harm"}) if "symbols" in hidden else frozenset())
        words = partial(degree_words, degrees=self._preferences.writing.degrees)
        score.set_degrees(None if "degrees" in hidden else words)

    def _show_writing(self) -> None:
        bench = self._workbench
        for view in (bench.score, bench.timeline, bench.detail):
            view.set_writing(self._preferences.writing)
        self._show_layers()

    # Colours and sizes

    def set_look(self, choice: str) -> None:
        """Light, dark, or as the system says."""
        self._preferences.look = cast("LookChoice", choice)
        self._show_look()

    def _follow_system(self, scheme: Qt.ColorScheme) -> None:
        self._system = scheme
        if self._preferences.look == "system":
            self._show_look()

    def _show_look(self) -> None:
        choice = self._preferences.look
        system_dark = self._system == Qt.ColorScheme.Dark
        look = DARK if choice == "dark" or (choice == "system" and system_dark) else LIGHT
        QApplication.setPalette(look.palette())
        for widget in TICKED:
            # The binding takes text alone here, whatever its types say.
            QApplication.setPalette(outlined(look), widget)  # type: ignore[arg-type]
        self._window.setStyleSheet(look.style_sheet())
        self._workbench.set_look(look)
        self.look_changed.emit(look)

    def larger(self) -> None:
        """Enlarge the interface; the score is then made for larger staves, too."""
        self.set_text_scale(self._preferences.text_scale * _STEP)

    def smaller(self) -> None:
        """Make the interface smaller."""
        self.set_text_scale(self._preferences.text_scale / _STEP)

    def usual_size(self) -> None:
        """Give the interface the system's size."""
        self.set_text_scale(1.0)

    def set_text_scale(self, scale: float) -> None:
        """Give the interface so many times the size of the system's, and the sides their room."""
        before = self._preferences.text_scale
        self._preferences.text_scale = min(max(scale, _SIZES[0]), _SIZES[1])
        self._show_text_size()
        self._workbench.follow_letters(before, self._preferences.text_scale)

    def _show_text_size(self) -> None:
        font = QApplication.font()
        font.setPointSizeF(self._text_size * self._preferences.text_scale)
        QApplication.setFont(font)
        self._window.setFont(font)  # widgets under a style sheet do not follow the application
