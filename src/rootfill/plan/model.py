"""A plan as it comes out. Decisions are plain numbers; every other computed number is an Estimate.

Depths (``*_mm`` without ``s_``) count from the canal's reference, stations (``s_mm``) from its made end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rootfill.units import Estimate

SCHEMA = 1
"""Version of the form of plan.json; a key that is added does not raise it."""

KEEP_IN_JOIN = "keep a cone or point in the join"
NOT_REACHED = "the first increment is not reached"
NO_OTHER_SECONDS = "no other seconds"
UNMEASURED = "not computed: 1 s at a time, 5 s between"
"""Words of cautions that the tray card already says in its order of work or its table."""


@dataclass(frozen=True)
class Exit:
    """A state in which no packing numbers are given, and what is done instead."""

    kind: str
    because: str
    instead: str


@dataclass(frozen=True)
class Section:
    """What is needed to draw a canal: stations and widths from the made end to the orifice, each of length n."""

    s_mm: tuple[float, ...]
    narrow_mm: tuple[float, ...]
    wide_mm: tuple[float, ...]
    axis_mm: tuple[float, ...]
    """Sideways offset of the centreline from the line of its coronal part, mm."""
    wall_mm: tuple[float, ...] | None
    own_from_mm: float
    """Station of the join where this canal ends in another; 0 for a canal with its own end."""


@dataclass(frozen=True)
class ConeChoice:
    name: str
    size: int
    taper: float
    trim_by: str
    trim_mm: Estimate
    trim_to: int
    cone_to_mm: Estimate
    cone_set_mm: float
    short_of_end_mm: Estimate
    """How far short of the chosen end (or of the join) the tip comes to rest."""
    seat_s_mm: Estimate
    verdict: str
    chances: Mapping[str, float]
    open_share: Estimate
    """Share of the cross-section the seated cone leaves to sealer, 0 to 1."""
    advice: tuple[str, ...]


@dataclass(frozen=True)
class InstrumentFit:
    name: str
    role: str | None
    tip_mm: float
    reach_s_mm: Estimate
    binds_at_mm: Estimate
    set_stop_mm: float
    cover: Estimate
    clearance_mm: Estimate
    touches: bool
    wall_force_n: Estimate | None
    """None where the instrument would bend for good before it got there."""
    says: tuple[str, ...] = ()


@dataclass(frozen=True)
class DownpackStep:
    step: int
    heated_tip: str | None
    heat_set_stop_mm: float | None
    plugger: str | None
    plugger_set_stop_mm: float | None
    push_s: float
    softened_ahead_mm: Estimate
    heat_setting_c: float | None = None
    heat_s: float | None = None
    stop_by_s: float | None = None
    wait_s: float | None = None
    surface_rise_c: Estimate | None = None
    """Highest rise on the root's surface from this step's heat until the next, all steps before it included."""
    mouldable_ahead_mm: Estimate | None = None
    """How far ahead of the tip the compound gets mouldable; ``softened_ahead_mm`` is where it first changes."""
    heat_says: str = UNMEASURED
    """Said in place of seconds where there are none."""


@dataclass(frozen=True)
class HeatCourse:
    """Temperatures over the schedule for one of the computed ways, the middle one by surface rise.

    At times (t,) and stations (n,): on the axis, [t][n], and on the surface of the root, °C. ``what`` is in the canal
    at that time, from station ``down_to_s_mm`` up: heat, push, empty.
    """

    times_s: tuple[float, ...]
    what: tuple[str, ...]
    down_to_s_mm: tuple[float, ...]
    s_mm: tuple[float, ...]
    axis_c: tuple[tuple[float, ...], ...]
    surface_c: tuple[tuple[float, ...], ...]


@dataclass(frozen=True)
class RiseAlong:
    """Highest rise on the root's surface at stations (n,), °C: low end, middle and high end of its interval."""

    s_mm: tuple[float, ...]
    low_c: tuple[float, ...]
    value_c: tuple[float, ...]
    high_c: tuple[float, ...]


