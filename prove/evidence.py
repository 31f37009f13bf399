"""Which evidence no longer speaks for the code as it stands."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path


def git(root: Path, *words: str) -> str:
    """What git answers for the repository at ``root``, even inside a hook of another one."""
    own = {key: value for key, value in os.environ.items() if not key.startswith("GIT_")}
    command = ["git", "-C", str(root), *words]
    return subprocess.run(command, env=own, capture_output=True, text=True, check=True).stdout


def stale(root: Path) -> dict[str, str]:
    """Name of each stale piece of evidence under ``docs/evidence`` and why."""
    files = sorted((root / "docs" / "evidence").glob("*.json"))
    whys = {file.stem: _why_stale(root, json.loads(file.read_text(encoding="utf-8"))) for file in files}
    return {name: why for name, why in whys.items() if why}


def _why_stale(root: Path, evidence: dict[str, object]) -> str:
    commit, covers = evidence["commit"], evidence["covers"]
    assert isinstance(commit, str)
    assert isinstance(covers, list)
    if not evidence["committed"]:
        return "made from code that was not committed"
    try:
        git(root, "merge-base", "--is-ancestor", commit, "HEAD")
    except subprocess.CalledProcessError:
        return f"made at {commit[:10]}, which is no ancestor of this commit"
    changed = git(root, "diff", "--name-only", commit, "--", *covers).split()
    return f"changed since: {', '.join(changed)}" if changed else ""
