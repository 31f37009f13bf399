"""``python -m prove [NAME ...] [--seeds N ...]``: run the evidence and write ``docs/evidence/NAME.json``."""

from __future__ import annotations

import argparse
import importlib
import json
import os
import pkgutil
import platform
import time
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

import prove
from prove.evidence import git

SEEDS = (1, 2, 3)


def main(argv: Sequence[str] | None = None, root: Path = Path()) -> None:
    modules = discover()
    parser = argparse.ArgumentParser(prog="python -m prove")
    parser.add_argument("names", nargs="*", help=f"of: {', '.join(modules) or 'none yet'}")
    parser.add_argument("--seeds", nargs="+", type=int, default=SEEDS)
    asked = parser.parse_args(argv)
    if unknown := set(asked.names) - set(modules):
        parser.error(f"no such evidence: {', '.join(sorted(unknown))}")
    for name in asked.names or modules:
        evidence = gather(modules[name], asked.seeds, root)
        target = root / "docs" / "evidence" / f"{name}.json"
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(evidence + "\n", encoding="utf-8")
        print(f"{name}: {target.as_posix()}")


def discover() -> dict[str, ModuleType]:
    """The modules of this folder that have something to run, by name."""
    names = sorted(m.name for m in pkgutil.iter_modules(prove.__path__) if not m.name.startswith("_"))
    modules = {name: importlib.import_module(f"prove.{name}") for name in names}
    return {name: module for name, module in modules.items() if hasattr(module, "run")}


def gather(module: ModuleType, seeds: Sequence[int], root: Path) -> str:
    """Run one module with each seed; its evidence as JSON text."""
    commit, changed = git(root, "rev-parse", "HEAD"), git(root, "status", "--porcelain", "--", *module.COVERS)
    started = time.perf_counter()
    results = {str(seed): module.run(seed) for seed in seeds}
    evidence = {
        "commit": commit.strip(),
        "committed": not changed,
        "covers": list(module.COVERS),
        "seeds": list(seeds),
        "machine": {
            "platform": f"{platform.system()} {platform.machine()}",
            "python": platform.python_version(),
            "cpus": os.cpu_count(),
        },
        "seconds": round(time.perf_counter() - started, 1),
        "results": results,
    }
    return json.dumps(evidence, indent=2, ensure_ascii=False, allow_nan=False, default=_plain)


def _plain(value: Any) -> Any:
    return value.tolist()  # numpy's arrays and scalars


if __name__ == "__main__":
    main()
