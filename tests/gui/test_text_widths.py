"""Text set by arithmetic is as wide as Qt's own text engine would set it in the same font."""

from __future__ import annotations

from importlib.resources import files

import pytest
from PySide6.QtGui import QFont, QFontDatabase, QFontMetricsF
from pytestqt.qtbot import QtBot

from app.engraving.metrics import Face
from app.engraving.musictext import set_text

FACES: dict[Face, str] = {"regular": "FiraSans-Regular.ttf", "semibold": "FiraSans-SemiBold.ttf"}
#: No fi or fl: their ligatures are not formed here.
SENTENCES = (
    "The tonic waits; Type AVATAR, Wave, “Yes” – 4.5 × 7.",
    "To. Ty, Va: measure 16 · Chorus 1 (again)",
    "über naïve Łódź Ångström, Ωμέγα, Вальс",
)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("sentence", SENTENCES)
def test_widths_agree_with_qt(qtbot: QtBot, face: Face, sentence: str) -> None:
    content = (files("fontpkg_fira_sans") / "files" / FACES[face]).read_bytes()
    number = QFontDatabase.addApplicationFontFromData(content)
    font = QFont(QFontDatabase.applicationFontFamilies(number)[0])
    font.setWeight(QFont.Weight.Normal if face == "regular" else QFont.Weight.DemiBold)
    font.setPixelSize(1000)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    assert set_text(sentence, 1000.0, face).width == pytest.approx(
        QFontMetricsF(font).horizontalAdvance(sentence), abs=1.0
    )
