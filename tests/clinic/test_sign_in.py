"""Coming in: the first owner, name and password, the demo, unlocking, another password."""

from __future__ import annotations

import datetime as dt
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from argon2 import PasswordHasher

from rootfill.clinic.kept import User
from rootfill.clinic.passwords import Passwords
from rootfill.clinic.sessions import Caller
from rootfill.clinic.sign_in import (
    ENTER,
    FIRST,
    Door,
    change_password,
    check_typed_twice,
    demo_link,
    enter_demo,
    first_link,
    make_owner,
    opens,
    sign_in,
    unlock,
)
from rootfill.errors import InputRefused, NotFound, NotSignedIn
from tests.clinic.accounts import NAME, NOON, PASSWORD, QUICK, a_door, owned_door, seconds

OTHER = "four quiet premolars"


def caller_of(door: Door, token: str, now: dt.datetime = NOON) -> Caller:
    caller = door.sessions.find(token, now, active=True)
    assert caller is not None
    return caller


def fail(door: Door, times: int, name: str = NAME, now: dt.datetime = NOON) -> None:
    for _ in range(times):
        with pytest.raises(NotSignedIn, match="do not belong together"):
            sign_in(door, name, "wrong password", now)


def test_the_first_link_is_the_same_all_through_one_start_and_another_in_the_next() -> None:
    door = a_door()
    assert first_link(door) == first_link(door)
    assert first_link(door) != first_link(a_door())


def test_the_first_link_makes_an_owner_who_is_signed_in_and_can_sign_in_again() -> None:
    door = a_door()
    token, session = make_owner(door, first_link(door) or "", NAME, PASSWORD, NOON)
    assert caller_of(door, token).user == User(session.user, NAME, "owner", door.accounts.users()[0].password_hash)
    assert QUICK.fits(door.accounts.users()[0].password_hash, PASSWORD)
    assert caller_of(door, sign_in(door, NAME, PASSWORD, NOON)[0]).user.name == NAME


def test_the_first_link_is_used_up_by_success_alone() -> None:
    door = a_door()
    link = first_link(door) or ""
    with pytest.raises(InputRefused, match="too short"):
        make_owner(door, link, NAME, "short", NOON)
    assert opens(door, FIRST, link)
    make_owner(door, link, NAME, PASSWORD, NOON)
    assert not opens(door, FIRST, link)
    assert first_link(door) is None
    with pytest.raises(NotFound):
        make_owner(door, link, "Ben", PASSWORD, NOON)
    assert [user.name for user in door.accounts.users()] == [NAME]


@pytest.mark.parametrize("secret", ["", "made up", "ö"])
def test_a_made_up_link_makes_no_owner(secret: str) -> None:
    door = a_door()
    first_link(door)
    with pytest.raises(NotFound):
        make_owner(door, secret, NAME, PASSWORD, NOON)
    assert door.accounts.users() == ()


def test_a_first_link_given_earlier_is_shut_once_there_is_a_user() -> None:
    door = a_door()
    link = first_link(door) or ""
    door.accounts.add_user("Ben", "owner", QUICK.hashed(OTHER), NOON)
    assert not opens(door, FIRST, link)
    with pytest.raises(NotFound):
        make_owner(door, link, NAME, PASSWORD, NOON)


def test_the_demo_is_entered_once_per_link_without_a_password() -> None:
    door = a_door(demo=True)
    link = demo_link(door, NOON)
    assert caller_of(door, enter_demo(door, link, NOON)[0]).user.name == "Demo"
    assert not opens(door, ENTER, link)
    with pytest.raises(NotFound):
        enter_demo(door, link, NOON)


def test_a_clinic_that_is_no_demo_has_no_link_without_a_password() -> None:
    door = owned_door()
    with pytest.raises(NotFound):
        demo_link(door, NOON)
    door.links.give(ENTER)
    with pytest.raises(NotFound):
        enter_demo(door, door.links.give(ENTER), NOON)


