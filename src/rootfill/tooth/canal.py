"""One canal: its shape, its bends, its wall, and where it ends in another."""

from __future__ import annotations

from dataclasses import dataclass

from rootfill.tooth.curve import STRAIGHT, Curve
from rootfill.tooth.profile import Profile
from rootfill.tooth.wall import Wall


@dataclass(frozen=True, eq=False)
class Canal:
    """The geometry every computation shares; stations from the made end towards the crown.

    ``own_from_mm`` is 0, or the station of the join where this canal ends in another: below it the stretch
    is shared and belongs to the other.
    """

    profile: Profile
    curve: Curve = STRAIGHT
    wall: Wall | None = None
    own_from_mm: float = 0.0

    @property
    def length_mm(self) -> float:
        """Made end to orifice, mm."""
        return self.profile.length_mm

    def volume_mm3(self, from_mm: float | None = None, to_mm: float | None = None) -> float:
        """Volume of its own stretch between two stations; never the shared stretch."""
        low = max(self.own_from_mm if from_mm is None else from_mm, self.own_from_mm)
        return self.profile.volume_mm3(low, self.length_mm if to_mm is None else to_mm)

    def widened(self, by_mm: float) -> Canal:
        """The same canal with every diameter ``by_mm`` wider."""
        return Canal(self.profile.widened(by_mm), self.curve, self.wall, self.own_from_mm)
