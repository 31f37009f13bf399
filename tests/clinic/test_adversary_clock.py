"""A clock that is set back: the page still locks when nobody is there."""

from __future__ import annotations

import datetime as dt

from rootfill.clinic.sessions import IDLE_DEFAULT
from rootfill.clinic.sign_in import sign_in
from tests.clinic.accounts import NAME, NOON, PASSWORD, owned_door


def test_a_clock_that_was_set_back_does_not_put_off_the_lock() -> None:
    door = owned_door()
    token, _ = sign_in(door, NAME, PASSWORD, NOON)
    back = NOON - dt.timedelta(days=1)
    door.sessions.find(token, back, active=True)
    found = door.sessions.find(token, back + dt.timedelta(minutes=IDLE_DEFAULT), active=True)
    assert found is not None
    assert found.session.locked