def test_the_demo_link_signs_nobody_in_who_has_a_password() -> None:
    door = a_door(demo=True)
    door.accounts.add_user(NAME, "owner", QUICK.hashed(PASSWORD), NOON)
    with pytest.raises(NotFound):
        enter_demo(door, demo_link(door, NOON), NOON)


@pytest.mark.parametrize("password", ["", "anything at all"])
def test_a_user_without_a_password_cannot_sign_in_with_one(password: str) -> None:
    door = a_door(demo=True)
    demo_link(door, NOON)
    with pytest.raises(NotSignedIn):
        sign_in(door, "Demo", password, NOON)


def test_a_name_may_be_typed_in_any_case_but_a_password_may_not() -> None:
    door = owned_door()
    sign_in(door, "  ada GRÜN ", PASSWORD, NOON)
    with pytest.raises(NotSignedIn):
        sign_in(door, NAME, PASSWORD.title(), NOON)


def test_an_unknown_name_and_a_wrong_password_are_told_in_the_same_words() -> None:
    door = owned_door()
    said = set()
    for name, password in ((NAME, "wrong password"), ("Nobody", PASSWORD)):
        with pytest.raises(NotSignedIn) as refused:
            sign_in(door, name, password, NOON)
        said.add(str(refused.value))
    assert len(said) == 1
    assert "wrong password" not in said.pop()


def test_an_unknown_name_costs_a_look_at_a_hash_like_a_known_one() -> None:
    class Counting(PasswordHasher):
        def __init__(self) -> None:
            super().__init__(time_cost=1, memory_cost=8, parallelism=1)
            self.looked_at: list[str] = []

        def verify(self, kept, password):
            self.looked_at.append(kept)
            return super().verify(kept, password)

    hasher = Counting()
    fail(a_door(Passwords(hasher)), 1, "Nobody")
    (looked_at,) = hasher.looked_at
    assert looked_at.startswith("$argon2id$v=19$m=8,t=1,p=1$")


def test_every_sign_in_has_its_own_token_and_form_secret() -> None:
    door = owned_door()
    (one, first), (two, second) = (sign_in(door, NAME, PASSWORD, NOON) for _ in range(2))
    assert one != two
    assert first.csrf != second.csrf
    assert first.csrf not in one


def test_after_five_wrong_passwords_even_the_right_one_waits_and_is_told_how_long() -> None:
    door = owned_door()
    fail(door, 5)
    with pytest.raises(NotSignedIn, match="wait 2 s"):
        sign_in(door, NAME, PASSWORD, NOON)
    sign_in(door, NAME, PASSWORD, NOON + seconds(2))


def test_a_right_password_forgets_the_slips_before_it() -> None:
    door = owned_door()
    for _ in range(3):
        fail(door, 4)
        sign_in(door, NAME, PASSWORD, NOON)


def test_unknown_names_slow_down_just_as_known_ones_do() -> None:
    door = owned_door()
    fail(door, 5, "Nobody")
    with pytest.raises(NotSignedIn, match="wait 2 s"):
        sign_in(door, "Nobody", PASSWORD, NOON)


def test_a_try_made_while_waiting_does_not_lengthen_the_wait() -> None:
    door = owned_door()
    fail(door, 5)
    for _ in range(5):
        with pytest.raises(NotSignedIn, match="wait 2 s"):
            sign_in(door, NAME, "wrong password", NOON)
    sign_in(door, NAME, PASSWORD, NOON + seconds(2))


def test_many_guesses_at_once_do_not_outrun_the_count() -> None:
    class Slow(PasswordHasher):
        def verify(self, *given):
            time.sleep(0.02)
            return super().verify(*given)

    door = a_door(Passwords(Slow(time_cost=1, memory_cost=8, parallelism=1)))

    def guess(_number: int) -> str:
        with pytest.raises(NotSignedIn) as refused:
            sign_in(door, NAME, "wrong password", NOON)
        return str(refused.value)

    with ThreadPoolExecutor(10) as guessers:
        said = list(guessers.map(guess, range(10)))
    assert sum("do not belong together" in one for one in said) == 5


