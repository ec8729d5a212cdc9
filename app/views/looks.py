"""Colours of the window, light and dark, and what follows from them.

Nothing is told by colour alone: kinds of mark differ by sign and place, states by sign and type.
The accent is the blue of Okabe and Ito's colour-blind-safe palette, darkened or lightened until
text in it keeps 4.5:1 against its ground (WCAG 2.2, checked by a test); so is the warning, their
vermillion.

References
----------
Okabe, M., & Ito, K. (2008). Color universal design. W3C: Web Content Accessibility Guidelines 2.2.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from PySide6.QtGui import QColor, QPalette


@dataclass(frozen=True, slots=True)
class Look:
    """Colours as ``#rrggbb``.

    Parameters
    ----------
    frame, desk, paper
        Grounds: of lists and bars, behind the pages, of the page.
    ink, quiet, rule
        Text, text of less weight, and lines that part things.
    accent, on_accent
        What is selected, and text upon it.
    wash
        Ground of a selected place; ink stays readable on it.
    warning
        What needs attention.
    foreign, line
        Frames of foreign notes and strokes along lines, on paper.
    """

    dark: bool
    frame: str
    desk: str
    paper: str
    ink: str
    quiet: str
    rule: str
    accent: str
    on_accent: str
    wash: str
    warning: str
    foreign: str
    line: str

    def palette(self) -> QPalette:
        """The palette of all standard widgets."""
        palette = QPalette()
        role = QPalette.ColorRole
        for name, colour in (
            (role.Window, self.frame),
            (role.WindowText, self.ink),
            (role.Base, self.paper),
            (role.AlternateBase, self.frame),
            (role.Text, self.ink),
            (role.Button, self.frame),
            (role.ButtonText, self.ink),
            (role.BrightText, self.warning),
            (role.ToolTipBase, self.paper),
            (role.ToolTipText, self.ink),
            (role.PlaceholderText, self.quiet),
            (role.Highlight, self.accent),
            (role.HighlightedText, self.on_accent),
            (role.Accent, self.accent),
            (role.Link, self.accent),
            (role.Light, self.paper),
            (role.Midlight, self.frame),
            (role.Mid, self.rule),
            (role.Dark, self.rule),
            (role.Shadow, self.rule),
        ):
            palette.setColor(name, QColor(colour))
        for name in (role.WindowText, role.Text, role.ButtonText):
            palette.setColor(QPalette.ColorGroup.Disabled, name, QColor(self.quiet))
        return palette

    def style_sheet(self) -> str:
        """What the palette cannot say: thin rules instead of frames, room to breathe."""
        return f"""
        QSplitter::handle {{ background: {self.rule}; }}
        QSplitter::handle:horizontal {{ width: 1px; }}
        QSplitter::handle:vertical {{ height: 1px; }}
        QAbstractScrollArea {{ border: none; }}
        QStatusBar {{ border-top: 1px solid {self.rule}; }}
        QStatusBar::item {{ border: none; }}
        QMenuBar {{ border-bottom: 1px solid {self.rule}; padding: 1px 4px; }}
        QScrollBar {{ background: transparent; border: none; }}
        QScrollBar:vertical {{ width: 12px; }}
        QScrollBar:horizontal {{ height: 12px; }}
        QScrollBar::handle {{ background: {self.rule}; border-radius: 4px; margin: 2px; }}
        QScrollBar::handle:hover {{ background: {self.quiet}; }}
        QScrollBar::handle:vertical {{ min-height: 32px; }}
        QScrollBar::handle:horizontal {{ min-width: 32px; }}
        QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
        QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
        QListWidget::item, QUndoView::item, QTreeView::item {{ padding: 3px 4px; }}
        QToolTip {{ border: 1px solid {self.rule}; padding: 4px 6px; }}
        QLabel[quiet="true"] {{ color: {self.quiet}; }}
        QLabel[warning="true"] {{ color: {self.warning}; }}
        QPlainTextEdit, QLineEdit {{
            border: 1px solid {self.rule}; border-radius: 3px; padding: 3px 5px;
            background: {self.paper};
        }}
        QPlainTextEdit:focus, QLineEdit:focus {{ border-color: {self.accent}; }}
        """


LIGHT: Final = Look(
    dark=False,
    frame="#f4f2ed",
    desk="#e2dfd8",
    paper="#fffefa",
    ink="#1d1c1a",
    quiet="#68645c",
    rule="#cdc9bf",
    accent="#005f97",
    on_accent="#ffffff",
    wash="#d6e7f2",
    warning="#a53f00",
    foreign="#d55e00",
    line="#009e73",
)

DARK: Final = Look(
    dark=True,
    frame="#212327",
    desk="#17181b",
    paper="#26292e",
    ink="#eae7e0",
    quiet="#a8a49b",
    rule="#42454b",
    accent="#7cc3f0",
    on_accent="#10212c",
    wash="#1c394d",
    warning="#f29a63",
    foreign="#e0702a",
    line="#00a87a",
)
