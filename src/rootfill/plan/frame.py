"""From a canal as entered to its geometry and the depths everything else needs."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.plan.case import Bend, CanalEntry, Case, Feature
from rootfill.plan.model import Section
from rootfill.tooth.canal import Canal
from rootfill.tooth.curve import Arc, Curve, arc_from_schneider
from rootfill.tooth.profile import FilePass, Profile, from_rows, shaped, tapered
from rootfill.tooth.wall import Wall

AGREE_MM = 0.1
"""Depths this close are the same depth."""

_DRAWN_STATIONS = 61

OWN_STRETCH_MM = 1.0
"""Shortest stretch of its own that a joined canal can be planned with."""


@dataclass(frozen=True, eq=False)
class Frame:
    """One canal ready to be planned: what was entered, its geometry, its depths [mm from the reference]."""

    entry: CanalEntry
    canal: Canal
    made_end_mm: float
    orifice_at_mm: float
    shared_features: tuple[Feature, ...] = ()
    """Features entered on canals that join this one, in the stretch they share; stations are common."""

    @property
    def features(self) -> tuple[Feature, ...]:
        """Its own features and those of the stretch it shares."""
        return (*self.entry.features, *self.shared_features)

    @property
    def name(self) -> str:
        return self.entry.name

    @property
    def curve_known(self) -> bool:
        """False where nothing was said about curvature: planned as straight, with the cautious end curved."""
        return self.entry.curvature is not None

    @property
    def chosen_end_s_mm(self) -> float:
        """Station of the chosen end; 0 unless the files went deeper."""
        return max(self.made_end_mm - self.entry.working_length_mm, 0.0)

    @property
    def own_end_s_mm(self) -> float:
        """Station where this canal's own filling ends: the chosen end, or the join."""
        return max(self.chosen_end_s_mm, self.canal.own_from_mm)

    def depth(self, s_mm: float) -> float:
        """Depth from the reference of a station."""
        return self.made_end_mm - s_mm

    def station(self, depth_mm: float) -> float:
        """Station of a depth from the reference, within the canal."""
        return min(max(self.made_end_mm - depth_mm, 0.0), self.canal.length_mm)


def frames(case: Case) -> tuple[Frame, ...]:
    """Every canal of the case. Raises InputRefused, naming the field, for geometry that cannot be."""
    names = [c.name for c in case.canals]
    for i, name in enumerate(names):
        if name in names[:i]:
            raise InputRefused(f"canals[{i}].name", name, "every canal has a name of its own")
    by_name = {c.name: (i, c) for i, c in enumerate(case.canals)}
    _check_joins(by_name)
    alone = tuple(_named_frame(i, entry) for i, entry in enumerate(case.canals))
    return tuple(dataclasses.replace(f, shared_features=_shared_features(f, alone)) for f in alone)


def section_of(frame: Frame) -> Section:
    """The stations a drawing needs."""
    canal = frame.canal
    s = np.unique(np.concatenate((np.linspace(0.0, canal.length_mm, _DRAWN_STATIONS), canal.profile.s_mm)))
    top = canal.curve.heading(np.array([canal.length_mm]))[0]
    off = canal.curve.deflection(s)
    axis = off[-1] + top * (s - canal.length_mm) - off
    wall = None if canal.wall is None else _tuple(canal.wall.at(s))
    return Section(
        _tuple(s),
        _tuple(canal.profile.narrow_at(s)),
        _tuple(canal.profile.wide_at(s)),
        _tuple(-axis),
        wall,
        canal.own_from_mm,
    )


def _tuple(values: np.ndarray) -> tuple[float, ...]:
    return tuple(round(float(v), 4) for v in values)


def _shared_features(frame: Frame, others: Sequence[Frame]) -> tuple[Feature, ...]:
    joining = (o for o in others if o.entry.joins is not None and o.entry.joins.canal == frame.name)
    return tuple(x for o in joining for x in o.entry.features if x.upper_mm <= o.canal.own_from_mm)


def _named_frame(i: int, entry: CanalEntry) -> Frame:
    try:
        return _frame(f"canals[{i}]", entry)
    except InputRefused as refused:
        raise InputRefused(f"{refused.field} ({entry.name})", refused.value, refused.allowed) from None


