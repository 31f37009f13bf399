"""main(): joins the use cases to documents and hands them to a face."""

from __future__ import annotations

import sys

from rootfill.cli import build, run
from rootfill.clinic import Papers


def _papers() -> Papers:
    from rootfill import papers  # only when a document is asked for: its compiler is slow to load

    return papers


def main() -> None:
    """The command ``rootfill``."""
    sys.exit(run(build(_papers)))
