"""How long the next try at a password has to wait after wrong ones."""

from __future__ import annotations

import datetime as dt
import math

FREE_TRIES = 5
LONGEST_WAIT_S = 30
FORGOTTEN_AFTER = dt.timedelta(minutes=15)
_ANYBODY = None


class Patience:
    """Wrong passwords per name and over all names, as long as the server runs; a restart forgets them."""

    def __init__(self) -> None:
        self._wrong: dict[str | None, tuple[int, dt.datetime]] = {}

    def wait_s(self, name: str, now: dt.datetime) -> int:
        """Whole seconds until the next try counts; 0 when it may be made at once."""
        return max(self._wait_s(key, now) for key in (name, _ANYBODY))

    def wrong(self, name: str, now: dt.datetime) -> None:
        """Count one wrong password; what is long ago is forgotten."""
        self._wrong = {key: kept for key, kept in self._wrong.items() if now - kept[1] < FORGOTTEN_AFTER}
        for key in (name, _ANYBODY):
            count, _ = self._wrong.get(key, (0, now))
            self._wrong[key] = count + 1, now

    def right(self, name: str) -> None:
        """The name's owner is here: forget what went wrong."""
        for key in (name, _ANYBODY):
            self._wrong.pop(key, None)

    def _wait_s(self, key: str | None, now: dt.datetime) -> int:
        count, last = self._wrong.get(key, (0, now))
        if count < FREE_TRIES or now - last >= FORGOTTEN_AFTER:
            return 0
        whole = min(LONGEST_WAIT_S, 1 << min(count - FREE_TRIES + 1, 10))
        # Never more than the whole wait, should the clock have been set back.
        return max(0, min(whole, math.ceil(whole - (now - last).total_seconds())))
