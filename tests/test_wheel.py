"""The wheel: what is in it, and that it serves the page without Node and without this folder."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import zipfile
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

import pytest

from prove.evidence import git
from prove.wheel import fetch_page, serving
from rootfill.web.static import BUILT

ROOT = Path(__file__).parent.parent
STATIC = ROOT / "src" / "rootfill" / "web" / "static"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Built as make builds it, from a copy, so that nothing an older build left behind goes in."""
    assert (STATIC / "page.js").exists(), "The page is not bundled; run `make page` first."
    copy, out = tmp_path_factory.mktemp("copy"), tmp_path_factory.mktemp("dist")
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy)
    shutil.copytree(ROOT / "src", copy / "src", ignore=shutil.ignore_patterns("*.egg-info", "__pycache__"))
    makefile = (ROOT / "Makefile").read_text(encoding="utf-8")
    made = re.search(
        r"^wheel:.*\n(?:\t.*\n)*?\t\$\(BIN\)/python (-m pip wheel .*) --wheel-dir dist \.$", makefile, re.M
    )
    assert made is not None
    subprocess.run([sys.executable, *made[1].split(), "--wheel-dir", out, "."], cwd=copy, check=True)
    (built,) = out.glob("*.whl")
    return built


def test_the_wheel_holds_what_git_keeps_and_the_bundle_in_place_of_its_sources(wheel: Path) -> None:
    listed = git(ROOT, "ls-files", "--cached", "--others", "--exclude-standard", "src/rootfill").split()
    kept = {name.removeprefix("src/") for name in listed if (ROOT / name).is_file() and "/web/browser/" not in name}
    bundle = {f"rootfill/web/static/{name}" for name in BUILT}
    packed = set(zipfile.ZipFile(wheel).namelist())
    assert {name for name in packed if ".dist-info/" not in name} == kept | bundle
    for kind in (r"web/templates/.*\.html", r"store/migrations/.*\.py", r"data/fonts/.*\.ttf"):
        assert any(re.fullmatch(f"rootfill/{kind}", name) for name in packed), kind


def test_the_wheel_serves_the_page_without_node_and_with_nothing_but_its_dependencies(
    wheel: Path, tmp_path: Path
) -> None:
    program, parts = tmp_path / "program", tmp_path / "parts"
    install = ["-m", "pip", "install", "-qq", "--no-index", "--no-deps", "--target"]
    subprocess.run([sys.executable, *install, program, wheel], check=True)
    link_what_the_lock_pins(parts)
    # Without site (-S) no .pth file is read: neither this folder nor what else lies in .venv is in reach.
    command = [sys.executable, "-S", program / "bin" / "rootfill", "serve", "--port", "0", "--data", tmp_path / "data"]
    environment = {"PATH": str(tmp_path / "none"), "PYTHONPATH": f"{program}:{parts}", "HOME": str(tmp_path)}
    with serving([str(word) for word in command], environment) as address:
        page = fetch_page(address)
    assert {name: page[f"/static/{name}"] for name in ("page.js", "page.css")} == {
        name: (STATIC / name).read_bytes() for name in ("page.js", "page.css")
    }
    assert any(path.endswith(".ttf") for path in page)
    assert b"<form" in page["/"]


def link_what_the_lock_pins(folder: Path) -> None:
    """Links to the packages of requirements.lock that are installed here, and to no other."""
    folder.mkdir()
    for name in re.findall(r"^([\w.-]+)==", (ROOT / "requirements.lock").read_text(encoding="utf-8"), re.MULTILINE):
        try:
            found = distribution(name)
        except PackageNotFoundError:
            continue  # pinned for another platform
        for top in {file.parts[0] for file in found.files or ()} - {"..", "__pycache__"}:
            (folder / top).symlink_to(Path(str(found.locate_file(top))))
