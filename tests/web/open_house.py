"""The whole application on a store of its own, its work done at once, and whoever is in it."""

from __future__ import annotations

import datetime as dt
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from rootfill.clinic.kept import KeptCase
from rootfill.clinic.plan_case import first_look
from rootfill.clinic.ports import Clinic
from rootfill.clinic.sessions import token_hash
from rootfill.clinic.sign_in import Door, sign_in
from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan
from rootfill.store import open_pictures, open_store
from rootfill.tray.model import Tray
from rootfill.web.app import make_app
from rootfill.web.guard import cookie_name
from tests.clinic.accounts import NAME, NOON, PASSWORD, QUICK
from tests.web.house import Clock
from tests.web.shots import ArrayReader, Finds
from tests.web.visitor import PORT, Visitor

SMALL_TRAY: dict[str, Any] = {
    "name": "small tray",
    "cones": [{"name": name, "size": int(name[:2]), "taper": name[2:]} for name in ("25.04", "30.04", "35.06")],
    "pluggers": [{"name": str(size), "tip_mm": size / 100, "taper": 0.02} for size in (50, 70, 100)],
    "needles": [{"name": "23 G", "gauge": 23, "use": "deliver"}],
    "heated_tips": [{"name": "fine tip", "tip_mm": 0.5, "taper": 0.04}],
}
HEAD = {"tooth": "36", "notation": "iso3950"}
MB = {"name": "MB", "reference": "MB cusp tip", "length": "20.5", "shape": "30/.04", "orifice": "8"}
ML = {"name": "ML", "reference": "ML cusp tip", "length": "20", "shape": "30/.04", "orifice": "8"}


class AtOnce(ArrayReader, Finds):
    """A first look passes for the whole plan, a document says no more than its name, an array file is a picture."""

    def plan(self, case: Case, tray: Tray, keep: Mapping[str, CanalPlan]) -> Plan:
        return replace(first_look(case, tray, keep), effort="full")

    def documents(self, plan: Plan, names: Sequence[str], printed: dt.datetime) -> dict[str, bytes]:
        return {name: f"{name} of {plan.id}, {printed:%Y-%m-%d}".encode() for name in names}


class OpenHouse:
    """A clinic with one owner, one small tray, and everything that is served of it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "clinic.sqlite3"
        self.store = open_store(self.path)
        self.clock = Clock()
        self.door = Door(self.store.accounts, self.store.records, QUICK)
        self.store.accounts.add_user(NAME, "owner", QUICK.hashed(PASSWORD), NOON)
        self.work, self.pictures = AtOnce(), folder / "pictures"
        files = open_pictures(self.pictures)
        self.clinic = Clinic(self.store.records, self.store.accounts, self.work, files, self.clock)
        self.app = make_app(self.clinic, self.door, PORT)
        self.tray = self.store.records.add_tray(SMALL_TRAY, NOON).key

    def token(self) -> str:
        return sign_in(self.door, NAME, PASSWORD, self.clock())[0]

    def stranger(self, **headers: str) -> Visitor:
        return Visitor(self.app, **headers)

    def program(self) -> Visitor:
        """A program that is signed in."""
        return self.stranger(Authorization=f"Bearer {self.token()}")

    def browser(self) -> Visitor:
        """Somebody signed in at the page."""
        visitor, token = self.stranger(), self.token()
        visitor.cookies.set(cookie_name(PORT), token)
        found = self.store.accounts.session(token_hash(token))
        assert found is not None
        visitor.csrf = found[0].csrf
        return visitor

    def case(self, *canals: Mapping[str, str], **head: str) -> int:
        """A new case on the small tray; its key."""
        given = {**HEAD, **head, "tray": self.tray, "canals": list(canals or (MB,))}
        answer = self.program().post("/api/cases", json=given)
        assert answer.status_code == 201, answer.text
        key: int = answer.json()["key"]
        return key

    def kept(self, case: int) -> KeptCase:
        return self.store.records.case(case)

    def is_sound(self) -> bool:
        """Whether the file is whole and every key in it points to something."""
        connection = sqlite3.connect(self.path)
        try:
            whole = connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            return whole and not connection.execute("PRAGMA foreign_key_check").fetchall()
        finally:
            connection.close()


@contextmanager
def open_house(folder: Path) -> Iterator[OpenHouse]:
    """The house, its store closed at the end."""
    house = OpenHouse(folder)
    try:
        yield house
    finally:
        house.store.close()
