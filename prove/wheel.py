"""From a clone on a machine without Node to a page that a clean environment serves."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import urljoin, urlsplit
from urllib.request import urlopen

COVERS = ["Makefile", "pyproject.toml", "package-lock.json", "requirements-node.lock", "src/rootfill/web"]

ROOT = Path(__file__).parent.parent
NODE = {"node", "nodejs", "npm", "npx", "corepack"}
ADDRESS = re.compile(r"http://[\w.]+:\d+")
ASKED_FOR = re.compile(r"""<(?:script|link)\b[^>]*\b(?:src|href)="([^"]+)"|url\(["']?([^"')]+)""")


def run(_seed: int) -> dict[str, Any]:
    """Nothing here depends on chance: it is done once, for the first seed, and is the same for the others."""
    return _once()


@cache
def _once() -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as name:
        clone, tools = Path(name) / "clone", Path(name) / "tools"
        _without_node(tools)
        subprocess.run(["git", "clone", "--quiet", str(ROOT), str(clone)], check=True)
        run_s = _timed(["make", "run", "ONCE=1"], clone, tools)
        _timed(["make", "wheel"], clone, tools)
        python = _clean_environment(Path(name) / "clean", clone)
        command = [str(python.with_name("rootfill")), "serve", "--port", "0", "--data", str(Path(name) / "data")]
        with serving(command, {"PATH": str(Path(name) / "none")}) as address:
            page = fetch_page(address)
        script = (clone / "src/rootfill/web/static/page.js").read_bytes()
    served = script in page.values()
    return {"fresh_run_s": run_s, "page_js_bytes": len(script), "served": sorted(page), "passed": served}


def _without_node(tools: Path) -> None:
    """A folder of links to every command on the path but Node's, so that make must take Node from the registry."""
    tools.mkdir()
    for folder in map(Path, os.environ["PATH"].split(os.pathsep)):
        for command in folder.iterdir() if folder.is_dir() else ():
            link = tools / command.name
            if command.name not in NODE and not link.is_symlink():
                link.symlink_to(command)


def _timed(command: Sequence[str], clone: Path, tools: Path) -> float:
    started = time.perf_counter()
    environment = {**os.environ, "PATH": str(tools), "PYTHON": sys.executable, "MAKEFLAGS": ""}
    subprocess.run(command, cwd=clone, env=environment, check=True, stdout=subprocess.DEVNULL)
    return round(time.perf_counter() - started, 1)


def _clean_environment(folder: Path, clone: Path) -> Path:
    """Python of a new environment that holds the pinned dependencies and the wheel, nothing else."""
    python = folder / "bin" / "python"
    subprocess.run([sys.executable, "-m", "venv", folder], check=True)
    pip = [str(python), "-m", "pip", "install", "-qq"]
    subprocess.run([*pip, "--require-hashes", "-r", str(clone / "requirements.lock")], check=True)
    subprocess.run([*pip, "--no-deps", *map(str, (clone / "dist").glob("*.whl"))], check=True)
    return python


@contextmanager
def serving(command: Sequence[str], environment: Mapping[str, str], patience_s: float = 60) -> Iterator[str]:
    """Address at which the command serves, until the block ends."""
    process = subprocess.Popen(
        command,
        env={**environment, "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    watch = threading.Timer(patience_s, process.kill)
    watch.start()
    try:
        assert process.stdout is not None
        yield _address(process.stdout)
    finally:
        watch.cancel()
        process.terminate()
        process.communicate()


def _address(output: Iterator[str]) -> str:
    said = []
    for line in output:
        said.append(line)
        if found := ADDRESS.search(line):
            return found[0]
    raise RuntimeError("the command ended, or was ended, before it named its address:\n" + "".join(said))


def fetch_page(address: str) -> dict[str, bytes]:
    """The page that a stranger gets, and all that it and its style ask for, by path; fails unless each answers 200."""
    fetched: dict[str, bytes] = {}
    wanted = {f"{address}/"}
    while wanted:
        url = wanted.pop()
        with urlopen(url, timeout=30) as answer:
            content, kind, base = answer.read(), answer.headers.get_content_type(), answer.url
        fetched[urlsplit(url).path] = content
        if kind in ("text/html", "text/css"):
            asked = {urljoin(base, word or other) for word, other in ASKED_FOR.findall(content.decode("utf-8"))}
            wanted |= {url for url in asked if url.startswith("http") and urlsplit(url).path not in fetched}
    return fetched
