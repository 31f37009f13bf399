"""The command line."""

from rootfill.cli.main import build, run

__all__ = ["build", "run"]
