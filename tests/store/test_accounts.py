"""Who may sign in, and who is signed in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rootfill.clinic.kept import Session, User
from rootfill.errors import InputRefused, NotFound
from rootfill.store import Store
from tests.store.invented import AT, LATER


@pytest.fixture
def ann(store: Store) -> User:
    return store.accounts.add_user("Ann", "owner", "hash 1", AT)


def signed_in(store, user: User, token: str) -> Session:
    session = Session(token, user.key, f"csrf {token}", AT, AT, False)
    store.accounts.add_session(session)
    return session


def test_users_are_kept_with_role_and_hash(store, ann) -> None:
    bob = store.accounts.add_user("Bob", "owner", "hash 2", AT)
    assert store.accounts.users() == (ann, bob)
    assert ann == User(ann.key, "Ann", "owner", "hash 1")


def test_a_name_that_is_taken_is_refused(store, ann) -> None:
    with pytest.raises(InputRefused, match="name is 'Ann'; somebody has this name already"):
        store.accounts.add_user("Ann", "owner", "hash 2", AT)
    assert store.accounts.users() == (ann,)


def test_a_password_is_changed_for_one_user_alone(store, ann) -> None:
    bob = store.accounts.add_user("Bob", "owner", "hash 2", AT)
    store.accounts.set_password(ann.key, "hash 3")
    assert store.accounts.users() == (replace(ann, password_hash="hash 3"), bob)


def test_a_session_is_found_by_the_hash_of_its_token(store, ann) -> None:
    session = signed_in(store, ann, "t1")
    assert store.accounts.session("t1") == (session, ann)
    assert store.accounts.session("t2") is None


def test_a_touch_keeps_when_it_was_seen_and_whether_it_is_locked(store, ann) -> None:
    session = signed_in(store, ann, "t1")
    store.accounts.touch("t1", LATER, True)
    assert store.accounts.session("t1") == (replace(session, seen_at=LATER, locked=True), ann)


def test_signing_out_everywhere_may_spare_one_session_and_never_touches_other_users(store, ann) -> None:
    bob = store.accounts.add_user("Bob", "owner", "hash 2", AT)
    for user, token in ((ann, "a1"), (ann, "a2"), (ann, "a3"), (bob, "b1")):
        signed_in(store, user, token)
    store.accounts.end_session("a3")
    assert store.accounts.session("a3") is None
    store.accounts.end_sessions(ann.key, except_hash="a1")
    assert [bool(store.accounts.session(token)) for token in ("a1", "a2", "b1")] == [True, False, True]
    store.accounts.end_sessions(ann.key)
    assert [bool(store.accounts.session(token)) for token in ("a1", "b1")] == [False, True]


@pytest.mark.parametrize(
    "asked",
    [
        lambda accounts: accounts.set_password(7, "hash"),
        lambda accounts: accounts.add_session(Session("t", 7, "c", AT, AT, False)),
        lambda accounts: accounts.touch("t", AT, False),
    ],
)
def test_nobody_is_signed_in_who_is_not_kept(store, asked) -> None:
    with pytest.raises(NotFound, match="sign in again"):
        asked(store.accounts)
    assert store.accounts.session("t") is None
