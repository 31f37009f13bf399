"""Killed while saving; the long run is ``prove/saving.py``."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from prove.saving import kill_often


def test_fifty_kills_lose_no_acknowledged_mark_and_leave_none_by_half(tmp_path: Path) -> None:
    figures = kill_often(tmp_path, np.random.default_rng(7), 50)
    assert (figures["lost"], figures["half"], figures["unsound"]) == (0, 0, 0)
    assert figures["passed"], figures
