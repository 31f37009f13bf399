"""Killed while writing: whatever stands under a name that is handed out is whole."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

COVERS = ["src/rootfill/cli", "src/rootfill/clinic", "src/rootfill/papers"]

KILLS = 60
COMMAND = [sys.executable, "-c", "from rootfill.app import main; main()", "demo", "--out", "out"]
WHOLE: dict[str, Callable[[bytes], bool]] = {
    "plan.json": lambda content: bool(json.loads(content)),
    "card.pdf": lambda content: content.rstrip().endswith(b"%%EOF"),
    "report.pdf": lambda content: content.rstrip().endswith(b"%%EOF"),
    "report.html": lambda content: content.rstrip().endswith(b"</html>"),
}


def run(seed: int) -> dict[str, Any]:
    """Kill the command at random moments of its life and look at what it left."""
    rng = np.random.default_rng(seed)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        started = time.perf_counter()
        subprocess.run(COMMAND, cwd=folder, check=True, stdout=subprocess.DEVNULL)
        life = time.perf_counter() - started
        killed, torn = 0, 0
        for _ in range(KILLS):
            killed += _kill(folder, float(rng.uniform(0.5, 1.05)) * life)
            torn += _torn(folder / "out")
    return {"kills": KILLS, "alive_when_killed": killed, "torn_files": torn, "passed": torn == 0 and killed > 0}


def _kill(folder: Path, after_s: float) -> bool:
    process = subprocess.Popen(COMMAND, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        process.wait(after_s)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
        return True
    return False


def _torn(out: Path) -> int:
    """Files handed out that are not whole."""
    torn = 0
    for name, whole in WHOLE.items():
        try:
            torn += not whole((out / name).read_bytes())
        except (OSError, ValueError):
            torn += 1
    return torn
