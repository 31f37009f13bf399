"""One sentence out of whatever a schema found wrong: field, value, what is allowed."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import TypeAdapter, ValidationError

from rootfill.errors import InputRefused, Said
from rootfill.units import parse_number

Node = Mapping[str, Any]
Place = Sequence[str | int]

UNKNOWN = ("extra_forbidden", "unexpected_keyword_argument")

_UNITS = {
    "_mm": "mm",
    "_deg": "degrees",
    "_min": "min",
    "_n": "N",
    "_c": "°C",
    "size": "(hundredths of a mm)",
    "taper": "(mm per mm)",
}


def refusal(error: ValidationError, adapter: TypeAdapter[Any], data: Mapping[str, Any]) -> InputRefused:
    """The first thing wrong, in the words of the person who typed it."""
    return _refused(_first(error.errors()), adapter, data)


def refusal_so_far(error: ValidationError, adapter: TypeAdapter[Any], data: Mapping[str, Any]) -> InputRefused | None:
    """The first thing wrong with what may still be incomplete; None where only fields are missing."""
    wrong = [e for e in error.errors() if e["type"] != "missing" or len(e["loc"]) > 1]
    return _refused(_first(wrong), adapter, data) if wrong else None


def _refused(first: Any, adapter: TypeAdapter[Any], data: Mapping[str, Any]) -> InputRefused:
    schema = adapter.json_schema()
    nodes = list(_nodes(schema, schema, first["loc"]))
    field = _field([step for step, _ in nodes], data)
    kind, value = first["type"], first["input"]
    if kind in UNKNOWN:
        known = [
            k for option in _options(schema, _leaf(nodes) if nodes else schema) for k in option.get("properties", {})
        ]
        unknown = str(first["loc"][-1])
        return InputRefused(_join(field, unknown), Said("not known here"), _did_you_mean(unknown, known))
    if kind == "missing":
        last = str(first["loc"][-1])
        whole = field if nodes and nodes[-1][0] == last else _join(field, last)
        return InputRefused(whole, None, f"give {_allowed(_leaf(nodes), last)}")
    name = next((str(s) for s, _ in reversed(nodes) if isinstance(s, str)), "")
    lead = "fill it in, allowed" if value == "?" else "allowed"
    return InputRefused(field, value, f"{lead}: {_allowed(_leaf(nodes), name)}{_slip(value, _leaf(nodes))}")


def _first(errors: Sequence[Any]) -> Any:
    """The first error that is not just the consequence of one inside it; an unknown key before the one it hides."""
    inner = [e for e in errors if not any(_inside_of(o["loc"], e["loc"]) for o in errors)]
    unknown = [e for e in inner if e["type"] in UNKNOWN]
    return (unknown or inner)[0]


def _inside_of(loc: Place, outer: Place) -> bool:
    return len(loc) > len(outer) and tuple(loc[: len(outer)]) == tuple(outer)


def _leaf(nodes: Sequence[tuple[str | int, Node]]) -> Node:
    return nodes[-1][1] if nodes else {}


def _nodes(root: Node, node: Node, loc: Place) -> Iterator[tuple[str | int, Node]]:
    """The steps of ``loc`` that exist in the schema, each with its own schema; union tags are passed over."""
    for step in loc:
        found = _child(root, node, step)
        if found is not None:
            node = found
            yield step, node


def _child(root: Node, node: Node, step: str | int) -> Node | None:
    for option in _options(root, node):
        if isinstance(step, str) and step in option.get("properties", {}):
            return _resolved(root, option["properties"][step])
        if isinstance(step, int) and option.get("type") == "array":
            prefix = option.get("prefixItems", [])
            return _resolved(root, prefix[step] if step < len(prefix) else option.get("items", {}))
    return None


def _options(root: Node, node: Node) -> list[Node]:
    return [_resolved(root, o) for o in node.get("anyOf", [node])]


def _resolved(root: Node, node: Node) -> Node:
    reference = node.get("$ref")
    if reference is None:
        return node
    return _resolved(root, root["$defs"][reference.rsplit("/", 1)[-1]])


def _field(steps: Sequence[str | int], data: Any) -> str:
    """'canals[0].made.size (MB)': the path as typed, with the name of what it speaks of."""
    text, name = "", ""
    for step in steps:
        text = f"{text}[{step}]" if isinstance(step, int) else _join(text, step)
        data = _inside(data, step)
        if isinstance(step, int) and isinstance(data, dict) and isinstance(data.get("name"), str):
            name = f" ({data['name'][:20]})"
    return f"{text}{name}" or "the file"


def _inside(data: Any, step: str | int) -> Any:
    try:
        return data[step]
    except (KeyError, IndexError, TypeError):
        return None


def _join(field: str, name: str) -> str:
    if not field or field == "the file":
        return name
    path, bracket, owner = field.partition(" (")
    return f"{path}.{name}{bracket}{owner}"


def _did_you_mean(unknown: str, known: Sequence[str]) -> str:
    close = difflib.get_close_matches(unknown, known, 1)
    if close:
        return f"did you mean {close[0]}?"
    return f"known here: {', '.join(known)}"


def _allowed(node: Node, name: str) -> str:
    """What the schema allows, in words."""
    words = [w for option in node.get("anyOf", [node]) if (w := _option_words(option, name))]
    return " or ".join(dict.fromkeys(words)) or "a value of the kind the guide shows"


def _option_words(option: Node, name: str) -> str:
    if "const" in option:
        return str(option["const"])
    if "enum" in option:
        return ", ".join(str(e) for e in option["enum"])
    if "$ref" in option or option.get("type") == "object":
        required = ", ".join(option.get("required", []))
        return f"a table with {required}" if required else "a table of its own keys"
    kind = option.get("type")
    if isinstance(kind, list):
        return _range_words(option, name)
    if kind == "string":
        most = option.get("maxLength")
        return "a text" if most is None else f"a text of {option.get('minLength', 0)} to {most} printable characters"
    return {"boolean": "true or false", "array": "a list"}.get(str(kind), "")


def _range_words(option: Node, name: str) -> str:
    low, high = (
        option.get("minimum", option.get("exclusiveMinimum")),
        option.get("maximum", option.get("exclusiveMaximum")),
    )
    unit = next((f" {u}" for end, u in _UNITS.items() if name.endswith(end)), "")
    above = "above " if "exclusiveMinimum" in option else ""
    if low is not None and high is not None:
        return f"{above}{low:g} to {high:g}{unit}"
    if low is not None:
        return f"{above or 'at least '}{low:g}{unit}"
    return f"a number{unit}"


def _slip(value: Any, node: Node) -> str:
    """A lost or doubled decimal point, where moving it would make the value possible."""
    low, high = node.get("minimum"), node.get("maximum")
    try:
        number = parse_number(value)
    except (TypeError, ValueError):
        return ""
    if low is None or high is None or number == 0:
        return ""
    likely = [x for x in (number * 10, number / 10) if low <= x <= high]
    return f" (did you mean {likely[0]:g}?)" if len(likely) == 1 else ""