def test_a_hash_made_with_less_work_is_made_anew_at_the_next_sign_in() -> None:
    door = owned_door()
    door.accounts.set_password(1, PasswordHasher(time_cost=1, memory_cost=16, parallelism=1).hash(PASSWORD))
    before = door.accounts.users()[0].password_hash
    sign_in(door, NAME, PASSWORD, NOON)
    after = door.accounts.users()[0].password_hash
    assert QUICK.is_old(before)
    assert not QUICK.is_old(after)
    assert QUICK.fits(after, PASSWORD)


def test_unlocking_takes_the_password_alone_and_gives_another_token() -> None:
    door = owned_door()
    token, session = sign_in(door, NAME, PASSWORD, NOON)
    door.sessions.lock(session)
    with pytest.raises(NotSignedIn, match=f"not the password of {NAME}"):
        unlock(door, caller_of(door, token), "wrong password", NOON)
    assert caller_of(door, token).session.locked
    again, _ = unlock(door, caller_of(door, token), PASSWORD, NOON)
    assert not caller_of(door, again).session.locked
    assert door.sessions.find(token, NOON, active=True) is None


def test_a_form_that_was_open_before_the_lock_can_be_sent_after_it() -> None:
    door = owned_door()
    token, session = sign_in(door, NAME, PASSWORD, NOON)
    door.sessions.lock(session)
    assert unlock(door, caller_of(door, token), PASSWORD, NOON)[1].csrf == session.csrf


def test_guessing_at_the_lock_is_slowed_down_too() -> None:
    door = owned_door()
    token, session = sign_in(door, NAME, PASSWORD, NOON)
    door.sessions.lock(session)
    for _ in range(5):
        with pytest.raises(NotSignedIn, match="not the password"):
            unlock(door, caller_of(door, token), "wrong password", NOON)
    with pytest.raises(NotSignedIn, match="wait 2 s"):
        unlock(door, caller_of(door, token), PASSWORD, NOON)


def test_the_demo_unlocks_without_a_password_and_nothing_else_does() -> None:
    demo = a_door(demo=True)
    token, session = enter_demo(demo, demo_link(demo, NOON), NOON)
    demo.sessions.lock(session)
    assert not caller_of(demo, unlock(demo, caller_of(demo, token), "", NOON)[0]).session.locked
    real = owned_door()
    real.accounts.set_password(1, "")
    token, session = real.sessions.begin(real.accounts.users()[0], NOON)
    with pytest.raises(NotSignedIn):
        unlock(real, caller_of(real, token), "", NOON)


def test_another_password_ends_every_other_session_and_the_old_password() -> None:
    door = owned_door()
    here, there = sign_in(door, NAME, PASSWORD, NOON)[0], sign_in(door, NAME, PASSWORD, NOON)[0]
    change_password(door, caller_of(door, here), PASSWORD, OTHER, NOON)
    assert caller_of(door, here).user.name == NAME
    assert door.sessions.find(there, NOON, active=True) is None
    with pytest.raises(NotSignedIn):
        sign_in(door, NAME, PASSWORD, NOON)
    sign_in(door, NAME, OTHER, NOON)


@pytest.mark.parametrize(
    ("old", "new", "error"),
    [("wrong password", OTHER, NotSignedIn), (PASSWORD, "short", InputRefused), (PASSWORD, "x" * 1001, InputRefused)],
)
def test_a_refused_change_leaves_password_and_sessions_alone(old: str, new: str, error: type[Exception]) -> None:
    door = owned_door()
    here, there = sign_in(door, NAME, PASSWORD, NOON)[0], sign_in(door, NAME, PASSWORD, NOON)[0]
    with pytest.raises(error):
        change_password(door, caller_of(door, here), old, new, NOON)
    assert caller_of(door, there).user.name == NAME
    sign_in(door, NAME, PASSWORD, NOON)


def test_a_password_that_differs_in_its_two_fields_is_refused_without_being_quoted() -> None:
    check_typed_twice(PASSWORD, PASSWORD)
    with pytest.raises(InputRefused) as refused:
        check_typed_twice(PASSWORD, OTHER)
    assert refused.value.sentence == "password is not the same in both fields; type it twice."
