"""Sessions lock when nobody is there, end when they are old, and are known by a hash alone."""

from __future__ import annotations

import datetime as dt
import hashlib
import threading

import pytest

from rootfill.clinic.sessions import Caller, Sessions, idle_minutes, set_idle_minutes
from rootfill.clinic.sign_in import Door, sign_in
from rootfill.errors import InputRefused
from tests.clinic.accounts import NAME, NOON, PASSWORD, FakeAccounts, FakeSettings, minutes, owned_door, seconds


def signed_in() -> tuple[Door, str]:
    door = owned_door()
    return door, sign_in(door, NAME, PASSWORD, NOON)[0]


def found(door: Door, token: str, now: dt.datetime, active: bool = True) -> Caller:
    caller = door.sessions.find(token, now, active)
    assert caller is not None
    return caller


def test_only_the_hash_of_a_token_is_kept() -> None:
    door, token = signed_in()
    session = found(door, token, NOON).session
    assert session.token_hash == hashlib.sha256(token.encode()).hexdigest()
    assert token not in repr(door.accounts.session(session.token_hash))
    assert len(token) >= 43


def test_an_unknown_token_finds_nobody_and_neither_does_a_hash() -> None:
    door, token = signed_in()
    assert door.sessions.find("made up", NOON, active=True) is None
    assert door.sessions.find(hashlib.sha256(token.encode()).hexdigest(), NOON, active=True) is None


def test_a_session_locks_after_the_idle_minutes_and_not_before() -> None:
    door, token = signed_in()
    assert not found(door, token, NOON + minutes(15) - seconds(1), active=False).session.locked
    assert found(door, token, NOON + minutes(15)).session.locked


def test_what_was_locked_stays_locked_whatever_is_asked() -> None:
    door, token = signed_in()
    found(door, token, NOON + minutes(15))
    assert found(door, token, NOON + minutes(15) + seconds(1)).session.locked
    assert found(door, token, NOON).session.locked


def test_each_request_starts_the_idle_minutes_anew() -> None:
    door, token = signed_in()
    for after in (14, 28, 42):
        assert not found(door, token, NOON + minutes(after)).session.locked
    assert found(door, token, NOON + minutes(57)).session.locked


def test_requests_in_the_background_do_not_keep_a_session_open() -> None:
    door, token = signed_in()
    for after in range(1, 15):
        assert not found(door, token, NOON + minutes(after), active=False).session.locked
    assert found(door, token, NOON + minutes(15), active=False).session.locked


def test_the_idle_minutes_are_those_of_the_settings() -> None:
    door, token = signed_in()
    set_idle_minutes(door.settings, "1")
    assert found(door, token, NOON + minutes(1)).session.locked


def test_a_session_ends_after_twelve_hours_of_steady_use() -> None:
    door, token = signed_in()
    for after in range(10, 720, 10):
        assert not found(door, token, NOON + minutes(after)).session.locked
    assert door.sessions.find(token, NOON + dt.timedelta(hours=12), active=True) is None
    assert door.sessions.find(token, NOON, active=True) is None


def test_a_locked_session_ends_after_twelve_hours_too() -> None:
    door, token = signed_in()
    door.sessions.lock(found(door, token, NOON).session)
    assert door.sessions.find(token, NOON + dt.timedelta(hours=12), active=True) is None


def test_a_request_under_way_does_not_open_what_is_locked_meanwhile() -> None:
    class Slow(FakeAccounts):
        asked, go_on = threading.Event(), threading.Event()

        def session(self, token_hash):
            found = super().session(token_hash)
            self.asked.set()
            assert self.go_on.wait(5)
            return found

    accounts = Slow()
    sessions = Sessions(accounts, FakeSettings())
    token, session = sessions.begin(accounts.add_user(NAME, "owner", "", NOON), NOON)
    request = threading.Thread(target=sessions.find, args=(token, NOON + minutes(1), True))
    lock = threading.Thread(target=sessions.lock, args=(session,))
    request.start()
    assert accounts.asked.wait(5)
    lock.start()
    lock.join(0.1)
    accounts.go_on.set()
    request.join(5)
    lock.join(5)
    assert accounts.sessions[session.token_hash].locked


def test_an_ended_session_finds_nobody() -> None:
    door, token = signed_in()
    door.sessions.end(found(door, token, NOON).session)
    assert door.sessions.find(token, NOON, active=True) is None


def test_the_idle_minutes_are_fifteen_until_they_are_set() -> None:
    settings = FakeSettings()
    assert idle_minutes(settings) == 15
    assert set_idle_minutes(settings, "20") == 20
    assert idle_minutes(settings) == 20


@pytest.mark.parametrize("typed", ["0", "241", "-5", "1.5", "soon", "", "nan", None, True])
def test_idle_minutes_out_of_range_are_refused_and_not_kept(typed: object) -> None:
    settings = FakeSettings()
    with pytest.raises(InputRefused, match="idle_minutes"):
        set_idle_minutes(settings, typed)
    assert settings.kept == {}
