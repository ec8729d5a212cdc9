"""Round after round in one window: nothing grows, nothing stays behind (see `tests.bench.soak`)."""

import ctypes
import os
import sys

import pytest
from PySide6.QtWidgets import QApplication

from app.window import Window
from tests.bench.soak import _megabytes, figures, measure

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


def test_a_closed_document_leaves_no_free_memory_behind(window: Window) -> None:
    library = ctypes.CDLL(None)
    if not hasattr(library, "malloc_trim"):
        pytest.skip("this C library gives memory back by itself")
    library.malloc.restype, library.free.argtypes = ctypes.c_void_p, [ctypes.c_void_p]
    size, count = 64 * 1024, 800
    before = _megabytes(os.getpid())
    taken = []
    for _ in range(count):
        place = library.malloc(size)
        ctypes.memset(place, 1, size)
        taken += [place, library.malloc(2048)]  # so that what is free stays in pieces
    for place in taken[::2]:
        library.free(place)
    window.filing.close_document()
    kept = _megabytes(os.getpid()) - before
    for place in taken[1::2]:
        library.free(place)
    assert kept < 0.2 * size * count / 1e6