@dataclass(frozen=True)
class CanalHeat:
    """How warm one canal and its root get when every step is heated as planned."""

    wall: str
    """Which wall was taken, in words."""
    surface_rise_c: Estimate
    """All steps, and what other canals of the root leave behind."""
    left_by: tuple[str, ...]
    """Names of those other canals."""
    end_peak_c: Estimate
    """Highest temperature on the axis where the canal's own filling ends."""
    sealer_peak_c: Estimate
    """Highest temperature on the canal's wall, at or below the deepest place of the tip."""
    sealer_warm_s: Estimate
    """How long the sealer is warmer there than rule sealer_warm_c."""
    solid_after_s: Estimate
    """How long after the deepest heat the compound under the plugger is solid again."""
    along: RiseAlong
    course: HeatCourse


@dataclass(frozen=True)
class Increment:
    length_mm: float
    volume_mm3: Estimate
    needle: str | None
    needle_set_stop_mm: float | None
    push_s: float
    filled_from_above: bool
    plugger: str | None = None
    """The widest chosen plugger that goes down to the top of this increment."""
    plugger_set_stop_mm: float | None = None


@dataclass(frozen=True)
class CanalPlan:
    name: str
    reference: str
    working_length_mm: float
    made_end_mm: float
    orifice_at_mm: float
    ends_in: str | None
    """Name of the canal this one joins, None for a canal with its own end."""
    splits_at_mm: float | None
    """Depth at which this canal divides, None when it does not."""
    technique: str
    technique_assumed: bool
    section: Section
    exit: Exit | None = None
    volume_mm3: Estimate | None = None
    cone: ConeChoice | None = None
    pluggers: tuple[InstrumentFit, ...] = ()
    would_do_mm: float | None = None
    """Plugger tip that would work within the apical limit, when the tray has none."""
    heated_tips: tuple[InstrumentFit, ...] = ()
    needles: tuple[InstrumentFit, ...] = ()
    packed_volume_mm3: Estimate | None = None
    unfilled_volume_mm3: Estimate | None = None
    packed_top_mm: Estimate | None = None
    fill_level_mm: float | None = None
    cold_apical_part_mm: Estimate | None = None
    cold_advice: tuple[str, ...] = ()
    downpack: tuple[DownpackStep, ...] = ()
    increments: tuple[Increment, ...] = ()
    blind_gap_mm: Estimate | None = None
    options: tuple[str, ...] = ()
    """What can be done about a needle that does not reach."""
    post_available_mm: Estimate | None = None
    heat: CanalHeat | None = None
    cautions: tuple[str, ...] = ()
    effort: str = "full"
    """'full', or 'quick' for a first look."""


@dataclass(frozen=True)
class Seen:
    """One finding beside what the plan expected there without it."""

    canal: str | None
    kind: str
    instrument: str | None
    says: str
    """What was measured, in words that its depth follows."""
    value_mm: float | None
    expected: Estimate | None
    """None where the plan expects nothing of this kind, or nothing that can be compared."""


@dataclass(frozen=True)
class Question:
    """One line of the checklist; ``answer`` is yes, no or open."""

    question: str
    answer: str


@dataclass(frozen=True)
class SealerPlan:
    name: str | None
    amount: str
    canal_state: str
    heat: str
    working_time: str
    steps_take_min: Estimate
    sentences: tuple[str, ...] = ()


@dataclass(frozen=True)
class OrderStep:
    """One line of the order of work; ``stays_in_join`` names the canal whose cone stands in the join meanwhile."""

    canal: str
    says: str
    stays_in_join: str | None = None


@dataclass(frozen=True)
class SourceLine:
    id: str
    text: str
    mark: str


@dataclass(frozen=True)
class ToothLine:
    iso3950: int
    universal: int
    notation: str
    entered: str
    words: str


@dataclass(frozen=True)
class Plan:
    id: str
    note: str | None
    tooth: ToothLine
    program: str
    tray: str
    tray_assumed: bool
    ready: tuple[Question, ...]
    order: tuple[OrderStep, ...]
    sealer: SealerPlan | None
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]
    """Defaults of the program that this plan used, in words."""
    canals: tuple[CanalPlan, ...]
    seen: tuple[Seen, ...] = ()
    """One for each finding, in the order of the case file."""
    sources: tuple[SourceLine, ...] = ()
    unused: tuple[str, ...] = ()
    effort: str = "full"
    """'full', or 'quick' for a first look: fewer draws, and no instrument pushed further than it goes freely."""
    schema: int = SCHEMA

    @property
    def has_exit(self) -> bool:
        return any(c.exit is not None for c in self.canals)
