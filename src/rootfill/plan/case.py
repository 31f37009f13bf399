"""A case as it is entered. Everything optional that a clinician may not know; absent means unknown.

Names and meanings: the case-file contract. A bad value raises at once (pydantic), naming field and value.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import field
from typing import Annotated, Any, Literal

from pydantic import Field
from pydantic.dataclasses import dataclass

from rootfill import tables
from rootfill.tray.model import Tray
from rootfill.units import ENTERED, PRINTABLE, CutTaper, Number, Size, Within

Text = Annotated[str, Field(max_length=400, pattern=PRINTABLE)]
Depth = Annotated[float, Within(ge=0, le=40)]
WorkingLength = Annotated[float, Within(ge=8, le=40)]
CanalLength = Annotated[float, Within(ge=3, le=30)]
Station = Annotated[float, Within(ge=0, le=30)]
Width = Annotated[float, Within(gt=0, le=6)]
Spread = Annotated[float, Within(ge=0, le=3)]
Label = Annotated[str, Field(min_length=1, max_length=40, pattern=PRINTABLE)]
VisitId = Label | int

Technique = Literal["stepwise", "single_wave", "injected_only"]


def _rule(key: str) -> Callable[[], float]:
    return lambda: tables.rule(key).value


@dataclass(frozen=True, config=ENTERED)
class Baseline:
    """What cannot be recovered later; asked for once."""

    pulp: Text | None = None
    apex: Text | None = None
    previous_treatment: Text | bool | None = None
    symptoms: Text | None = None
    sinus_tract: Text | bool | None = None
    lesion_mm: Annotated[float, Within(ge=0, le=40)] | None = None
    probing_mm: Any = None
    mobility: Any = None
    restorable: Text | bool | None = None
    healing_index: Any = None
    fracture_suspected: bool | None = None


@dataclass(frozen=True, config=ENTERED)
class CaseHead:
    """Which tooth of which case; the number's system is always stored beside it."""

    id: Label
    tooth: int | str
    notation: str | None = None
    diagnosis: Text | None = None
    note: Text | None = None
    baseline: Baseline = Baseline()


@dataclass(frozen=True, config=ENTERED)
class Patient:
    allergies: tuple[Label, ...] | None = None
    pacemaker: bool | None = None
    anticoagulant: bool | Text | None = None
    pregnant: bool | None = None


@dataclass(frozen=True, config=ENTERED)
class Preferences:
    """A clinic's own choices; the defaults are rows of the rules table."""

    end_short_of_foramen_mm: Annotated[float, Within(ge=0, le=2)] = field(
        default_factory=_rule("end_short_of_foramen_mm")
    )
    cone_short_mm: Annotated[float, Within(ge=0, le=1)] = field(default_factory=_rule("cone_short_mm"))
    stop_margin_mm: Annotated[float, Within(ge=0, le=3)] = field(default_factory=_rule("stop_margin_mm"))
    fill_below_orifice_mm: Annotated[float, Within(ge=0, le=5)] = field(default_factory=_rule("fill_below_orifice_mm"))
    cover_min: Annotated[float, Within(ge=0, le=1)] = field(default_factory=_rule("cover_min"))
    passive_force_n: Annotated[float, Within(gt=0, le=5)] = field(default_factory=_rule("passive_force_n"))
    trim_by: Literal["gauge", "ruler"] = "gauge"
    wl_sd_mm: Annotated[float, Within(ge=0, le=2)] = field(default_factory=_rule("wl_sd_mm"))
    cone_spread: Literal["measured", "split", "flat"] = "measured"
    cone_sd_mm: Annotated[float, Within(ge=0, le=0.2)] = field(default_factory=_rule("cone_sd_mm"))
    gauge_sd_mm: Annotated[float, Within(ge=0, le=0.1)] = field(default_factory=_rule("gauge_sd_mm"))
    file_tol_mm: Annotated[float, Within(ge=0, le=0.2)] = field(default_factory=_rule("file_tol_mm"))


@dataclass(frozen=True, config=ENTERED)
class Visit:
    """One appointment; an answer that is absent stands open on the card."""

    id: VisitId
    date: dt.date | Label | None = None
    identity: bool | None = None
    isolated: bool | None = None
    anaesthetised: bool | None = None
    consent: bool | None = None
    rinsed: bool | None = None
    dry_for_a_minute: bool | None = None
    length_retaken: bool | None = None
    cone_film_seen: bool | None = None


@dataclass(frozen=True, config=ENTERED)
class Made:
    """The final shape as one size and taper."""

    size: Size
    taper: CutTaper


