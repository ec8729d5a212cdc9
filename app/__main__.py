"""Start the window, or do the work of a subcommand without one."""

from __future__ import annotations

import sys

from app.cli import run


def main() -> None:
    """The command ``overstave``."""
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
