"""Names and passwords: what may be one, and the hash that is kept instead of a password."""

from __future__ import annotations

import secrets
import unicodedata

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from rootfill.errors import InputRefused, Said

SHORTEST = 10
LONGEST = 1000
LONGEST_NAME = 60
RULE = f"At least {SHORTEST} characters, and not your name. A few words in a row are easy to remember."


class Passwords:
    """argon2id hashes: made, compared, and known to be old."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher()
        self._nobodys = self._hasher.hash(secrets.token_urlsafe())

    def hashed(self, password: str) -> str:
        """The hash to keep."""
        return self._hasher.hash(_composed(password))

    def fits(self, kept: str | None, password: str) -> bool:
        """Whether the password made this hash; without a hash the answer is no, after the same work."""
        try:
            self._hasher.verify(kept or self._nobodys, _composed(password))
        except (VerificationError, InvalidHashError):
            return False
        return True

    def is_old(self, kept: str) -> bool:
        """Whether the hash was made with less work than is asked for now."""
        return self._hasher.check_needs_rehash(kept)


def clean_name(name: str) -> str:
    """The name as it is kept. Raises InputRefused."""
    cleaned = " ".join(unicodedata.normalize("NFC", name).split())
    if not cleaned:
        raise InputRefused("name", None, "give the name that is shown to you and in the history of a case")
    if len(cleaned) > LONGEST_NAME or not cleaned.isprintable():
        raise InputRefused("name", cleaned, f"allowed: 1 to {LONGEST_NAME} printable characters")
    return cleaned


def same_name(name: str) -> str:
    """What two spellings of one name have in common."""
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())[:LONGEST_NAME]


def check_new_password(name: str, password: str) -> None:
    """Raises InputRefused for a password that is too short, too long, or the name; its text is never quoted."""
    if len(password) < SHORTEST:
        raise InputRefused("password", Said("too short"), f"use at least {SHORTEST} characters")
    if len(password) > LONGEST:
        raise InputRefused("password", Said("too long"), f"use at most {LONGEST} characters")
    if same_name(password) == same_name(name):
        raise InputRefused("password", Said("the same as the name"), "choose another one")


def _composed(password: str) -> str:
    # Two keyboards may send the same letter as one sign or as two.
    return unicodedata.normalize("NFC", password)
