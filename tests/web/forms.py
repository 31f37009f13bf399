"""Every form of the page with values that are allowed in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

from rootfill.clinic.cells import CELLS, cell, cell_text
from tests.clinic.accounts import NAME, PASSWORD
from tests.web.open_house import MB, ML, OpenHouse


@dataclass(frozen=True)
class Form:
    """Where it is sent and what is in it; ``route`` is the address as the application knows it."""

    route: str
    path: str
    fields: dict[str, str] = field(default_factory=dict)
    method: str = "POST"


CANAL_FORMS: tuple[tuple[str, str, dict[str, str]], ...] = (
    ("", "", {"seed": "1, 2, 3", "edge": "70"}),
    ("/case", "/case", {}),
    ("/{number}/name", "/0/name", {"name": "MB"}),
    ("/{number}/end", "/0/end", {"point": "8, 8, 5"}),
)


def every_form(house: OpenHouse, case: int) -> list[Form]:
    """The forms of the page, for one of the cases that are kept."""
    return [*_of_the_clinic(house), *_of_the_doors(), *_of_a_case(house, case)]


def _of_the_clinic(house: OpenHouse) -> list[Form]:
    canals = {f"{name}-{i}": text for i, canal in enumerate((MB, ML)) for name, text in canal.items()}
    tray = f"/trays/{house.tray}"
    typed = inputs(house.browser().get(tray).text, tray)
    return [
        Form("/", "/", {"find": "C-0", "page": "1"}, "GET"),
        Form("/new", "/new", {"id": "N-1", "tooth": "36", "notation": "iso3950", "tray": str(house.tray), **canals}),
        Form("/new/canals", "/new/canals", {"tooth": "36", "notation": "iso3950"}, "GET"),
        Form("/settings", "/settings", {"notation": "universal", "minutes": "20"}),
        Form("/trays", "/trays", {"of": str(house.tray), "name": "my tray"}),
        Form("/trays/{key}", tray, typed),
        Form("/trays/{key}", tray, {**typed, "add": "cones"}),
        Form("/trays/{key}", tray, {**typed, "out": "cones-0"}),
        Form("/trays/{key}", tray, {**typed, "all": "pluggers"}),
        Form("/trays/{key}/remove", f"{tray}/remove"),
    ]


def _of_the_doors() -> list[Form]:
    return [
        Form("/sign-in", "/sign-in", {"name": NAME, "password": PASSWORD, "back": "/cases/1"}),
        Form("/password", "/password", {"old": PASSWORD, "new": PASSWORD, "again": PASSWORD}),
        Form("/locked", "/locked", {"password": PASSWORD, "back": "/"}),
        Form("/first/{secret}", "/first/x", {"name": NAME, "password": PASSWORD, "again": PASSWORD}),
        Form("/lock", "/lock"),
        Form("/sign-out", "/sign-out"),
    ]


def _of_a_case(house: OpenHouse, case: int) -> list[Form]:
    here = f"/cases/{case}"
    canal, findings = house.kept(case).canals[-1].key, house.kept(case).findings
    return [
        *_cells(house, case),
        *(Form("/cases/{case}/say", f"{here}/say", {"text": text}) for text in LINES),
        *(Form("/cases/{case}/heard", f"{here}/heard", {"text": text}, "GET") for text in LINES),
        *(Form(f"/cases/{{case}}/{what}", f"{here}/{what}") for what in ("visits", "undo", "cards", "reports")),
        *(Form("/cases/{case}/remove/{part}/{key}", f"{here}/remove/finding/{row.key}") for row in findings),
        Form("/cases/{case}/remove/{part}/{key}", f"{here}/remove/canal/{canal}"),
        Form("/cases/{case}/canals", f"{here}/canals", {"name": "MB2"}),
        Form("/cases/{case}/pictures", f"{here}/pictures", {"kind": "film", "words": "before", "spacing": "0.03"}),
        Form("/cases/{case}/undo/pictures", f"{here}/undo/pictures", {"number": str(house.kept(case).revision)}),
        *(
            Form(f"/cases/{{case}}/pictures/{{key}}/{what}", f"{here}/pictures/{row.key}/{what}")
            for row in house.kept(case).pictures
            for what in ("turn", "remove")
        ),
        *(
            Form(f"/cases/{{case}}/pictures/{{key}}/canals{path}", f"{here}/pictures/{row.key}/canals{filled}", texts)
            for row in house.kept(case).pictures
            for path, filled, texts in CANAL_FORMS
        ),
        Form("/cases/{case}/tray", f"{here}/tray", {"tray": str(house.tray)}),
    ]


def _cells(house: OpenHouse, case: int) -> Iterator[Form]:
    """Each cell with what stands there and what may be typed, kept and only looked at."""
    kept = house.kept(case)
    for part, texts in VALID.items():
        row = kept.rows(part)[-1]
        for name, text in texts.items():
            at, was = f"{part}/{row.key}/{name}", cell_text(cell(part, name), row.entered)
            yield Form("/cases/{case}/cell", f"/cases/{case}/cell", {"at": at, "was": was, "text": text})
            yield Form("/cases/{case}/look", f"/cases/{case}/look", {"at": at, "text": text})


YES = "yes"
VALID: dict[str, dict[str, str]] = {
    "canal": {
        "name": "MX", "reference": "MB cusp tip", "length": "20", "shape": "30/.04 to 20, 25/.06 to 18",
        "orifice": "8", "curve": "28 r 11 from 1.5", "drying": "dry", "patent": YES, "joins": "MB at 3",
        "wall": "0 1.0; 8 0.85", "technique": "single_wave", "section": "oval", "flare": "0.1", "post": YES,
        "pack_to": "15", "features": "ledge 2 to 3", "splits": "4",
    },
    "visit": dict.fromkeys((one.field for one in CELLS["visit"]), YES),
    "patient": {"allergies": "latex, iodine", "pacemaker": YES},
    "baseline": {"pulp": "vital", "apex": "closed", "fracture_suspected": "no"},
    "materials": {"sealer": "my sealer"},
    "case": {"id": "C-9", "diagnosis": "necrotic pulp", "note": "a line"},
}  # fmt: skip
"""A text that each cell takes."""
LINES = (
    "MB locator 21.5",
    "mb 50 binds 14; mb dry",
    "all straight",
    "MB cone 30 at 19.5",
    "MB joins ML at 3",
    "isolated; rinsed",
    "MB paper point dry 20.5",
    "all reference moved 1",
)


def inputs(page: str, action: str) -> dict[str, str]:
    """What the form of this address holds when its page is loaded."""
    found = _Inputs(action)
    found.feed(page)
    return found.fields


class _Inputs(HTMLParser):
    def __init__(self, action: str) -> None:
        super().__init__()
        self.fields: dict[str, str] = {}
        self._action = action
        self._inside = False
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._inside = given.get("action") == self._action
        if not self._inside:
            return
        if tag == "input" and "name" in given and (given.get("type") != "checkbox" or "checked" in given):
            self.fields[given["name"]] = given.get("value", "")
        if tag == "select":
            self._select = given.get("name", "")
        if tag == "option" and "selected" in given:
            self.fields[self._select] = given.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
