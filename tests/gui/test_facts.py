"""What the detail view says: each thing once, and no reading that is the shown one."""

from dataclasses import replace
from fractions import Fraction

from PySide6.QtWidgets import QAbstractButton, QLabel
from pytestqt.qtbot import QtBot

from analysis.marks import Analysis, Evidence, Mark, Reading
from analysis.score import Score
from analysis.timebase import Span
from app.review.document import Document, SourceInfo
from app.review.selection import Selection
from app.views.detail_view import DetailView
from app.views.facts import others, reading_text
from app.views.labels import LinesButton
from app.views.selections import selection_of_mark
from app.window import Window
from tests.app.reviews import read_sample
from tests.gui.conftest import document

MARK = Mark("m", "chord", Span(Fraction(0), Fraction(4)), (), (), "iii⁷", "It is.")


def test_a_reading_equal_to_the_shown_one_is_not_offered() -> None:
    same, other = Reading("iii⁷", "It is.", 0.3), Reading("V⁶", "The bass says so.", 0.2)
    assert others(replace(MARK, alternatives=(same, other, other))) == [other]


def test_a_reading_that_differs_in_function_alone_says_so() -> None:
    tonic = Reading("iii⁷", "It shares two tones with the tonic.", 0.4, "T")
    mark = replace(MARK, alternatives=(tonic,))
    assert [reading_text(mark, one) for one in others(mark)] == ["iii⁷ as tonic"]


def test_an_evidence_sentence_stands_once(qtbot: QtBot) -> None:
    facts = (Evidence("The bass stays.", ("n1",)), Evidence("The bass stays.", ("n2",)))
    mark = replace(MARK, evidence=facts)
    view = DetailView()
    qtbot.addWidget(view)
    view.show()
    opened = Document(SourceInfo("s", "", ""), Score("", "", (), ()), Analysis(marks=(mark,)))
    view.show_document(opened)
    view.show_selection(Selection("m", span=mark.span))
    shown = [widget.text() for pair in view._lines for widget in pair if not widget.isHidden()]
    assert shown == ["The bass stays."]
    with qtbot.waitSignal(view.selection_requested) as asked:
        view._lines[0][1].click()
    assert asked.args[0].elements == ("n1", "n2")


def test_rows_used_again_say_what_new_ones_would(qtbot: QtBot, opened: Window) -> None:
    """Going through all marks, against a view made for each of them."""
    used = opened.workbench.detail
    for reviewed in list(document(opened).marks())[:40]:
        selection = Selection(reviewed.id, reviewed.mark.elements, reviewed.mark.span)
        opened.session.select(selection)
        fresh = DetailView()
        qtbot.addWidget(fresh)
        fresh.show_document(document(opened))
        fresh.show_selection(selection)
        assert _said(used) == _said(fresh)


def _said(view: DetailView) -> list[object]:
    rows: list[tuple[QAbstractButton | QLabel, ...]] = [*view._lines, *view.readings.rows]
    texts = [widget.text() for row in rows for widget in row if not widget.isHidden()]
    checked = [button.isChecked() for button, _, _ in view.readings.rows if not button.isHidden()]
    return [view.label_field.text(), view.sentence_field.toPlainText(), texts, checked]


def test_what_a_mark_rests_on_is_broken_into_lines(qtbot: QtBot) -> None:
    _, document = read_sample("wednesday-table")
    detail = DetailView()
    qtbot.addWidget(detail)
    detail.resize(300, 500)
    detail.show()
    detail.show_document(document)
    longest = 0
    for mark in document.marks():
        detail.show_selection(selection_of_mark(mark))
        qtbot.wait(1)
        body = detail.widget()
        assert body is not None
        assert body.width() <= detail.viewport().width(), mark.label
        buttons = [one for one in detail.findChildren(LinesButton) if one.isVisible()]
        longest = max(
            [longest, *(one.fontMetrics().horizontalAdvance(one.text()) for one in buttons)]
        )
        assert all(one.height() >= one.heightForWidth(one.width()) for one in buttons)
    assert longest > 300, "there is something to break"
