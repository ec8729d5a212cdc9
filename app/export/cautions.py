"""What every export reminds of, in one place."""

from typing import Final

#: About rights; no legal advice.
RIGHTS: Final = (
    "Songs and recordings may be in copyright; short excerpts for comment are treated differently "
    "from country to country. This is no legal advice."
)
#: About what marks are.
READINGS: Final = "The marks are readings of the written notes; other readings may be as good."
