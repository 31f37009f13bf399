"""What stands in a cell in words, from the value that is kept; and the value, from the words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NoReturn

from rootfill.units import parse_number, parse_size, parse_taper, size_name


def plain(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _number(value: object) -> str:
    return f"{parse_number(value):g}"


def _depth(value: object) -> str:
    """A depth as it is said: '20.5', '21.0'."""
    mm = parse_number(value)
    return f"{mm:g}" if mm % 0.5 else f"{mm:.1f}"


def _size(one: Mapping[str, Any]) -> str:
    return size_name(parse_size(one["size"]), parse_taper(one["taper"]))


def _files_text(files: Sequence[Mapping[str, Any]]) -> str:
    return ", ".join(f"{_size(f)} to {_depth(f['to_mm'])}" for f in files)


def _rows_text(rows: Sequence[Sequence[Any]]) -> str:
    return "; ".join(" ".join(_number(v) for v in row) for row in rows)


def _curve_text(bends: Sequence[Mapping[str, Any]]) -> str:
    if not bends:
        return "straight"
    return "; ".join(_bend_text(bend) for bend in bends)


_ANGLES = (("schneider ", "schneider_deg"), ("", "angle_deg"))


def _bend_text(bend: Mapping[str, Any]) -> str:
    known = [(words, bend[key]) for words, key in _ANGLES if bend.get(key) is not None]
    angle = f"{known[0][0]}{_number(known[0][1])}" if known else "?"
    start = parse_number(bend.get("from_mm") or 0)
    return f"{angle} r {_number(bend['radius_mm'])}" + (f" from {start:g}" if start else "")


def _wall_text(wall: Any) -> str:
    return _rows_text(wall) if isinstance(wall, list | tuple) else plain(wall)


def _feature_text(features: Sequence[Mapping[str, Any]]) -> str:
    return "; ".join(" ".join(_feature_words(f)) for f in features)


def _feature_words(feature: Mapping[str, Any]) -> list[str]:
    words = [str(feature["kind"]).replace("_", " ")]
    start, end = feature.get("from_mm"), feature.get("to_mm")
    words += [] if start is None else [_number(start)]
    return [*words, *([] if end is None else [f"to {_number(end)}"])]


TO_TEXT: Mapping[str, Callable[[Any], str]] = {
    "working_length_mm": _depth,
    "orifice_at_mm": _depth,
    "pack_to_mm": _depth,
    "made": _size,
    "files": _files_text,
    "profile": lambda rows: f"widths {_rows_text(rows)}",
    "curvature": _curve_text,
    "joins": lambda join: f"{join['canal']} at {_number(join['at_mm'])}",
    "wall_mm": _wall_text,
    "features": _feature_text,
    "splits": lambda split: _number(split["at_mm"]),
    "allergies": lambda names: ", ".join(names) or "none",
    "post_planned": lambda planned: "yes" if planned else "",
}


def _numbers(text: str) -> list[float]:
    return [parse_number(word) for word in text.split()]


def _read_shape(text: str) -> dict[str, Any]:
    """'30/.04', '30/.04 to 20.5, 25/.06 to 18', or 'widths 0 .35 .40; 12 .90 1.60'."""
    if text.lower().startswith("widths"):
        return {"profile": [_row_of(row, 3) for row in text[6:].split(";")]}
    files = [_read_file(part) for part in re.split(r";|,(?!\d)", text) if part.strip()]
    if len(files) == 1 and "to_mm" not in files[0]:
        return {"made": files[0]}
    return {"files": files} if all("to_mm" in f for f in files) else _refuse(text)


def _read_file(text: str) -> dict[str, Any]:
    found = re.fullmatch(r"\s*#?(\d{1,3})\s*[/ ]\s*([\d.,]+\s*%?)(?:\s+to\s+([\d.,]+))?\s*", text)
    if found is None:
        return _refuse(text)
    one: dict[str, Any] = {"size": parse_size(found[1]), "taper": parse_taper(found[2])}
    return one if found[3] is None else {**one, "to_mm": parse_number(found[3])}


def _row_of(text: str, length: int) -> list[float]:
    row = _numbers(text)
    return row if len(row) == length else _refuse(text)


def _read_curve(text: str) -> dict[str, Any]:
    if text.lower() in ("straight", "none", "0"):
        return {"curvature": []}
    return {"curvature": [_read_bend(part) for part in text.split(";")]}


def _read_bend(text: str) -> dict[str, Any]:
    found = re.fullmatch(
        r"\s*(schneider)?\s*(-?[\d.,]+)\s*°?\s*r\s*([\d.,]+)(?:\s+from\s+([\d.,]+))?\s*", text, re.IGNORECASE
    )
    if found is None:
        return _refuse(text)
    angle = "schneider_deg" if found[1] else "angle_deg"
    bend = {angle: parse_number(found[2]), "radius_mm": parse_number(found[3])}
    return bend if found[4] is None else {**bend, "from_mm": parse_number(found[4])}


def _read_join(text: str) -> dict[str, Any]:
    found = re.fullmatch(r"(.+?)\s+at\s+([\d.,]+)(\s+above the end)?", text, re.IGNORECASE)
    return {"joins": {"canal": found[1], "at_mm": parse_number(found[2])}} if found else _refuse(text)


def _read_wall(text: str) -> dict[str, Any]:
    if ";" not in text and len(text.split()) == 1:
        return {"wall_mm": parse_number(text)}
    return {"wall_mm": [_row_of(row, 2) for row in text.split(";")]}


def _read_features(text: str) -> dict[str, Any]:
    return {"features": [_read_feature(part) for part in text.split(";")]}


def _read_feature(text: str) -> dict[str, Any]:
    found = re.fullmatch(r"\s*([a-z_ ]+?)\s*(?:([\d.,]+)(?:\s+to\s+([\d.,]+))?)?\s*", text.lower())
    if found is None:
        return _refuse(text)
    feature: dict[str, Any] = {"kind": found[1].replace(" ", "_")}
    for key, number in (("from_mm", found[2]), ("to_mm", found[3])):
        if number is not None:
            feature[key] = parse_number(number)
    return feature


def _read_split(text: str) -> dict[str, Any]:
    found = re.fullmatch(r"(?:at\s+)?([\d.,]+)(\s+above the end)?", text, re.IGNORECASE)
    return {"splits": {"at_mm": parse_number(found[1])}} if found else _refuse(text)


def _read_allergies(text: str) -> dict[str, Any]:
    if text.lower() in ("none", "no"):
        return {"allergies": []}
    return {"allergies": [name.strip() for name in text.split(",") if name.strip()]}


def _refuse(text: str) -> NoReturn:
    raise ValueError(text)


def _read_number(key: str) -> Callable[[str], dict[str, Any]]:
    """Digits and one comma or point, with or without the unit: '2e1' is a slip, not 20."""

    def read(text: str) -> dict[str, Any]:
        found = re.fullmatch(r"([\d.,]+)\s*(mm)?", text, re.IGNORECASE)
        return {key: parse_number(found[1])} if found else _refuse(text)

    return read


FROM_TEXT: Mapping[str, Callable[[str], dict[str, Any]]] = {
    "length": _read_number("working_length_mm"),
    "orifice": _read_number("orifice_at_mm"),
    "pack_to": _read_number("pack_to_mm"),
    "flare": _read_number("flare_mm"),
    "shape": _read_shape,
    "curve": _read_curve,
    "joins": _read_join,
    "wall": _read_wall,
    "features": _read_features,
    "splits": _read_split,
    "allergies": _read_allergies,
    "post": lambda text: {"post_planned": {"yes": True}[text]},
}
