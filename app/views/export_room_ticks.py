"""Boxes to tick that are seen on a dark ground."""

from __future__ import annotations

from typing import Final

from PySide6.QtGui import QColor, QPalette

from app.views.looks import Look

#: The style draws the outline of a box so much darker than the ground of a window.
_DARKER: Final = 140
#: Widgets with a box or a ring of their own to tick, by class.
TICKED: Final = ("QCheckBox", "QRadioButton", "QMenu")


def outlined(look: Look) -> QPalette:
    """A palette whose boxes have an outline of quiet ink: 3 : 1 and more against their ground."""
    palette = look.palette()
    palette.setColor(QPalette.ColorRole.Window, QColor(look.quiet).lighter(_DARKER))
    return palette
