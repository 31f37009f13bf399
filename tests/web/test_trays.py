"""The pages of the trays: what stands in their forms comes back, and is kept on Save alone."""

from __future__ import annotations

import json
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import httpx
import pytest

from rootfill.drawing.tokens import size_colour
from tests.clinic.accounts import NOON
from tests.web.open_house import OpenHouse, open_house
from tests.web.visitor import Visitor

ROOM: dict[str, Any] = {
    "name": "room 2",
    "assumed": True,
    "cones": [{"name": "30/.04", "size": 30, "taper": 0.04}, {"name": "12", "size": 12, "taper": 0.02}],
    "pluggers": [
        {"name": "50", "tip_mm": 0.5, "taper": 0.02, "material": "niti", "prebend": True, "tol_mm": 0.01},
        {"name": "60", "tip_mm": 0.6, "taper": 0.02, "assumed": False},
    ],
    "heated_tips": [{"name": "fine tip", "tip_mm": 0.4, "taper": 0.04, "measured": [[200, 1, 95], [200, 2, 130]]}],
    "needles": [{"name": "23 G", "gauge": 23, "use": "deliver"}],
    "sealers": [{"name": "one", "heat_allowed": False}],
}


class Form(HTMLParser):
    """The fields of a page as a browser would send them, and what is said of them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.sent: dict[str, str] = {}
        self.labels: dict[str, str] = {}
        self.invalid: list[str] = []
        self.focused: list[str] = []
        self.buttons: list[str] = []
        self.dots: list[str] = []
        self._select = ""
        self._told: set[str] = set()
        self.ids: dict[str, str] = {}
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if "autofocus" in given:
            self.focused.append(f"{name}={given['value']}" if tag == "button" else name)
        if given.get("aria-invalid"):
            self.invalid.append(name)
        if tag == "label":
            self._told.add(given.get("for") or "")
        if tag == "circle":
            self.dots.append(given.get("fill") or "")
        if tag == "button":
            self.buttons.append(f"{name}={given.get('value')}")
        if tag == "option" and self._select and ("selected" in given or self._select not in self.sent):
            self.sent[self._select] = given.get("value") or ""
        if tag in ("input", "select"):
            self._field(tag, name, given)

    def _field(self, tag: str, name: str, given: dict[str, str | None]) -> None:
        self._select = name if tag == "select" else ""
        if given.get("type") != "hidden":
            self.labels[name] = given.get("aria-label") or ""
            self.ids[name] = given.get("id") or ""
        if tag == "input" and (given.get("type") != "checkbox" or "checked" in given):
            self.sent[name] = given.get("value") or ""

    @property
    def unlabelled(self) -> set[str]:
        return {name for name, label in self.labels.items() if not label and self.ids[name] not in self._told}


@pytest.fixture
def house(tmp_path: Path) -> Iterator[OpenHouse]:
    with open_house(tmp_path) as house:
        yield house


@pytest.fixture
def owner(house: OpenHouse) -> Visitor:
    return house.browser()


@pytest.fixture
def room(house: OpenHouse) -> int:
    return house.store.records.add_tray(ROOM, NOON).key


def form_of(answer: httpx.Response) -> Form:
    return Form(answer.text)


def sent(owner: Visitor, room: int, fields: dict[str, str], button: str = "keep=all", **typed: str) -> httpx.Response:
    """The form sent with one of its buttons, some of its fields typed over."""
    assert set(typed) <= set(form_of(owner.get(f"/trays/{room}")).labels) | set(fields)
    name, _, value = button.partition("=")
    return owner.post(f"/trays/{room}", data={**fields, **typed, name: value})


def shown(owner: Visitor, room: int) -> dict[str, str]:
    return form_of(owner.get(f"/trays/{room}")).sent


def test_the_list_names_every_tray_with_what_lies_on_it_and_who_uses_it(
    house: OpenHouse, owner: Visitor, room: int
) -> None:
    house.case()
    page = " ".join(owner.get("/trays").text.split())
    assert "36 cones, 8 pluggers, 2 heated tips, 4 needles, 1 sealer, 1 compound" in page
    own = page.partition(f'href="/trays/{room}"')[2].partition("</tr>")[0]
    assert "room 2" in own
    assert "2 cones, 2 pluggers, 1 heated tip, 1 needle, 1 sealer" in own
    assert "<td>1 of 6 measured</td> <td>none</td>" in own
    used = page.partition(f'href="/trays/{house.tray}"')[2].partition("</tr>")[0]
    assert "<td>1</td>" in used
    assert "remove" not in used


def test_a_copy_opens_under_its_own_name(house: OpenHouse, owner: Visitor) -> None:
    answer = owner.send("/trays", of="generic", name="room 7")
    key = int(answer.headers["location"].removeprefix("/trays/"))
    assert answer.status_code == 303
    assert house.store.records.tray(key).name == "room 7"
    copied = owner.send("/trays", of=str(house.tray), name="room 8").headers["location"]
    assert shown(owner, int(copied.removeprefix("/trays/")))["pluggers-2-name"] == "100"


def test_a_copy_under_a_name_taken_is_refused_with_what_was_chosen_kept(house: OpenHouse, owner: Visitor) -> None:
    answer = owner.send("/trays", of=str(house.tray), name="small tray")
    assert answer.status_code == 422
    assert "name of the tray is &#39;small tray&#39;; another tray has this name" in answer.text
    assert (form_of(answer).sent["name"], form_of(answer).sent["of"]) == ("small tray", str(house.tray))
    assert len(house.store.records.trays()) == 1


def test_a_copy_of_a_tray_that_is_gone_is_told(owner: Visitor) -> None:
    assert owner.send("/trays", of="999", name="x").status_code == 404


def test_a_form_sent_back_as_it_came_changes_nothing(house: OpenHouse, owner: Visitor, room: int) -> None:
    before = house.store.records.tray(room)
    answer = sent(owner, room, shown(owner, room))
    assert (answer.status_code, answer.headers["location"]) == (303, f"/trays/{room}?saved=true")
    assert house.store.records.tray(room) == before


def test_what_was_typed_is_kept_on_save_with_what_the_page_does_not_show(
    house: OpenHouse, owner: Visitor, room: int
) -> None:
    house.clock.passes(minutes=5)
    fields = shown(owner, room)
    del fields["pluggers-0-prebend"]
    typed = {"name": "room 3", "pluggers-0-tip_mm": "0,55", "cones-1-taper": "6 %", "pluggers-0-sure": "yes"}
    assert sent(owner, room, fields, **typed).status_code == 303
    second = ROOM["pluggers"][1]
    changed = {"name": "50", "tip_mm": 0.55, "taper": 0.02, "material": "niti", "tol_mm": 0.01, "assumed": False}
    kept = house.store.records.tray(room)
    assert kept.entered == {
        **ROOM,
        "name": "room 3",
        "cones": [ROOM["cones"][0], {**ROOM["cones"][1], "taper": 0.06}],
        "pluggers": [changed, second],
    }
    assert kept.changed_at == house.clock()


def test_a_refused_value_is_named_and_everything_typed_comes_back(house: OpenHouse, owner: Visitor, room: int) -> None:
    answer = sent(owner, room, shown(owner, room), **{"pluggers-0-tip_mm": "5", "needles-0-gauge": "twenty"})
    form = form_of(answer)
    assert answer.status_code == 422
    assert "plugger 50: tip is 5; allowed: above 0 to 2 mm." in answer.text
    assert (form.sent["pluggers-0-tip_mm"], form.sent["needles-0-gauge"]) == ("5", "twenty")
    assert form.invalid == form.focused == ["pluggers-0-tip_mm"]
    assert "Not saved yet" in answer.text
    assert house.store.records.tray(room).entered == ROOM


def test_a_line_is_added_without_saving_and_the_page_goes_on_in_it(house: OpenHouse, owner: Visitor, room: int) -> None:
    answer = sent(owner, room, shown(owner, room), "add=needles", **{"pluggers-0-tip_mm": "0.58"})
    form = form_of(answer)
    assert answer.status_code == 200
    assert form.focused == ["needles-1-name"]
    assert form.sent["pluggers-0-tip_mm"] == "0.58"
    assert house.store.records.tray(room).entered == ROOM
    filled = {"needles-1-name": "25 G", "needles-1-gauge": "25", "needles-1-use": "deliver"}
    assert sent(owner, room, form.sent, **filled).status_code == 303
    entered = house.store.records.tray(room).entered
    assert entered["needles"] == [*ROOM["needles"], {"name": "25 G", "gauge": 25, "use": "deliver"}]
    assert entered["pluggers"][0]["tip_mm"] == 0.58


def test_a_line_is_taken_out_without_saving_and_the_page_goes_on_beside_it(
    house: OpenHouse, owner: Visitor, room: int
) -> None:
    form = form_of(sent(owner, room, shown(owner, room), "out=pluggers-0"))
    assert (form.focused, form.sent["pluggers-0-name"]) == (["pluggers-0-name"], "60")
    assert house.store.records.tray(room).entered == ROOM
    none = form_of(sent(owner, room, form.sent, "out=pluggers-0"))
    assert none.focused == ["add=pluggers"]
    sent(owner, room, none.sent)
    assert house.store.records.tray(room).entered == {**ROOM, "pluggers": []}


def test_a_whole_group_is_ticked_without_saving(house: OpenHouse, owner: Visitor, room: int) -> None:
    form = form_of(sent(owner, room, shown(owner, room), "all=pluggers"))
    assert form.focused == ["all=pluggers"]
    assert [form.sent.get(f"pluggers-{i}-sure") for i in (0, 1)] == ["yes", "yes"]
    assert form.sent.get("heated_tips-0-sure") is None
    assert house.store.records.tray(room).entered == ROOM


def test_somebody_elses_change_is_told_and_what_was_typed_stays_until_saved_again(
    house: OpenHouse, owner: Visitor, room: int
) -> None:
    fields = shown(owner, room)
    theirs = {**ROOM, "needles": [{**ROOM["needles"][0], "gauge": 25}]}
    house.store.records.change_tray(room, ROOM, theirs, NOON)
    answer = sent(owner, room, fields, **{"pluggers-0-tip_mm": "0.58"})
    form = form_of(answer)
    assert answer.status_code == 409
    assert "needle 23 G: gauge is now 25" in answer.text
    assert (form.sent["pluggers-0-tip_mm"], form.sent["needles-0-gauge"]) == ("0.58", "23")
    assert house.store.records.tray(room).entered == theirs
    assert sent(owner, room, form.sent).status_code == 303
    kept = house.store.records.tray(room).entered
    assert (kept["pluggers"][0]["tip_mm"], kept["needles"]) == (0.58, ROOM["needles"])


def test_a_tray_is_removed_and_one_in_use_is_not(house: OpenHouse, owner: Visitor, room: int) -> None:
    house.case()
    used = owner.send(f"/trays/{house.tray}/remove")
    assert used.status_code == 422
    assert "tray small tray is used by 1 case; choose another tray there first." in used.text
    assert owner.send(f"/trays/{room}/remove").headers["location"] == "/trays"
    assert [tray.key for tray in house.store.records.trays()] == [house.tray]
    assert owner.get(f"/trays/{room}").status_code == 404


def test_every_field_has_a_name_for_who_cannot_see_it_and_none_is_named_twice(owner: Visitor, room: int) -> None:
    for page in ("/trays", f"/trays/{room}"):
        form = form_of(owner.get(page))
        assert form.unlabelled == set()
    labels = [label for label in form.labels.values() if label]
    assert len(labels) == len(set(labels)) > 40
    assert form.labels["pluggers-0-tip_mm"] == "plugger 50: tip, mm"


def test_enter_in_any_field_saves_because_the_first_button_of_the_form_does(owner: Visitor, room: int) -> None:
    page = owner.get(f"/trays/{room}").text
    assert Form(page.partition('class="tray"')[2]).buttons[0] == "keep=all"


def test_a_size_has_the_dot_of_its_colour_and_a_size_without_one_has_none(owner: Visitor, room: int) -> None:
    assert form_of(owner.get(f"/trays/{room}")).dots == [size_colour(30)]


def test_no_page_of_the_trays_carries_a_style_or_script_of_its_own(owner: Visitor, room: int) -> None:
    for page in ("/trays", f"/trays/{room}"):
        text = owner.get(page).text
        assert "style=" not in text
        assert text.count("<script") == text.count("<script src=")


def test_a_name_with_markup_is_shown_as_text(house: OpenHouse, owner: Visitor) -> None:
    name = '"><script>alert(1)</script>'
    key = house.store.records.add_tray({**ROOM, "name": name, "cones": [{**ROOM["cones"][0], "name": name}]}, NOON).key
    page = owner.get(f"/trays/{key}")
    assert "<script>alert" not in page.text
    assert (shown(owner, key)["name"], shown(owner, key)["cones-0-name"]) == (name, name)
    assert sent(owner, key, shown(owner, key)).status_code == 303


@pytest.mark.parametrize("was", ["", "[]", "{", "[" * 100_000, json.dumps({"cones": 5}), json.dumps({"cone": []})])
def test_a_form_that_is_not_whole_is_refused_and_nothing_is_kept(
    house: OpenHouse, owner: Visitor, room: int, was: str
) -> None:
    answer = sent(owner, room, {**shown(owner, room), "was": was})
    assert answer.status_code == 422
    assert "Traceback" not in answer.text
    assert house.store.records.tray(room).entered == ROOM


@pytest.mark.parametrize("button", ["add=teeth", "out=teeth-0", "out=", "out=pluggers-99", "out=pluggers", "all=teeth"])
def test_a_button_the_page_does_not_have_changes_nothing(
    house: OpenHouse, owner: Visitor, room: int, button: str
) -> None:
    assert sent(owner, room, shown(owner, room), button).status_code in (200, 303, 422)
    assert house.store.records.tray(room).entered == ROOM


def test_a_form_without_the_secret_of_the_session_is_turned_away(house: OpenHouse, owner: Visitor, room: int) -> None:
    fields = {**shown(owner, room), "csrf": "guessed", "name": "room 9"}
    for path in (f"/trays/{room}", f"/trays/{room}/remove", "/trays"):
        assert owner.post(path, data=fields).status_code == 403
    assert house.store.records.tray(room).entered == ROOM
