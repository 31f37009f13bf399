"""House parts of the suite: no skipped test in CI, the longest parts, stale evidence."""

from __future__ import annotations

import ast
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from prove.evidence import stale

settings.register_profile("house", deadline=None, print_blob=True)
settings.register_profile("ci", parent=settings.get_profile("house"), derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") == "true" else "house")


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    if exitstatus == pytest.ExitCode.OK and _skipped_in_ci(session.config):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    for title, lengths in longest(config.rootpath / "src").items():
        terminalreporter.section(f"longest {title}", sep="-")
        for lines, name in lengths:
            terminalreporter.line(f"{lines:5d}  {name}")
    for name, why in stale(config.rootpath).items():
        terminalreporter.line(f"stale evidence: {name}: {why}", yellow=True)
    if _skipped_in_ci(config):
        terminalreporter.line("a skipped test fails the run in CI", red=True)


def longest(source: Path, count: int = 10) -> dict[str, list[tuple[int, str]]]:
    """The longest modules and functions below ``source``, as (lines, name)."""
    modules: list[tuple[int, str]] = []
    functions: list[tuple[int, str]] = []
    for path in source.rglob("*.py"):
        text, name = path.read_text(encoding="utf-8"), path.relative_to(source).as_posix()
        modules.append((len(text.splitlines()), name))
        functions.extend((lines, f"{name}:{function}") for lines, function in _functions(ast.parse(text)))
    return {
        title: sorted(found, key=lambda part: (-part[0], part[1]))[:count]
        for title, found in (("modules", modules), ("functions", functions))
    }


def _functions(tree: ast.AST) -> Iterator[tuple[int, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and node.end_lineno is not None:
            yield node.end_lineno - node.lineno + 1, node.name


def _skipped_in_ci(config: pytest.Config) -> bool:
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    return os.environ.get("CI") == "true" and bool(reporter and reporter.stats.get("skipped"))
