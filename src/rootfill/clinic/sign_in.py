"""Signing in: the first owner, name and password, locking and unlocking, another password.

The clock comes in as ``now``. A token goes to whoever signed in, once; only its hash is kept.
"""

from __future__ import annotations

import datetime as dt
import threading

from rootfill.clinic.kept import Session, User
from rootfill.clinic.links import Links
from rootfill.clinic.passwords import Passwords, check_new_password, clean_name, same_name
from rootfill.clinic.patience import Patience
from rootfill.clinic.ports import Accounts
from rootfill.clinic.sessions import Caller, Sessions, Settings
from rootfill.errors import InputRefused, NotFound, NotSignedIn, Said

OWNER = "owner"
DEMO_NAME = "Demo"
FIRST = "first"
ENTER = "enter"
_NO_PASSWORD = ""


class Door:
    """The one way in: who may, how often somebody may guess, and the links of this start.

    A ``demo`` door belongs to a throwaway clinic of invented cases, whose owner has no password.
    """

    def __init__(
        self, accounts: Accounts, settings: Settings, passwords: Passwords | None = None, demo: bool = False
    ) -> None:
        self.accounts = accounts
        self.settings = settings
        self.passwords = passwords or Passwords()
        self.demo = demo
        self.sessions = Sessions(accounts, settings)
        self.patience = Patience()
        self.links = Links()
        # One guess at a time: many at once would outrun the count, and each takes 64 MB.
        self.turn = threading.Lock()


def first_link(door: Door) -> str | None:
    """The secret with which the first owner is made; None as soon as there is a user."""
    return None if door.accounts.users() else door.links.give(FIRST)


def opens(door: Door, purpose: str, secret: str) -> bool:
    """Whether this link still leads anywhere."""
    return door.links.opens(purpose, secret) and (purpose != FIRST or not door.accounts.users())


def make_owner(door: Door, secret: str, name: str, password: str, now: dt.datetime) -> tuple[str, Session]:
    """The first user, signed in; now the link leads nowhere. Raises InputRefused, and NotFound for a dead link."""
    cleaned = clean_name(name)
    check_new_password(cleaned, password)
    with door.turn:
        if not opens(door, FIRST, secret):
            raise NotFound("This link was used, or is of an earlier start.")
        owner = door.accounts.add_user(cleaned, OWNER, door.passwords.hashed(password), now)
    return door.sessions.begin(owner, now)


def demo_link(door: Door, now: dt.datetime) -> str:
    """The secret with which the owner of a throwaway clinic comes in, made if need be. NotFound anywhere else."""
    if not door.demo:
        raise NotFound("Only a demo is entered without a password.")
    if not door.accounts.users():
        door.accounts.add_user(DEMO_NAME, OWNER, _NO_PASSWORD, now)
    return door.links.give(ENTER)


def enter_demo(door: Door, secret: str, now: dt.datetime) -> tuple[str, Session]:
    """Sign in with the link; it is used up. Raises NotFound where it leads nowhere."""
    with door.turn:
        owner = next((user for user in door.accounts.users() if _needs_no_password(door, user)), None)
        if owner is None or not opens(door, ENTER, secret):
            raise NotFound("This link was used, or is of an earlier start.")
        door.links.use_up(ENTER)
    return door.sessions.begin(owner, now)


def sign_in(door: Door, name: str, password: str, now: dt.datetime) -> tuple[str, Session]:
    """A new session, and its token. Raises NotSignedIn: they do not belong together, or the wait is not over."""
    asked = same_name(name)
    user = next((user for user in door.accounts.users() if same_name(user.name) == asked), None)
    wrong = "Name and password do not belong together; check both, capitals count in the password."
    known = _prove(door, asked, user, password, now, wrong)
    return door.sessions.begin(known, now)


def unlock(door: Door, caller: Caller, password: str, now: dt.datetime) -> tuple[str, Session]:
    """The session goes on under another token. Raises NotSignedIn as ``sign_in`` does."""
    user = caller.user
    if not _needs_no_password(door, user):
        _prove(door, same_name(user.name), user, password, now, f"That is not the password of {user.name}.")
    return door.sessions.renew(caller.session, user, now)


def change_password(door: Door, caller: Caller, old: str, new: str, now: dt.datetime) -> None:
    """Another password; every other session of the user ends. Raises InputRefused, NotSignedIn."""
    user = caller.user
    wrong = "The password you have now is another one; nothing was changed."
    _prove(door, same_name(user.name), user, old, now, wrong)
    check_new_password(user.name, new)
    door.accounts.set_password(user.key, door.passwords.hashed(new))
    door.accounts.end_sessions(user.key, except_hash=caller.session.token_hash)


def check_typed_twice(password: str, again: str) -> None:
    """Raises InputRefused where they differ: a slip here would lock its maker out."""
    if password != again:
        raise InputRefused("password", Said("not the same in both fields"), "type it twice")


def _prove(door: Door, asked: str, user: User | None, password: str, now: dt.datetime, wrong: str) -> User:
    """The user, whose password this is; the same work is done where there is no such user."""
    with door.turn:
        wait = door.patience.wait_s(asked, now)
        if wait:
            raise NotSignedIn(f"Too many wrong passwords: wait {wait} s, then try again.")
        fits = door.passwords.fits(user.password_hash if user else None, password)
        if user is None or not fits:
            door.patience.wrong(asked, now)
            raise NotSignedIn(wrong)
        door.patience.right(asked)
        if door.passwords.is_old(user.password_hash):
            door.accounts.set_password(user.key, door.passwords.hashed(password))
    return user


def _needs_no_password(door: Door, user: User) -> bool:
    return door.demo and user.password_hash == _NO_PASSWORD
