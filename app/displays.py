"""Whether a window can be shown, asked before Qt, which ends the process where it cannot.

Qt on Linux goes by ``QT_QPA_PLATFORM`` where it is set, else it tries Wayland and X. Both are asked
as Qt asks: the socket of ``WAYLAND_DISPLAY`` must take a connection, and ``libxcb`` must open
``DISPLAY``, so that a server that has gone and one that refuses us are told alike. What other
platforms Qt may be told to use are its own matter, and so are other systems, which always have a
display.

References
----------
Qt 6, *Qt Platform Abstraction*; the Wayland book, *Wayland display*; XCB's manual of
``xcb_connect`` (all from memory).
"""

from __future__ import annotations

import ctypes
import os
import socket
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Final

#: The library by which Qt speaks to X.
_XCB: Final = "libxcb.so.1"


def missing_display(environment: Mapping[str, str] | None = None) -> str:
    """Why no window can be shown, in words; empty where one can, as far as can be told.

    Parameters
    ----------
    environment
        The process's where none is given.
    """
    if sys.platform != "linux":
        return ""
    told = os.environ if environment is None else environment
    wanted = told.get("QT_QPA_PLATFORM", "")
    if wanted and not wanted.startswith(("xcb", "wayland")):
        return ""
    wayland = told.get("WAYLAND_DISPLAY", "") if not wanted.startswith("xcb") else ""
    x = told.get("DISPLAY", "") if not wanted.startswith("wayland") else ""
    if not wayland and not x:
        return "There is no display for a window"
    if (wayland and _takes_wayland(wayland, told)) or (x and _takes_x(x)):
        return ""
    named = " and ".join(f"“{name}”" for name in (wayland, x) if name)
    return f"The display {named} does not answer, so no window can be shown"


def _takes_wayland(name: str, told: Mapping[str, str]) -> bool:
    """Whether the socket of a Wayland display takes a connection."""
    path = Path(told.get("XDG_RUNTIME_DIR", "")) / name
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as end:
            end.settimeout(5)
            end.connect(str(path))
    except OSError:
        return False
    return True


def _takes_x(name: str) -> bool:
    """Whether an X server opens its display to us; yes where the library to ask is missing."""
    try:
        xcb = ctypes.CDLL(_XCB)
    except OSError:
        return True
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connect.argtypes = [ctypes.c_char_p, ctypes.c_void_p]
    xcb.xcb_connection_has_error.argtypes = [ctypes.c_void_p]
    xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(name.encode(), None)
    if xcb.xcb_connection_has_error(connection):
        xcb.xcb_disconnect(connection)
        return False
    # Held until the process ends: a server that loses its only client begins anew, just when Qt
    # asks it.
    return True
