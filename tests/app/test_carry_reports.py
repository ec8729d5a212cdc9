"""The report of what was carried over, line by line."""

import pytest

from app.review.carry_reports import CarryReport, Entry
from tests.app.carried import edited, reviewed
from tests.app.transcriptions import delete_measures


def test_an_entry_is_one_line_for_people() -> None:
    entry = Entry("moved", "V", "From measure 1 to measure 3.", "1", "3")
    assert entry.selection.span is None
    _, carried = edited(lambda root: delete_measures(root, 3, 9), reviewed())
    assert carried.report.summary.endswith(".")
    assert "could not be placed" in carried.report.summary


@pytest.mark.parametrize(
    ("kept", "moved", "summary"),
    [
        (1, 0, "1 stands where it stood."),
        (0, 1, "0 stand where they stood; 1 moved with its measure."),
        (2, 2, "2 stand where they stood; 2 moved with their measures."),
    ],
)
def test_one_is_told_as_one(kept: int, moved: int, summary: str) -> None:
    entry = Entry("moved", "V", "From measure 1 to measure 3.", "1", "3")
    assert CarryReport((), kept, (entry,) * moved).summary == summary
