"""The window's words in the language of whoever works with it.

Each text that a person sees is written in English where it is shown, through `said` (or `counted`
where a number is told, or `phrase` where a table holds it for later), so that one search finds all
of them. Qt looks the text up in the translation that was loaded at the start; where there is none,
the English text itself is shown. Values stand in a text by name, ``{count}``, so that a language
may put them in its own order; no text is put together from pieces of sentences.

What `analysis` says of the music, and what names an error in Qt-free code, is not translated here:
it is content that the person edits and exports, and it is English.

References
----------
Qt 6, *Internationalization with Qt* and *Writing Source Code for Translation*.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final, NewType

from PySide6.QtCore import QCoreApplication, QLibraryInfo, QLocale, QTranslator

#: All texts are looked up under this one name.
CONTEXT: Final = "Overstave"
TRANSLATIONS: Final = Path(__file__).parent / "translations"

#: A text that a table holds in English, to be said when it is shown.
Phrase = NewType("Phrase", str)


def said(text: str, /, **values: object) -> str:
    """Return a literal text in the person's language, ``{names}`` replaced by values."""
    return _filled(QCoreApplication.translate(CONTEXT, text), values)


def counted(one: str, many: str, count: int, /, **values: object) -> str:
    """Return the text for a number, which both literals may name as ``{count}``.

    A translation has as many forms as its language has, all under the text for many.
    """
    text = QCoreApplication.translate(CONTEXT, many, "", count)
    if text == many and count == 1:
        text = one
    return _filled(text, {"count": count, **values})


def phrase(text: str, /) -> Phrase:
    """Mark a literal that a table holds, so that it is found for translation."""
    return Phrase(text)


def said_phrase(text: Phrase, /, **values: object) -> str:
    """Return a text from a table in the person's language."""
    return _filled(QCoreApplication.translate(CONTEXT, text), values)


def install_translation(
    application: QCoreApplication, locale: QLocale, folder: Path = TRANSLATIONS
) -> bool:
    """Load the texts of a language, and Qt's own, where there is a file for it; say whether.

    The file is named after the language or the language and the country: ``de.qm``, ``pt_BR.qm``.
    """
    words = QTranslator(application)
    if not words.load(locale, "", "", str(folder), ".qm"):
        return False
    buttons = QTranslator(application)
    qt_folder = QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath)
    if buttons.load(locale, "qtbase", "_", qt_folder):
        application.installTranslator(buttons)
    return application.installTranslator(words)


def _filled(text: str, values: dict[str, object]) -> str:
    """Values in their places; a text without any is taken as it is, braces included."""
    return text.format(**values) if values else text
