"""Overlays painted by Qt, in page units, over a page that has been painted."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from PySide6.QtGui import QColor, QPainter

from app.engraving.labels import Toned
from app.engraving.painting import paint_shapes
from app.engraving.palettes import Palette


def paint_overlay(painter: QPainter, strokes: Iterable[Toned], palette: Palette) -> None:
    """Paint toned shapes in their order; the painter's transform maps page units to the device."""
    for tone, run in groupby(strokes, key=lambda stroke: stroke.tone):
        paint_shapes(painter, (stroke.shape for stroke in run), QColor(palette.colour(tone)))
