"""The house keeps its own rules: what is committed, what is pinned, what the tools say."""

from __future__ import annotations

import ast
import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet

from prove.__main__ import discover, gather
from prove.evidence import git, stale

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
GROUPS = PROJECT["dependency-groups"]
BROWSER = ROOT / "src" / "rootfill" / "web" / "browser"

MACHINE_PATH = re.compile(r"(?<![\w.~*)}/])/(?:work|root|opt|home|Users|mnt|srv)/\w|\b[A-Z]:\\Users\b")
INDEX_ADDRESS = re.compile(
    r"(?:pypi|pythonhosted|npmjs|debian)\.(?:org|com)\b"
    r"|://[^\s\"'<>)]*/simple\b"
    r"|(?:index-url|find-links|registry)[\s=]+\S*:/"
)


def kept_files() -> Iterator[tuple[str, str]]:
    """Name and text of each file that is in git or would be added."""
    for name in git(ROOT, "ls-files", "-z", "--cached", "--others", "--exclude-standard").split("\0"):
        path = ROOT / name
        if name and path.is_file() and b"\0" not in (content := path.read_bytes()):
            yield name, content.decode("utf-8")


def pins(lock: str) -> dict[str, tuple[str, int]]:
    """Version and number of hashes of each package in a lock file."""
    entries = re.split(r"\n(?=\w)", (ROOT / lock).read_text(encoding="utf-8"))
    found = {}
    for entry in entries:
        if pinned := re.match(r"([\w.-]+)==([^\s;]+)", entry):
            found[pinned[1].lower()] = pinned[2], entry.count("--hash=sha256:")
    return found


@pytest.mark.parametrize(("pattern", "what"), [(MACHINE_PATH, "path"), (INDEX_ADDRESS, "index address")])
def test_no_kept_file_names_a_path_or_an_index_of_one_machine(pattern: re.Pattern[str], what: str) -> None:
    found = {f"{name}: {hit[0]}" for name, text in kept_files() for hit in pattern.finditer(text)}
    assert not found, f"{what} of a machine"


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        (MACHINE_PATH, "see {}work/rootfill/x"),
        (MACHINE_PATH, "'{}home/someone'"),
        (INDEX_ADDRESS, "--extra-index-url https:{}{}mirror.test/py"),
        (INDEX_ADDRESS, "https:{}{}mirror.test/simple"),
        (INDEX_ADDRESS, "registry=https:{}{}mirror.test/npm"),
    ],
)
def test_the_scan_sees_what_it_looks_for(pattern: re.Pattern[str], line: str) -> None:
    assert pattern.search(line.format("/", "/"))


@pytest.mark.parametrize("line", ["tooth/root/canal", "crown /root canal", "docs/work/x", "--no-emit-index-url"])
def test_the_scan_leaves_the_words_of_the_trade_alone(line: str) -> None:
    assert not MACHINE_PATH.search(line)
    assert not INDEX_ADDRESS.search(line)


def test_the_scan_reads_the_locks_and_the_settings_of_every_package_tool() -> None:
    locks = {"requirements.lock", "requirements-dev.lock", "requirements-node.lock", "package-lock.json", ".npmrc"}
    assert locks <= {name for name, _ in kept_files()}


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-dev.lock", "requirements-node.lock"])
def test_every_line_of_a_lock_is_a_pin_a_hash_or_a_comment(lock: str) -> None:
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    pin = re.compile(r"[\w.-]+==[\w.]+( ; [^\\]+)? \\|    --hash=sha256:[0-9a-f]{64}( \\)?|#.*")
    assert [line for line in lines if not pin.fullmatch(line)] == []
    assert all(hashes for _, hashes in pins(lock).values())


@pytest.mark.parametrize(
    ("lock", "wanted"),
    [
        ("requirements.lock", PROJECT["project"]["dependencies"] + PROJECT["build-system"]["requires"]),
        ("requirements-dev.lock", PROJECT["project"]["dependencies"] + GROUPS["dev"]),
        ("requirements-node.lock", GROUPS["node"]),
    ],
)
def test_each_lock_pins_what_the_project_asks_for(lock: str, wanted: list[str]) -> None:
    pinned = pins(lock)
    for asked in map(Requirement, wanted):
        assert asked.name in pinned
        assert asked.specifier.contains(pinned[asked.name][0], prereleases=True), asked


def test_the_two_locks_agree_on_every_version() -> None:
    core, everything = pins("requirements.lock"), pins("requirements-dev.lock")
    assert core.items() <= everything.items()
    assert GROUPS["build"] == PROJECT["build-system"]["requires"]


def test_the_lock_of_the_page_holds_a_hash_for_every_package_and_no_address() -> None:
    lock = json.loads((ROOT / "package-lock.json").read_text(encoding="utf-8"))
    packages = {name: entry for name, entry in lock["packages"].items() if name}
    assert [name for name, entry in packages.items() if not entry.get("integrity", "").startswith("sha512-")] == []
    assert [name for name, entry in packages.items() if "resolved" in entry] == []


