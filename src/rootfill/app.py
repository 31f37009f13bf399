"""main(): joins the use cases to a face."""

from __future__ import annotations

import sys

from rootfill.cli import build, run


def main() -> None:
    """The command ``rootfill``."""
    sys.exit(run(build()))