def _frame(where: str, entry: CanalEntry) -> Frame:
    made_end = max((f.to_mm for f in entry.files or ()), default=entry.working_length_mm)
    orifice, length = _lengths(where, entry, made_end)
    profile = _profile(where, entry, made_end, length)
    curve = _curve(where, entry.curvature, length)
    own_from = 0.0 if entry.joins is None else entry.joins.at_mm
    if own_from >= length:
        raise InputRefused(f"{where}.joins.at_mm", own_from, f"a station below the orifice, 0 to {length:g} mm")
    if entry.splits is not None and entry.splits.at_mm >= length:
        raise InputRefused(
            f"{where}.splits.at_mm", entry.splits.at_mm, f"a station below the orifice, 0 to {length:g} mm"
        )
    split = 0.0 if entry.splits is None else entry.splits.at_mm
    end = min(entry.working_length_mm, made_end - max(own_from, split))
    if end - orifice < OWN_STRETCH_MM:
        raise InputRefused(
            f"{where}.joins.at_mm", own_from, f"it leaves {end - orifice:.1f} mm of its own canal; at least 1 mm"
        )
    if entry.pack_to_mm is not None and not orifice <= entry.pack_to_mm <= end:
        between = f"{orifice:g} to {end:g} mm"
        raise InputRefused(f"{where}.pack_to_mm", entry.pack_to_mm, f"a depth between orifice and end, {between}")
    return Frame(entry, Canal(profile, curve, _wall(where, entry), own_from), made_end, orifice)


def _lengths(where: str, entry: CanalEntry, made_end: float) -> tuple[float, float]:
    """Depth of the orifice and made end to orifice, from either or both."""
    if entry.orifice_at_mm is None and entry.canal_length_mm is None:
        either = "give the depth of the orifice from the reference, or canal_length_mm (made end to orifice)"
        raise InputRefused(f"{where}.orifice_at_mm", None, either)
    orifice = made_end - entry.canal_length_mm if entry.orifice_at_mm is None else entry.orifice_at_mm  # type: ignore[operator]
    length = made_end - orifice
    if entry.canal_length_mm is not None and abs(length - entry.canal_length_mm) > AGREE_MM:
        sum_ = f"made end {made_end:g} less orifice {orifice:g} is {length:g} mm"
        raise InputRefused(f"{where}.canal_length_mm", entry.canal_length_mm, f"{sum_}: correct one of them")
    if orifice < 0:
        raise InputRefused(
            f"{where}.canal_length_mm", entry.canal_length_mm, f"it ends above the reference: at most {made_end:g} mm"
        )  # fmt: skip
    if not 3.0 <= length <= 30.0:
        left = f"the orifice must lie 3 to 30 mm above the made end at {made_end:g} mm"
        raise InputRefused(f"{where}.orifice_at_mm", entry.orifice_at_mm, left)
    return orifice, length


def _profile(where: str, entry: CanalEntry, made_end: float, length: float) -> Profile:
    given = [k for k in ("made", "profile", "files") if getattr(entry, k) is not None]
    if len(given) != 1:
        said = Said(" and ".join(given)) if given else None
        raise InputRefused(f"{where} shape", said, "give one of made, profile, files")
    if entry.made is not None:
        return tapered(entry.made.size, entry.made.taper, length)
    if entry.profile is not None:
        return _rows(f"{where}.profile", entry.profile, length)
    if not entry.files:
        raise InputRefused(f"{where}.files", Said("empty"), "give at least one file with size, taper, to_mm")
    passes = [FilePass(f.size / 100, f.taper, made_end - f.to_mm) for f in entry.files]
    natural = None if entry.natural is None else _rows(f"{where}.natural", entry.natural, length)
    return shaped(passes, length, natural, entry.flare_mm or 0.0)


