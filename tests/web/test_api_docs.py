"""The page about the API is true: its commands are sent, and what it shows of the answers comes back."""

from __future__ import annotations

import json
import re
import shlex
from pathlib import Path
from typing import Any

import httpx

from tests.web.open_house import open_house
from tests.web.visitor import Visitor

PAGE = Path(__file__).parents[2] / "docs" / "api.md"
BLOCK = re.compile(r"```sh\n(curl .+?)```(?:\n+```json\n(.+?)```)?", re.DOTALL)
WITH_VALUE = {"-X": "method", "-d": "body", "-H": "header", "-o": "file", "--data-urlencode": "query"}


def send(visitor: Visitor, command: str, token: str) -> httpx.Response:
    """Do what a curl command says."""
    words = iter(shlex.split(command.replace("\\\n", " "))[1:])
    given: dict[str, list[str]] = {name: [] for name in (*WITH_VALUE.values(), "address", "flag")}
    for word in words:
        if word.startswith("-"):
            given[WITH_VALUE.get(word, "flag")].append(next(words) if word in WITH_VALUE else word)
        else:
            given["address"].append(word)
    (address,) = given["address"]
    headers = [h.replace("$TOKEN", token).split(": ", 1) for h in given["header"]]
    query = dict(part.split("=", 1) for part in given["query"])
    method = (given["method"] or ["GET"])[0]
    return visitor.ask(
        method,
        address.removeprefix("$HERE"),
        headers=dict(headers),
        content="".join(given["body"]).encode(),
        **({"params": query} if query else {}),
    )


def shows(shown: Any, answered: Any) -> bool:
    """Whether an answer holds what is shown of it; … stands for whatever comes there."""
    if shown == "…":
        return True
    if isinstance(shown, dict):
        return isinstance(answered, dict) and all(k in answered and shows(v, answered[k]) for k, v in shown.items())
    if isinstance(shown, list):
        return isinstance(answered, list) and all(map(shows, shown, answered)) and len(shown) <= len(answered)
    if isinstance(shown, str) and "…" in shown:
        return isinstance(answered, str) and answered.startswith(shown.partition("…")[0])
    return bool(shown == answered)


def test_every_command_of_the_page_is_answered_as_it_shows(tmp_path: Path) -> None:
    blocks = BLOCK.findall(PAGE.read_text(encoding="utf-8"))
    assert len(blocks) >= 9
    token = ""
    with open_house(tmp_path) as house:
        for command, shown in blocks:
            answer = send(house.stranger(), command, token)
            if shown:
                assert shows(json.loads(shown), answer.json()), f"{command}\n{answer.text[:2000]}"
            assert answer.status_code < 400 or '"error"' in shown, command
            token = token or answer.json()["token"]


def test_what_is_not_shown_truly_would_be_seen() -> None:
    answered = {"a": 1, "b": [{"c": "long text"}, 2]}
    assert shows({"b": [{"c": "long…"}, "…"]}, answered)
    assert not shows({"b": [{"c": "short…"}]}, answered)
    assert not shows({"b": [{"c": "long…"}, 2, 3]}, answered)
    assert not shows({"d": None}, answered)


def test_every_address_of_the_api_stands_on_the_page_with_its_methods(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        paths = house.app.openapi()["paths"]
    lines = re.findall(r"^\| (`/api/.+?) \| ([A-Z, ]+) \|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    said = {path: set(methods.split(", ")) for named, methods in lines for path in re.findall(r"`(\S+)`", named)}
    assert said == {path: {method.upper() for method in methods} for path, methods in paths.items()}


def test_every_kind_of_error_has_its_line_on_the_page() -> None:
    sources = (PAGE.parents[1] / "src" / "rootfill" / "web").glob("*.py")
    text = "\n".join(source.read_text(encoding="utf-8") for source in sources)
    kinds = set(re.findall(r'\b(?:Refused|Notice)\(\s*\d+, "(\w+)"', text))
    kinds |= set(re.findall(r'^    (?:\(\w+, \d+|\d+: \(?)(?:, )?"(\w+)"', text, re.MULTILINE))
    said = set(
        re.findall(r"`(\w+)`", " ".join(re.findall(r"^\| \d+ \|([^|]+)\|", PAGE.read_text(encoding="utf-8"), re.M)))
    )
    assert {"input_refused", "our_fault", "too_large", "not_readable"} <= kinds
    assert kinds == said
