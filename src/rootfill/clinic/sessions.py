"""Sessions: begun, found again, locked when nobody is there, ended."""

from __future__ import annotations

import datetime as dt
import hashlib
import secrets
import threading
from dataclasses import dataclass, replace
from typing import Any, Protocol

from rootfill.clinic.kept import Session, User
from rootfill.clinic.ports import Accounts
from rootfill.errors import InputRefused
from rootfill.units import parse_number

IDLE_MINUTES = "idle_minutes"
IDLE_DEFAULT = 15
IDLE_RANGE = (1, 240)
LONGEST_SESSION = dt.timedelta(hours=12)
SEEN_EVERY = dt.timedelta(seconds=5)
"""A request sooner after the last one is not written down: a session may lock this much early."""


class Settings(Protocol):
    """Where the settings of the clinic are kept."""

    def setting(self, name: str) -> Any: ...

    def set(self, name: str, value: Any) -> None: ...


@dataclass(frozen=True)
class Caller:
    """Who asks: a session, perhaps locked, and its user."""

    session: Session
    user: User


def token_hash(token: str) -> str:
    """All that is kept of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def idle_minutes(settings: Settings) -> int:
    """Minutes without a request after which a session locks."""
    kept = settings.setting(IDLE_MINUTES)
    return IDLE_DEFAULT if kept is None else int(kept)


def set_idle_minutes(settings: Settings, typed: object) -> int:
    """Keep the minutes. Raises InputRefused."""
    low, high = IDLE_RANGE
    try:
        minutes = parse_number(typed)
    except (TypeError, ValueError):
        minutes = float("nan")
    if not (low <= minutes <= high and minutes == int(minutes)):
        raise InputRefused(IDLE_MINUTES, typed, f"allowed: {low} to {high} whole minutes")
    settings.set(IDLE_MINUTES, int(minutes))
    return int(minutes)


class Sessions:
    """The sessions of all users.

    Looking and writing is one step here, so that a request that is under way never opens what was just locked.
    """

    def __init__(self, accounts: Accounts, settings: Settings) -> None:
        self._accounts = accounts
        self._settings = settings
        self._turn = threading.Lock()

    def begin(self, user: User, now: dt.datetime, csrf: str | None = None) -> tuple[str, Session]:
        """A new session and the token that is handed out once."""
        token = secrets.token_urlsafe(32)
        session = Session(token_hash(token), user.key, csrf or secrets.token_urlsafe(32), now, now, locked=False)
        self._accounts.add_session(session)
        return token, session

    def find(self, token: str, now: dt.datetime, active: bool) -> Caller | None:
        """The caller with this token, None where it is unknown or too old; idle too long, it is locked first.

        Only with ``active`` is it a sign of somebody being there.
        """
        with self._turn:
            kept = self._accounts.session(token_hash(token))
            if kept is None:
                return None
            session, user = kept
            if now - session.made_at >= LONGEST_SESSION:
                self._accounts.end_session(session.token_hash)
                return None
            return Caller(self._as_of(session, now, active), user)

    def lock(self, session: Session) -> None:
        """Show nothing more until the password comes."""
        with self._turn:
            self._accounts.touch(session.token_hash, session.seen_at, locked=True)

    def renew(self, session: Session, user: User, now: dt.datetime) -> tuple[str, Session]:
        """Another token for a locked session; forms that were open before it locked can still be sent."""
        begun = self.begin(user, now, session.csrf)
        self.end(session)
        return begun

    def end(self, session: Session) -> None:
        """Sign out."""
        with self._turn:
            self._accounts.end_session(session.token_hash)

    def _as_of(self, session: Session, now: dt.datetime, active: bool) -> Session:
        if session.locked:
            return session
        unseen = now - session.seen_at
        if unseen >= dt.timedelta(minutes=idle_minutes(self._settings)):
            self._accounts.touch(session.token_hash, session.seen_at, locked=True)
            return replace(session, locked=True)
        # A clock that was set back would otherwise put off the lock by as much.
        if unseen < -SEEN_EVERY or (active and unseen >= SEEN_EVERY):
            self._accounts.touch(session.token_hash, now, locked=False)
            return replace(session, seen_at=now)
        return session