def _rows(where: str, rows: Sequence[tuple[float, float, float]], length: float) -> Profile:
    """Rows of (s, narrow, wide) reaching from 0 to the orifice."""
    stations = [r[0] for r in rows]
    if len(rows) < 2 or stations[0] != 0.0 or any(b <= a for a, b in pairwise(stations)):
        raise InputRefused(where, stations, "stations ascend from 0 and there are at least two")
    if abs(stations[-1] - length) > AGREE_MM:
        raise InputRefused(where, stations[-1], f"its last station is the orifice, {length:g} mm from the made end")
    for s, narrow, wide in rows:
        if wide < narrow:
            raise InputRefused(where, Said(f"{wide:g} wide at {s:g}"), f"wide is not below narrow ({narrow:g} mm)")
    ends = [*rows[:-1], (length, rows[-1][1], rows[-1][2])]
    return from_rows(ends)


def _curve(where: str, bends: Sequence[Bend] | None, length: float) -> Curve:
    arcs = sorted((_arc(f"{where}.curvature[{i}]", b) for i, b in enumerate(bends or ())), key=lambda a: a.from_mm)
    for i, arc in enumerate(arcs):
        top = arcs[i + 1].from_mm if i + 1 < len(arcs) else length
        if arc.to_mm > top + 1e-9:
            limit = "the next arc" if i + 1 < len(arcs) else "the orifice"
            said = Said(f"an arc of {arc.length_mm:.1f} mm from {arc.from_mm:g}")
            raise InputRefused(f"{where}.curvature", said, f"it must end at or below {limit}, {top:g} mm")
    return Curve(tuple(arcs))


def _arc(where: str, bend: Bend) -> Arc:
    if (bend.angle_deg is None) == (bend.schneider_deg is None):
        raise InputRefused(
            f"{where}.angle_deg", bend.angle_deg, "give angle_deg (central) or schneider_deg, one of them"
        )
    if bend.angle_deg == 0:
        raise InputRefused(f"{where}.angle_deg", 0, "an arc bends; write curvature = [] for a straight canal")
    if bend.schneider_deg is None:
        return Arc(float(bend.angle_deg or 0.0), bend.radius_mm, bend.from_mm)
    if bend.from_mm > 0:
        raise InputRefused(
            f"{where}.schneider_deg",
            bend.schneider_deg,
            "it stands for angle_deg only where the arc ends at from_mm = 0",
        )
    return arc_from_schneider(bend.schneider_deg, bend.radius_mm)


def _wall(where: str, entry: CanalEntry) -> Wall | None:
    given = entry.wall_mm
    if given is None:
        return None
    rows = ((0.0, given),) if isinstance(given, float) else given
    s, wall = np.asarray(rows, dtype=float).reshape(-1, 2).T
    if s.size == 0 or np.any(np.diff(s) <= 0):
        raise InputRefused(f"{where}.wall_mm", [r[0] for r in rows], "rows of [station, wall] with ascending stations")
    return Wall(s, wall)


def _check_joins(by_name: Mapping[str, tuple[int, CanalEntry]]) -> None:
    """A join names another canal, no two end at one station of it, and no chain leads back."""
    taken: dict[tuple[str, float], str] = {}
    for name, (i, entry) in by_name.items():
        if entry.joins is None:
            continue
        where, other = f"canals[{i}].joins.canal", entry.joins.canal
        if other not in by_name or other == name:
            raise InputRefused(
                where,
                other,
                f"name another canal of this tooth: {', '.join(n for n in by_name if n != name) or 'there is none'}",
            )
        place = (other, entry.joins.at_mm)
        if place in taken:
            raise InputRefused(
                f"canals[{i}].joins.at_mm",
                entry.joins.at_mm,
                f"{taken[place]} joins {other} there already: one join per station",
            )
        taken[place] = name
        _refuse_cycle(where, name, by_name)


def _refuse_cycle(where: str, name: str, by_name: Mapping[str, tuple[int, CanalEntry]]) -> None:
    seen, at = [name], by_name[name][1].joins
    while at is not None and at.canal in by_name:
        if at.canal in seen:
            raise InputRefused(
                where, Said(" joins ".join([*seen, at.canal])), "canals cannot end in each other in a circle"
            )
        seen.append(at.canal)
        at = by_name[at.canal][1].joins
