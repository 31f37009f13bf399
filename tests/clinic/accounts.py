"""Accounts and settings in memory, with the promises of the ports."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

from argon2 import PasswordHasher

from rootfill.clinic.kept import Session, User
from rootfill.clinic.passwords import Passwords
from rootfill.clinic.sign_in import Door
from rootfill.errors import InputRefused

NOON = dt.datetime(2026, 5, 4, 12, 0, tzinfo=dt.UTC)
NAME = "Ada Grün"
PASSWORD = "three blind molars"
QUICK = Passwords(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))


class FakeAccounts:
    """Users and sessions in two dictionaries."""

    def __init__(self) -> None:
        self.kept_users: dict[int, User] = {}
        self.made_at: dict[int, dt.datetime] = {}
        self.sessions: dict[str, Session] = {}

    def users(self) -> tuple[User, ...]:
        return tuple(self.kept_users.values())

    def add_user(self, name: str, role: str, password_hash: str, at: dt.datetime) -> User:
        if any(user.name == name for user in self.users()):
            raise InputRefused("name", name, "choose one that nobody has")
        user = User(len(self.kept_users) + 1, name, role, password_hash)
        self.kept_users[user.key] = user
        self.made_at[user.key] = at
        return user

    def set_password(self, user: int, password_hash: str) -> None:
        self.kept_users[user] = replace(self.kept_users[user], password_hash=password_hash)

    def add_session(self, session: Session) -> None:
        self.sessions[session.token_hash] = session

    def session(self, token_hash: str) -> tuple[Session, User] | None:
        found = self.sessions.get(token_hash)
        return None if found is None else (found, self.kept_users[found.user])

    def touch(self, token_hash: str, seen_at: dt.datetime, locked: bool) -> None:
        self.sessions[token_hash] = replace(self.sessions[token_hash], seen_at=seen_at, locked=locked)

    def end_sessions(self, user: int, except_hash: str | None = None) -> None:
        self.sessions = {h: s for h, s in self.sessions.items() if s.user != user or h == except_hash}

    def end_session(self, token_hash: str) -> None:
        self.sessions.pop(token_hash, None)


class FakeSettings:
    """Settings in a dictionary."""

    def __init__(self, **kept: Any) -> None:
        self.kept = kept

    def setting(self, name: str) -> Any:
        return self.kept.get(name)

    def set(self, name: str, value: Any) -> None:
        self.kept[name] = value


def a_door(passwords: Passwords = QUICK, demo: bool = False) -> Door:
    """A door nobody has come through."""
    return Door(FakeAccounts(), FakeSettings(), passwords, demo)


def owned_door() -> Door:
    """A door with one owner."""
    door = a_door()
    door.accounts.add_user(NAME, "owner", QUICK.hashed(PASSWORD), NOON)
    return door


def seconds(count: float) -> dt.timedelta:
    return dt.timedelta(seconds=count)


def minutes(count: float) -> dt.timedelta:
    return dt.timedelta(minutes=count)
