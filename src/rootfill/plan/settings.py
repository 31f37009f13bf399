"""What every part of a plan shares: preferences as spreads, one ensemble of errors, findings by instrument."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rootfill import tables
from rootfill.fit.model import Draws, Spreads
from rootfill.plan.case import Case, Finding
from rootfill.plan.frame import AGREE_MM, Frame
from rootfill.tray.model import Stiff, Tray
from rootfill.units import Estimate, FloatArray


@dataclass(frozen=True)
class Effort:
    """How much is computed: members of the ensemble, and whether a rod that touches is bent or ends there."""

    draws: int
    elastic: bool

    @property
    def word(self) -> str:
        """'full', or 'quick' for a first look with less."""
        return "full" if self == FULL else "quick"


FULL = Effort(20_000, elastic=True)
QUICK = Effort(2_000, elastic=False)


@dataclass(frozen=True, eq=False)
class Settings:
    """The case, its tray, and one ensemble of instruments and canals used by every computation."""

    case: Case
    tray: Tray
    rng: np.random.Generator
    effort: Effort = FULL

    @cached_property
    def spreads(self) -> Spreads:
        """Dimensional spreads; the two claims on cone tolerance are uniform and read from their table per size."""
        p = self.case.preferences
        return Spreads(p.file_tol_mm, p.cone_spread, 1.0, p.gauge_sd_mm)

    @cached_property
    def _standard(self) -> tuple[Draws, FloatArray]:
        draws = self.spreads.draw(self.rng, self.effort.draws)
        return draws, self.rng.standard_normal(self.effort.draws) * self.case.preferences.wl_sd_mm

    @cached_property
    def reaches(self) -> dict[tuple[str, Stiff], Estimate | None]:
        """Reaches found so far, by canal and instrument: a finding asks again for what its instrument computed."""
        return {}

    @property
    def made_end_error_mm(self) -> FloatArray:
        """Error of the made end's depth about its stated value, shape (m,)."""
        return self._standard[1]

    def draws(self, cone_size: int) -> Draws:
        """The ensemble's errors for cones of one size."""
        standard = self._standard[0]
        return Draws(standard.file_mm, standard.cone_mm * self.cone_spread_mm(cone_size), standard.gauge_mm)

    def cone_spread_mm(self, cone_size: int) -> float:
        """SD of the measured spread, or half-width of the chosen claim at this size, mm of diameter."""
        p = self.case.preferences
        if p.cone_spread == "measured":
            return p.cone_sd_mm
        rows = tables.table("cone_tolerance")
        row = min(rows, key=lambda r: abs(int(r["size"]) - cone_size))
        return float(row[f"{p.cone_spread}_mm"])

    def observed(self, frame: Frame, stiff: Stiff) -> tuple[Finding | None, Finding | None]:
        """Where this instrument was last seen to bind in the canal, and the shallowest place where one no wider was.

        An instrument as wide and as tapered as one that bound cannot go deeper than that one.
        """
        narrower = [s for s in self._stiff if s.tip_mm <= stiff.tip_mm and s.rod.taper <= stiff.rod.taper]
        usable = [f for f in self.case.findings if binds_within(f, frame) and not self.outdated(f, frame)]
        seen = list({_bare(f.instrument or ""): f for f in usable}.values())
        own = [f for f in seen if same_name(f.instrument, stiff.name)]
        others = [f for f in seen if any(same_name(f.instrument, s.name) for s in narrower)]
        return (own[-1] if own else None), min(others, key=lambda f: f.value_mm or 0.0, default=None)

    def outdated(self, finding: Finding, frame: Frame) -> bool:
        """Whether a reference moved in this case and the finding belongs to another visit than the canal's length."""
        first = self.case.visits[0].id if self.case.visits else None
        return moved(self.case) and finding.visit != (frame.entry.visit or first)

    @property
    def stiff_names(self) -> tuple[str, ...]:
        """Nicknames of everything stiff on the tray."""
        return tuple(s.name for s in self._stiff)

    @property
    def _stiff(self) -> tuple[Stiff, ...]:
        return (*self.tray.pluggers, *self.tray.heated_tips, *self.tray.needles)


def moved(case: Case) -> bool:
    """Whether a reference of this tooth moved."""
    return any(f.kind == "reference_moved" for f in case.findings)


def binds_within(finding: Finding, frame: Frame) -> bool:
    """Whether this is a binding depth in this canal, below its orifice and not past its made end."""
    here = finding.kind == "binds" and finding.canal == frame.name and finding.value_mm is not None
    return here and frame.orifice_at_mm < (finding.value_mm or 0.0) <= frame.made_end_mm + AGREE_MM


def same_name(said: str | None, name: str) -> bool:
    """Whether a nickname as typed or as the card prints it ('plugger 60') is this instrument's."""
    return said is not None and _bare(said) == _bare(name)


def _bare(name: str) -> str:
    return re.sub(r"^(plugger|needle|heated tip|tip|cone)\s+", "", " ".join(name.lower().split()))