def test_the_lock_of_the_page_pins_what_it_asks_for_on_every_platform() -> None:
    asked = json.loads((ROOT / "package.json").read_text(encoding="utf-8"))
    packages = json.loads((ROOT / "package-lock.json").read_text(encoding="utf-8"))["packages"]
    assert {
        kind: packages[""][kind] for kind in ("dependencies", "devDependencies", "engines")
    }.items() <= asked.items()
    wanted = {**asked["dependencies"], **asked["devDependencies"]}
    for name in tuple(wanted):
        wanted |= packages[f"node_modules/{name}"].get("optionalDependencies", {})
    assert wanted == {name.removeprefix("node_modules/"): packages[name]["version"] for name in packages if name}


def test_the_types_of_the_page_are_checked_strictly() -> None:
    options = json.loads((ROOT / "tsconfig.json").read_text(encoding="utf-8"))["compilerOptions"]
    assert options["strict"] is options["noUncheckedIndexedAccess"] is options["exactOptionalPropertyTypes"] is True
    assert options.keys() & {"allowJs", "skipLibCheck", "noImplicitAny", "strictNullChecks"} == set()
    silenced = re.compile(r"@ts-(?:ignore|nocheck|expect-error)|\bas any\b|: any\b")
    assert {path.name for path in BROWSER.glob("*.ts") if silenced.search(path.read_text(encoding="utf-8"))} == set()


def test_the_script_of_the_page_stays_within_its_budget() -> None:
    lines = {path.name: len(path.read_text(encoding="utf-8").splitlines()) for path in BROWSER.rglob("*.ts")}
    assert "main.ts" in lines
    # 300 more than before, for the canals of a scan, over the planes and laid out straight: only that page loads them.
    assert sum(lines.values()) <= 1500, lines


def test_the_classifiers_name_only_pythons_that_are_admitted_from_the_oldest_on() -> None:
    named = re.findall(r"Python :: (3\.\d+)", "\n".join(PROJECT["project"]["classifiers"]))
    admitted = SpecifierSet(PROJECT["project"]["requires-python"])
    assert all(admitted.contains(version) for version in named)
    oldest = min(named, key=lambda version: int(version.split(".")[1]))
    assert PROJECT["project"]["requires-python"] == f">={oldest}"
    assert PROJECT["tool"]["ruff"]["target-version"] == f"py{oldest.replace('.', '')}"
    assert PROJECT["tool"]["mypy"]["python_version"] == oldest


def test_every_data_file_of_the_package_goes_into_the_wheel() -> None:
    package = ROOT / "src" / "rootfill"
    globs = PROJECT["tool"]["setuptools"]["package-data"]["rootfill"]
    packed = {path.relative_to(ROOT).as_posix() for glob in globs for path in package.glob(glob)}
    listed = git(ROOT, "ls-files", "--cached", "--others", "--exclude-standard", "src/rootfill").split("\n")
    bundled = BROWSER.relative_to(ROOT).as_posix() + "/"  # goes in as the scripts and the style of web/static
    data = {name for name in listed if name and not name.endswith(".py") and not name.startswith(bundled)}
    assert "src/rootfill/py.typed" in data
    assert data - packed == set()
    assert not any(name.startswith(bundled) for name in packed)


def test_every_module_lies_in_a_package_that_goes_into_the_wheel() -> None:
    modules = (ROOT / "src" / "rootfill").rglob("*.py")
    left_out = {
        path.parent.relative_to(ROOT).as_posix() for path in modules if not (path.parent / "__init__.py").exists()
    }
    assert left_out == set(), "folders without __init__.py"


def test_every_make_target_says_what_it_is_for() -> None:
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    phony = re.search(r"^\.PHONY: (.+)$", makefile, re.MULTILINE)
    assert phony is not None
    explained = set(re.findall(r"^([a-z]+):.*## \S", makefile, re.MULTILINE))
    assert explained == set(phony[1].split()) == set(re.findall(r"^([a-z]+):", makefile, re.MULTILINE))
    assert {"run", "test", "check", "prove", "bench", "docs"} <= explained


def test_the_changelog_begins_with_what_is_unreleased_and_keeps_the_usual_kinds() -> None:
    text = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    headings = re.findall(r"^## (.+)$", text, re.MULTILINE)
    assert headings[0] == "[Unreleased]"
    kinds = set(re.findall(r"^### (.+)$", text, re.MULTILINE))
    assert kinds <= {"Added", "Changed", "Deprecated", "Removed", "Fixed", "Security"}


def test_the_licence_names_its_holder_and_the_metadata_agrees() -> None:
    licence = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert licence.startswith("MIT License")
    assert "Copyright (c) 2026 the rootfill authors" in licence
    assert PROJECT["project"]["license"] == "MIT"
    assert PROJECT["project"]["authors"] == [{"name": "the rootfill authors"}]


