"""Text and signs keep their contrast in both looks (WCAG 2.2, 1.4.3 and 1.4.11)."""

import pytest
from PySide6.QtGui import QFont, QFontMetricsF, QRawFont
from PySide6.QtWidgets import QAbstractButton, QApplication, QCheckBox, QRadioButton

from app.engraving.palettes import contrast
from app.start_window import set_up
from app.views.fonts import SIGN_FAMILY, accidental_font
from app.views.looks import DARK, LIGHT, Look
from app.views.signs import KIND_NAMES, SIGNS, STATE_SIGNS
from app.window import Window


@pytest.mark.parametrize("look", [LIGHT, DARK], ids=["light", "dark"])
def test_contrast(look: Look) -> None:
    for ground in (look.frame, look.paper, look.wash):
        assert contrast(look.ink, ground) >= 7
    for ground in (look.frame, look.paper):
        for text in (look.quiet, look.accent, look.warning):
            assert contrast(text, ground) >= 4.5, (text, ground)
    assert contrast(look.on_accent, look.accent) >= 4.5
    assert contrast(look.accent, look.wash) >= 3
    assert contrast(look.quiet, look.wash) >= 4.5
    for graphic in (look.foreign, look.line):
        assert contrast(graphic, look.paper) >= 3


@pytest.mark.parametrize("choice", ["light", "dark"])
@pytest.mark.parametrize("kind", [QCheckBox, QRadioButton])
def test_what_is_to_be_ticked_is_seen_before_it_is(
    choice: str, kind: type[QAbstractButton], window: Window
) -> None:
    window.appearance.set_look(choice)
    button = kind(window)
    button.resize(button.sizeHint())
    image = button.grab().toImage()
    ground = image.pixelColor(image.width() - 1, 0).name()
    row = [image.pixelColor(x, image.height() // 2).name() for x in range(image.width())]
    assert max(contrast(colour, ground) for colour in row) >= 3


def test_every_kind_and_state_has_a_shape_of_its_own() -> None:
    assert set(SIGNS) == set(KIND_NAMES)
    assert len(set(SIGNS.values())) == len(SIGNS)
    assert len(set(STATE_SIGNS.values())) == len(STATE_SIGNS)


def test_accidentals_come_from_the_programs_own_font(qapp: QApplication) -> None:
    set_up(qapp)
    font = QRawFont(accidental_font(), 16.0)
    assert font.familyName() == SIGN_FAMILY
    assert all(font.supportsCharacter(ord(sign)) for sign in "♭♮♯")
    shown = QFont(qapp.font())
    assert QFontMetricsF(shown).horizontalAdvance("♭") == pytest.approx(
        QFontMetricsF(QFont(SIGN_FAMILY, shown.pointSize())).horizontalAdvance("♭"), rel=0.1
    )
