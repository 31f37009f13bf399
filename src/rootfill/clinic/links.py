"""Secrets that open one page once, as long as the server runs."""

from __future__ import annotations

import secrets


class Links:
    """At most one open secret for each purpose."""

    def __init__(self) -> None:
        self._open: dict[str, str] = {}

    def give(self, purpose: str) -> str:
        """The secret for a purpose, the same until it is used up."""
        return self._open.setdefault(purpose, secrets.token_urlsafe(32))

    def opens(self, purpose: str, secret: str) -> bool:
        """Whether this is the open secret for a purpose."""
        kept = self._open.get(purpose)
        return kept is not None and secrets.compare_digest(kept.encode(), secret.encode("utf-8", "replace"))

    def use_up(self, purpose: str) -> None:
        """It opens nothing from now on."""
        self._open.pop(purpose, None)
