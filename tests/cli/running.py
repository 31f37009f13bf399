"""A command run in this process, as it would be typed."""

from __future__ import annotations

import pytest

from rootfill.app import make_papers, make_pictures
from rootfill.cli import build, run


def rootfill(*typed: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> tuple[int, str, str]:
    """Exit code and what was printed."""
    monkeypatch.setattr("sys.argv", ["rootfill", *typed])
    code = run(build(make_papers, lambda *_: None, lambda *_: None, make_pictures))
    out, err = capsys.readouterr()
    return code, out, err
