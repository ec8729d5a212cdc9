"""What the program remembers between starts: recent files, look, text size, layout."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any, Final, Literal, cast

from PySide6.QtCore import QByteArray, QSettings

from analysis.vocabulary.numerals import Convention
from app.review.writing import Writing

LookChoice = Literal["system", "light", "dark"]
#: How many recent files are kept.
RECENT: Final = 10
#: What each choice of writing may be.
_WRITING: Final[dict[str, dict[str, Any]]] = {
    "numerals": {one: one for one in ("own", "major", "mode")},
    "inversions": {one: one for one in ("figures", "slash")},
    "names": {one: one for one in ("english", "german", "fixed do")},
    "degrees": {one: one for one in ("numbers", "movable do")},
}


class Preferences:
    """Typed access to the settings of one user."""

    def __init__(self, settings: QSettings | None = None) -> None:
        self._settings = settings or QSettings("Overstave", "Overstave")

    @property
    def recent(self) -> list[Path]:
        """Files opened before, the last one first; those that are gone are left out."""
        return [path for path in map(Path, self._texts("recent", [])) if os.path.exists(path)]

    def add_recent(self, path: Path) -> None:
        """Put a file at the head of the list."""
        names = [str(path), *(str(other) for other in self.recent if other != path)]
        self._settings.setValue("recent", names[:RECENT])

    @property
    def folder(self) -> str:
        """Where the last file was opened or saved."""
        return str(self._settings.value("folder", ""))

    @folder.setter
    def folder(self, folder: str) -> None:
        self._settings.setValue("folder", folder)

    @property
    def look(self) -> LookChoice:
        """Light, dark, or as the system says."""
        value = self._settings.value("look", "system")
        return "light" if value == "light" else "dark" if value == "dark" else "system"

    @look.setter
    def look(self, look: LookChoice) -> None:
        self._settings.setValue("look", look)

    @property
    def guided(self) -> bool:
        """Whether the user has seen the first steps."""
        return bool(self._settings.value("guided", False, type=bool))

    @guided.setter
    def guided(self, guided: bool) -> None:
        self._settings.setValue("guided", guided)

    @property
    def text_scale(self) -> float:
        """Size of text in lists and menus against the system's."""
        try:
            return min(max(float(cast("float", self._settings.value("text_scale", 1.0))), 0.7), 2.5)
        except (TypeError, ValueError):
            return 1.0

    @text_scale.setter
    def text_scale(self, scale: float) -> None:
        self._settings.setValue("text_scale", scale)

    @property
    def hidden_layers(self) -> list[str]:
        """Layers of marks that are not shown."""
        return self._texts("hidden_layers", ["degrees"])

    @hidden_layers.setter
    def hidden_layers(self, layers: list[str]) -> None:
        self._settings.setValue("hidden_layers", layers)

    @property
    def writing(self) -> Writing:
        """How numerals, names of notes and degrees are written."""
        chosen = {name: str(self._settings.value(f"writing/{name}", "")) for name in _WRITING}
        read = {name: _WRITING[name].get(value) for name, value in chosen.items()}
        return Writing(
            Convention(read["numerals"] or "own", read["inversions"] or "figures"),
            read["names"] or "english",
            read["degrees"] or "numbers",
        )

    @writing.setter
    def writing(self, writing: Writing) -> None:
        for name, value in (
            ("numerals", writing.convention.degrees),
            ("inversions", writing.convention.inversions),
            ("names", writing.naming),
            ("degrees", writing.degrees),
        ):
            self._settings.setValue(f"writing/{name}", value)

    def _texts(self, name: str, otherwise: list[str]) -> list[str]:
        """A list of texts; a file of settings may hold anything."""
        value = self._settings.value(name, otherwise)
        values = value if isinstance(value, list) else [value]
        return [one for one in values if isinstance(one, str)]

    def state(self, name: str) -> QByteArray | None:
        """A saved layout, such as that of a splitter."""
        value = self._settings.value(f"layout/{name}")
        return value if isinstance(value, QByteArray) else None

    def save_state(self, name: str, state: QByteArray) -> None:
        """Keep a layout."""
        self._settings.setValue(f"layout/{name}", state)