def test_the_name_of_every_test_is_a_sentence() -> None:
    tests = {
        f"{path.relative_to(ROOT).as_posix()}:{node.name}"
        for path in (ROOT / "tests").rglob("test_*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test")
    }
    assert {name for name in tests if len(name.rsplit(":")[-1].split("_")) < 4} == set()


def test_the_ci_script_is_sound_bash_that_can_be_run() -> None:
    script = ROOT / ".ci" / "run"
    subprocess.run(["bash", "-n", str(script)], check=True)
    assert "set -euo pipefail" in script.read_text(encoding="utf-8")
    assert os.access(script, os.X_OK)


# The suite's own hooks, tried on a small project of two tests.


@pytest.fixture
def small_project(tmp_path: Path) -> Path:
    files = {
        "pyproject.toml": f"[tool.pytest.ini_options]\npythonpath = [{json.dumps(str(ROOT))}]\n",
        "conftest.py": (ROOT / "tests" / "conftest.py").read_text(encoding="utf-8"),
        "src/thing/long.py": "def stretch():\n    return 1\n\n\ndef nod(): ...\n",
        "test_small.py": (
            "import pytest\n\ndef test_one():\n    pass\n\n"
            "@pytest.mark.skip(reason='to see')\ndef test_two():\n    pass\n"
        ),
    }
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def run_suite(project: Path, ci: str, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *words]
    environment = {**os.environ, "CI": ci}
    return subprocess.run(
        command, cwd=project, env=environment, capture_output=True, text=True, check=False, timeout=120
    )


def test_a_skipped_test_fails_the_run_in_ci_and_nowhere_else(small_project: Path) -> None:
    assert run_suite(small_project, "true").returncode == pytest.ExitCode.TESTS_FAILED
    assert run_suite(small_project, "").returncode == pytest.ExitCode.OK
    assert run_suite(small_project, "true", "-k", "test_one").returncode == pytest.ExitCode.OK


def test_the_run_ends_with_the_longest_modules_and_functions(small_project: Path) -> None:
    said = run_suite(small_project, "").stdout
    assert re.search(r"longest modules -+\n +5  thing/long\.py\n", said)
    assert re.search(r"longest functions -+\n +2  thing/long\.py:stretch\n +1  thing/long\.py:nod\n", said)


# Evidence, tried on a repository of one file.


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    (tmp_path / "covered.py").write_text("a = 1\n", encoding="utf-8")
    git(tmp_path, "init", "--quiet")
    commit_all(tmp_path)
    return tmp_path


def commit_all(repository: Path) -> None:
    git(repository, "add", "--all")
    who = ("-c", "user.name=a", "-c", "user.email=a@b.test", "-c", "commit.gpgsign=false")
    git(repository, *who, "commit", "--quiet", "--no-verify", "-m", "one")


def write_evidence(repository: Path) -> None:
    module = ModuleType("coin")
    module.COVERS = ["covered.py"]  # type: ignore[attr-defined]
    module.run = lambda seed: {"heads": seed / 2}  # type: ignore[attr-defined]
    target = repository / "docs" / "evidence" / "coin.json"
    target.parent.mkdir(parents=True)
    target.write_text(gather(module, [1, 2], repository), encoding="utf-8")


def test_evidence_records_commit_seeds_machine_and_results_but_no_host(repository: Path) -> None:
    write_evidence(repository)
    text = (repository / "docs" / "evidence" / "coin.json").read_text(encoding="utf-8")
    evidence = json.loads(text)
    assert evidence["commit"] == git(repository, "rev-parse", "HEAD").strip()
    assert evidence["results"] == {"1": {"heads": 0.5}, "2": {"heads": 1.0}}
    assert evidence["seeds"] == [1, 2]
    assert evidence["committed"] is True
    assert set(evidence["machine"]) == {"platform", "python", "cpus"}


def test_evidence_stays_fresh_until_a_file_it_covers_changes(repository: Path) -> None:
    write_evidence(repository)
    (repository / "other.py").write_text("b = 1\n", encoding="utf-8")
    commit_all(repository)
    assert stale(repository) == {}
    (repository / "covered.py").write_text("a = 2\n", encoding="utf-8")
    commit_all(repository)
    assert stale(repository) == {"coin": "changed since: covered.py"}


def test_evidence_from_an_unknown_or_unkept_state_is_stale(repository: Path) -> None:
    (repository / "covered.py").write_text("a = 3\n", encoding="utf-8")
    write_evidence(repository)
    assert stale(repository) == {"coin": "made from code that was not committed"}
    file = repository / "docs" / "evidence" / "coin.json"
    lost = {**json.loads(file.read_text(encoding="utf-8")), "committed": True, "commit": "0" * 40}
    file.write_text(json.dumps(lost), encoding="utf-8")
    assert "no ancestor" in stale(repository)["coin"]


def test_only_modules_with_something_to_run_are_evidence_and_each_says_what_it_covers() -> None:
    found = discover()
    assert "evidence" not in found
    for name, module in found.items():
        assert [path for path in module.COVERS if not (ROOT / path).exists()] == [], name
