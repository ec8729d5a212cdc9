"""What of an overlay lies on other labels, on ink, or off its page."""

from __future__ import annotations

from itertools import combinations

from app.engraving.callouts import ink_pieces
from app.engraving.labels import Overlay
from app.engraving.pages import Box, Page


def find_collisions(page: Page, overlay: Overlay) -> list[str]:
    """Each collision in words; an empty list where there is none."""
    found = [
        f"{one.text} on {other.text}"
        for one, other in combinations(overlay.labels, 2)
        if overlaps(one.box, other.box)
    ]
    pieces = list(ink_pieces(page))
    for label in overlay.labels:
        found += [f"{label.text} on ink" for piece in pieces if overlaps(label.box, piece)]
        if not holds((0.0, 0.0, page.width, page.height), label.box):
            found.append(f"{label.text} off the page")
    return found


def overlaps(first: Box, second: Box) -> bool:
    """Whether two boxes share more than a border."""
    across = min(first[0] + first[2], second[0] + second[2]) - max(first[0], second[0])
    down = min(first[1] + first[3], second[1] + second[3]) - max(first[1], second[1])
    return across > 0.01 and down > 0.01


def holds(outer: Box, inner: Box) -> bool:
    """Whether a box lies in another."""
    return (
        inner[0] >= outer[0]
        and inner[1] >= outer[1]
        and inner[0] + inner[2] <= outer[0] + outer[2]
        and inner[1] + inner[3] <= outer[1] + outer[3]
    )