@dataclass(frozen=True, config=ENTERED)
class FileTaken:
    """One shaping file and the depth from the reference to which it went."""

    size: Size
    taper: CutTaper
    to_mm: WorkingLength


@dataclass(frozen=True, config=ENTERED)
class Bend:
    """One arc; ``schneider_deg`` may stand for ``angle_deg`` where the arc ends at the made end."""

    radius_mm: Annotated[float, Within(ge=1, le=100)]
    angle_deg: Annotated[float, Within(ge=-120, le=120)] | None = None
    schneider_deg: Annotated[float, Within(gt=0, le=60)] | None = None
    from_mm: Station = 0.0


@dataclass(frozen=True, config=ENTERED)
class Join:
    canal: Label
    at_mm: Station


@dataclass(frozen=True, config=ENTERED)
class Split:
    at_mm: Station
    into: tuple[Label, ...] | Label = ()


@dataclass(frozen=True, config=ENTERED)
class Feature:
    kind: Literal["ledge", "block", "fragment", "perforation", "resorption", "old_filling"]
    from_mm: Station | None = None
    to_mm: Station | None = None

    @property
    def lower_mm(self) -> float:
        """Its apical end; 0 where neither end is entered."""
        return min((x for x in (self.from_mm, self.to_mm) if x is not None), default=0.0)

    @property
    def upper_mm(self) -> float:
        """Its coronal end; 0 where neither end is entered."""
        return max((x for x in (self.from_mm, self.to_mm) if x is not None), default=0.0)


Row3 = tuple[Station, Width, Width]


@dataclass(frozen=True, config=ENTERED)
class CanalEntry:
    """One canal as entered. Lengths count from ``reference``; stations from the made end."""

    name: Label
    reference: Text
    working_length_mm: WorkingLength
    visit: VisitId | None = None
    orifice_at_mm: Depth | None = None
    canal_length_mm: CanalLength | None = None
    made: Made | None = None
    profile: tuple[Row3, ...] | None = None
    files: tuple[FileTaken, ...] | None = None
    natural: tuple[Row3, ...] | None = None
    flare_mm: Annotated[float, Within(ge=0, le=2)] | None = None
    curvature: tuple[Bend, ...] | None = None
    wall_mm: (
        Annotated[float, Within(gt=0, le=6)] | tuple[tuple[Station, Annotated[float, Within(gt=0, le=6)]], ...] | None
    ) = None
    joins: Join | None = None
    splits: Split | None = None
    features: tuple[Feature, ...] = ()
    patent: bool | None = None
    drying: Literal["dry", "damp", "blood"] | None = None
    shape: Literal["round", "oval", "c_shape"] | None = None
    technique: Technique | None = None
    post_planned: bool = False
    pack_to_mm: Depth | None = None


@dataclass(frozen=True, config=ENTERED)
class Finding:
    """One chairside measurement; ``value_mm`` is a depth from the reference of its canal and visit."""

    kind: Literal[
        "locator", "paper_point", "film_length", "gauging", "cone_seat", "rubbed", "binds", "file_to_length",
        "join", "orifice", "reference_moved", "after_step",
    ]  # fmt: skip
    canal: Label | None = None
    visit: VisitId | None = None
    value_mm: Depth | None = None
    instrument: Label | None = None
    by: Label | None = None
    sd_mm: Spread | None = None
    mark: Label | Number | None = None
    tip: Literal["dry", "damp", "blood"] | None = None
    goes: Size | None = None
    stops: Size | None = None
    short_mm: Depth | None = None
    cone: Label | None = None
    trimmed_to: Size | None = None
    other_cone_in: bool | Label | None = None
    where: Literal["tip", "whole", "top"] | None = None
    by_mm: Annotated[float, Within(ge=-5, le=5)] | None = None
    step: Label | int | None = None
    note: Text | None = None


@dataclass(frozen=True, config=ENTERED)
class TrayEntry(Tray):
    """The instruments inline, or the name of a tray file."""

    file: Text | None = None


@dataclass(frozen=True, config=ENTERED)
class Materials:
    """Which of the tray's materials this case uses."""

    sealer: Label | None = None
    compound: Label | None = None
    irrigants: tuple[Label, ...] = ()
    latex_free: bool | None = None


@dataclass(frozen=True, config=ENTERED)
class Case:
    """A whole case file."""

    case: CaseHead
    canals: Annotated[tuple[CanalEntry, ...], Field(min_length=1, max_length=8)]
    patient: Patient = Patient()
    preferences: Preferences = field(default_factory=Preferences)
    visits: tuple[Visit, ...] = ()
    findings: tuple[Finding, ...] = ()
    images: dict[str, Any] | None = None
    tray: TrayEntry | None = None
    materials: Materials = Materials()
