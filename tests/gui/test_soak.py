"""Round after round in one window: nothing grows, nothing stays behind (see `tests.bench.soak`)."""

import sys

import pytest
from PySide6.QtWidgets import QApplication

from tests.bench.soak import figures, measure

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="it looks into /proc")


def test_a_few_rounds_leave_nothing_behind(qapp: QApplication) -> None:
    readings = measure(4, lambda text: None)
    assert {one.processes for one in readings} == {2}, "the two workers, and no orphan"
    assert {one.temporary for one in readings} == {0}
    assert {one.left_in_songs for one in readings} == {0}
    assert readings[-1].files <= readings[1].files
    assert readings[-1].threads <= readings[1].threads


@pytest.mark.full
def test_a_hundred_rounds_take_no_more_memory(qapp: QApplication) -> None:
    missed = [one for one in figures(measure(100)) if not one["holds"]]
    assert not missed
