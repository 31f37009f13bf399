"""The documents keep up with the program: keys, ranges, numbers, links, and every example is run."""

from __future__ import annotations

import dataclasses
import os
import re
import subprocess
import sys
import types
import typing
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from prove.evidence import git
from rootfill import clinic, tables
from rootfill.plan import model
from rootfill.plan.case import Preferences
from rootfill.units import Estimate

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]
NAMES = [page.relative_to(ROOT).as_posix() for page in PAGES]


def read(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


def rows(text: str) -> dict[str, list[str]]:
    """Table rows whose first cell is a key in backticks: the other cells by key."""
    found: dict[str, list[str]] = {}
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if line.startswith("|") and (key := re.fullmatch(r"`([\w.\[\]]+)`", cells[0])):
            assert key[1] not in found, f"{key[1]} has two entries"
            found[key[1]] = cells[1:]
    return found


# The case file, against its JSON Schema.


def leaves(root: Mapping[str, Any], node: Mapping[str, Any], path: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every key of a JSON Schema with its own schema, lists shown as []."""
    if "$ref" in node:
        node = root["$defs"][node["$ref"].rsplit("/", 1)[-1]]
    for option in node.get("anyOf", []):
        yield from leaves(root, option, path)
    if isinstance(node.get("items"), dict):
        yield from leaves(root, node["items"], f"{path}[]")
    for key, schema in node.get("properties", {}).items():
        inside = f"{path}.{key}" if path else key
        yield inside, schema
        yield from leaves(root, schema, inside)


SCHEMA = clinic.case_schema()
CASE_KEYS = dict(leaves(SCHEMA, SCHEMA))
TRAY_KEYS = {f"tray.{key}" for key, _ in leaves(SCHEMA, SCHEMA["$defs"]["Tray"])}


def options(schema: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [*schema.get("anyOf", [schema])]


def test_every_key_of_a_case_file_has_an_entry_and_no_entry_is_left_over() -> None:
    entries = set(rows(read("case-file.md")))
    assert set(CASE_KEYS) - entries == set()
    assert entries - set(CASE_KEYS) == set()


def test_a_tray_file_has_no_key_that_the_case_file_page_does_not_explain() -> None:
    assert TRAY_KEYS - set(rows(read("case-file.md"))) == set()


@pytest.mark.parametrize("key", [k for k, s in CASE_KEYS.items() if any("maximum" in o for o in options(s))])
def test_the_entry_of_a_number_states_the_range_the_schema_allows(key: str) -> None:
    said = rows(read("case-file.md"))[key][1]
    for option in options(CASE_KEYS[key]):
        if "maximum" in option:
            low = option.get("minimum", option.get("exclusiveMinimum"))
            above = "above " if "exclusiveMinimum" in option else ""
            assert said.startswith(f"{above}{low:g} to {option['maximum']:g}")


@pytest.mark.parametrize("key", [k for k, s in CASE_KEYS.items() if any("enum" in o for o in options(s))])
def test_the_entry_of_a_choice_names_every_word_that_is_allowed_and_no_other(key: str) -> None:
    allowed = {word for option in options(CASE_KEYS[key]) for word in option.get("enum", [])}
    assert set(re.findall(r"`(\w+)`", rows(read("case-file.md"))[key][1])) == allowed


@pytest.mark.parametrize("name", [f.name for f in dataclasses.fields(Preferences)])
def test_the_entry_of_a_preference_states_its_default_and_how_sure_it_is(name: str) -> None:
    said, value = rows(read("case-file.md"))[f"preferences.{name}"][2], getattr(Preferences(), name)
    if isinstance(value, str):
        assert said.startswith(value)
    else:
        assert said.startswith(f"{value:g} ({tables.rule(name).mark})")


# The result, against the types it is made of.


def fields_of(kind: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    """Every key of plan.json with its type; an estimate is one value."""
    for one in dataclasses.fields(kind):
        shown = typing.get_type_hints(kind)[one.name]
        inside, inner = (f"{path}.{one.name}" if path else one.name), shown
        parts = [shown, *typing.get_args(shown)]
        if typing.get_origin(shown) is tuple:
            inner = typing.get_args(shown)[0]
        yield inside, shown
        nested = [p for p in (inner, *parts) if isinstance(p, type) and dataclasses.is_dataclass(p)]
        if nested and nested[0] is not Estimate:
            yield from fields_of(nested[0], f"{inside}[]" if typing.get_origin(shown) is tuple else inside)


RESULT_KEYS = dict(fields_of(model.Plan))


def holds(shown: Any, kind: type) -> bool:
    union = typing.get_origin(shown) in (typing.Union, types.UnionType)
    return shown is kind or (union and kind in typing.get_args(shown))


def test_every_key_of_a_plan_has_an_entry_and_no_entry_is_left_over() -> None:
    entries = set(rows(read("results.md")))
    assert set(RESULT_KEYS) - entries == set()
    assert entries - set(RESULT_KEYS) == set()


def keys_of(thing: object, path: str = "") -> Iterator[str]:
    """Every key of plain data that the types have keys below."""
    if isinstance(thing, list):
        for one in thing:
            yield from keys_of(one, f"{path}[]")
    elif isinstance(thing, dict) and (not path or any(key.startswith(f"{path}.") for key in RESULT_KEYS)):
        for name, value in thing.items():
            inside = f"{path}.{name}" if path else name
            yield inside
            yield from keys_of(value, inside)


def test_plan_json_has_exactly_the_keys_of_the_types_where_nothing_is_null() -> None:
    shown = set(keys_of(clinic.plan_data(clinic.plan_case(clinic.demo_case(), _NoShelf()))))
    assert shown - set(RESULT_KEYS) == set()
    assert {key for key in RESULT_KEYS if key.count(".") < 2} - shown == set()


class _NoShelf:
    def tray_text(self, name: str) -> str:
        raise AssertionError(f"{name} is not asked for")


def test_the_results_page_calls_an_estimate_exactly_what_is_one() -> None:
    wrong = {key for key, cells in rows(read("results.md")).items() if not _kind_agrees(cells[0], RESULT_KEYS[key])}
    assert wrong == set()


def _kind_agrees(said: str, shown: Any) -> bool:
    null = ("null" in said) == holds(shown, type(None))
    return null and (said == "null" or ("estimate" in said) == holds(shown, Estimate))


def test_every_estimate_and_every_decision_is_explained_on_the_numbers_page() -> None:
    said = set(re.findall(r"`([\w_]+)`", read("numbers.md")))
    shown = {
        key.rsplit(".", 1)[-1] for key, cells in rows(read("results.md")).items()
        if "estimate" in cells[0] or "decision" in cells[0]
    }  # fmt: skip
    assert shown - said == set()


def test_every_source_that_points_to_the_numbers_page_is_named_in_one_of_its_headings() -> None:
    pointing = {row["id"] for row in tables.table("sources") if "docs/numbers.md" in row["text"]}
    headings = " ".join(re.findall(r"^#+ (.+)$", read("numbers.md"), re.MULTILINE))
    assert pointing == {"geometry", "fit.seat", "fit.reach", "fit.elastic", "fit.trim"}
    assert {id for id in pointing if f"`{id}`" not in headings} == set()


def test_every_rule_that_a_document_names_exists_and_has_the_value_it_states() -> None:
    named = [(key, said) for page in PAGES for key, said in
             re.findall(r"rule `(\w+)`(?: \(([\d.]+)[^)]*\))?", page.read_text(encoding="utf-8"))]  # fmt: skip
    assert named
    for key, said in named:
        value = tables.rule(key).value
        assert not said or float(said) == value, key


def test_every_kind_of_exit_is_explained_to_the_clinician() -> None:
    source = (ROOT / "src" / "rootfill" / "plan" / "exits.py").read_text(encoding="utf-8")
    kinds = set(re.findall(r'Exit\(\s*"(\w+)"', source))
    assert kinds
    assert kinds == set(re.findall(r"`(\w+)`", rows(read("results.md"))["canals[].exit.kind"][1]))
    assert kinds - set(re.findall(r"`(\w+)`", read("guide.md"))) == set()


# Examples and links.


@dataclass
class Example:
    """One command of a page with what it is said to print, and its exit code."""

    command: str
    lines: list[str] = field(default_factory=list)
    code: int = 0


FENCE = re.compile(r"(?:<!-- file: (\S+) -->\n)?```(\w*)\n(.*?)```", re.DOTALL)


def examples(text: str) -> Iterator[tuple[str, str] | Example]:
    """Files to write, as (name, content), and commands to run, in the order of the page."""
    for name, kind, body in FENCE.findall(text):
        if name:
            yield name, body
        elif kind == "console":
            yield from _commands(body)


def _commands(body: str) -> Iterator[Example]:
    waiting: Example | None = None
    lines = iter(body.splitlines())
    for line in lines:
        if line == "$ echo $?" and waiting is not None:
            waiting.code = int(next(lines))
        elif line.startswith("$ "):
            if waiting is not None:
                yield waiting
            waiting = Example(line.removeprefix("$ "))
        elif waiting is not None and line.strip() not in ("", "…"):
            waiting.lines.append(" ".join(line.split()))
    if waiting is not None:
        yield waiting


def run(example: Example, folder: Path) -> tuple[int, str]:
    """Exit code and everything printed, white space made single."""
    environment = os.environ | {
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "COLUMNS": "110",
        "NO_COLOR": "1",
    }
    done = subprocess.run(
        example.command, shell=True, cwd=folder, env=environment, capture_output=True, encoding="utf-8", check=False
    )
    return done.returncode, " ".join((done.stdout + done.stderr).split())


@pytest.mark.parametrize(("name", "page"), [*zip(NAMES, PAGES, strict=True)], ids=NAMES)
def test_every_command_a_page_shows_prints_those_lines_and_ends_with_that_code(
    name: str, page: Path, tmp_path: Path
) -> None:
    for one in examples(page.read_text(encoding="utf-8")):
        if isinstance(one, tuple):
            (tmp_path / one[0]).write_text(one[1], encoding="utf-8")
            continue
        code, printed = run(one, tmp_path)
        assert code == one.code, f"{name}: {one.command}\n{printed}"
        rest = printed
        for line in one.lines:
            assert line in rest, f"{name}: {one.command}\nnot printed, or not in this order: {line}\n{printed}"
            rest = rest[rest.index(line) + len(line) :]


def test_the_pages_that_teach_commands_do_show_some() -> None:
    taught = {name for name, page in zip(NAMES, PAGES, strict=True) if "```console" in page.read_text(encoding="utf-8")}
    assert {"README.md", "docs/guide.md"} <= taught


def test_an_example_that_is_not_true_would_be_seen(tmp_path: Path) -> None:
    (shown,) = examples("```console\n$ rootfill new 55\nresorbing root\n$ echo $?\n2\n```\n")
    assert isinstance(shown, Example)
    assert (shown.lines, shown.code) == (["resorbing root"], 2)
    code, printed = run(shown, tmp_path)
    assert code == 2
    assert "resorbing root" in printed
    assert "Traceback" not in printed


def anchor(heading: str) -> str:
    return re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-")


@pytest.mark.parametrize(("name", "page"), [*zip(NAMES, PAGES, strict=True)], ids=NAMES)
def test_every_link_leads_to_a_file_that_exists_and_to_a_heading_in_it(name: str, page: Path) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8")):
        if target.startswith("http"):
            continue
        path, _, heading = target.partition("#")
        file = page if not path else (page.parent / path)
        assert file.exists(), f"{name}: {target}"
        if heading:
            headings = re.findall(r"^#+ (.+)$", file.read_text(encoding="utf-8"), re.MULTILINE)
            assert heading in map(anchor, headings), f"{name}: {target}"


def test_every_page_can_be_reached_from_the_readme() -> None:
    seen, waiting = set[Path](), [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        seen.add(page)
        for target in re.findall(r"\]\(([^)#\s]+\.md)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
            other = (page.parent / target).resolve()
            if not target.startswith("http") and other not in seen:
                waiting.append(other)
    assert {page.resolve() for page in PAGES} - {page.resolve() for page in seen} == set()


def test_the_decisions_are_numbered_without_a_gap_and_each_says_context_decision_and_consequence() -> None:
    pages = sorted((DOCS / "decisions").glob("*.md"))
    assert [int(page.name[:4]) for page in pages] == list(range(1, len(pages) + 1))
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert re.findall(r"^## (.+)$", text, re.MULTILINE) == ["Context", "Decision", "Consequence"], page.name


def test_the_tour_names_every_package_that_exists() -> None:
    listed = git(ROOT, "ls-files", "--cached", "--others", "--exclude-standard", "src/rootfill").split("\n")
    packages = {name.split("/")[2] for name in listed if name.count("/") > 2}
    assert {package for package in packages - {"data"} if f"{package}/" not in read("tour.md")} == set()
