"""What may be a name and a password, and what is kept of it."""

from __future__ import annotations

import pytest
from argon2 import PasswordHasher

from rootfill.clinic.passwords import Passwords, check_new_password, clean_name, same_name
from rootfill.errors import InputRefused
from tests.clinic.accounts import PASSWORD, QUICK


def test_the_kept_hash_is_argon2id_with_the_parameters_of_its_library_and_holds_no_password() -> None:
    kept = Passwords().hashed(PASSWORD)
    assert kept.startswith("$argon2id$")
    assert not PasswordHasher().check_needs_rehash(kept)
    assert PASSWORD not in kept


def test_one_password_gives_another_hash_each_time_and_fits_both() -> None:
    one, two = QUICK.hashed(PASSWORD), QUICK.hashed(PASSWORD)
    assert one != two
    assert QUICK.fits(one, PASSWORD)
    assert QUICK.fits(two, PASSWORD)


@pytest.mark.parametrize("typed", [PASSWORD.upper(), PASSWORD + " ", "", PASSWORD[:-1]])
def test_nearly_the_password_does_not_fit(typed: str) -> None:
    assert not QUICK.fits(QUICK.hashed(PASSWORD), typed)


@pytest.mark.parametrize("kept", [None, "", "no hash at all", "$argon2id$broken"])
def test_nothing_fits_where_no_hash_is_kept(kept: str | None) -> None:
    assert not QUICK.fits(kept, "")
    assert not QUICK.fits(kept, PASSWORD)


def test_a_letter_sent_as_one_sign_or_as_two_is_the_same_password() -> None:
    assert QUICK.fits(QUICK.hashed("zähneputzen"), "za\u0308hneputzen")


@pytest.mark.parametrize(
    ("password", "says"),
    [
        ("nine char", "password is too short; use at least 10 characters."),
        ("x" * 1001, "password is too long; use at most 1000 characters."),
        ("  ada LOVELACE", "password is the same as the name; choose another one."),
    ],
)
def test_a_refused_password_is_never_quoted(password: str, says: str) -> None:
    with pytest.raises(InputRefused) as refused:
        check_new_password("Ada Lovelace", password)
    assert refused.value.sentence == says


@pytest.mark.parametrize("password", ["ten chars!", "          ", "äöüäöüäöüä", "x" * 1000])
def test_length_is_the_only_rule_of_composition(password: str) -> None:
    check_new_password("Ada Lovelace", password)


@pytest.mark.parametrize("name", ["", "   ", "a" * 61, "ada\x00", "ada\u202egrun"])
def test_a_name_is_short_and_printable(name: str) -> None:
    with pytest.raises(InputRefused, match="name"):
        clean_name(name)


def test_a_name_is_kept_as_typed_but_for_spaces() -> None:
    assert clean_name("  Ada \t Gru\u0308n ") == "Ada Grün"


def test_spellings_of_one_name_are_the_same_name() -> None:
    assert same_name(" ADA  Gru\u0308n") == same_name("ada grün")
    assert same_name("ada grün") != same_name("ada grun")
