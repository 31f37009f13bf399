"""A root with its canals, and what is put into them one after another, computed in three dimensions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from rootfill.heat.model import HELD, Source, Surroundings
from rootfill.heat.solid.build import Voxels, voxels_of
from rootfill.heat.solid.march import March, first_order, second_order
from rootfill.heat.solid.model import Heating, Root, SuperSteps
from rootfill.heat.solid.result import SolidWarming, axes, stations, surface
from rootfill.heat.solid.tip import Tip, apart, tip_in
from rootfill.heat.steps import Phase, ladder, phases


@dataclass(frozen=True, eq=False)
class Moment:
    """A time of the run [s] and the temperatures [°C] above the surroundings; the array is the march's own."""

    time_s: float
    march: March


def warm_solid(
    root: Root,
    surroundings: Surroundings,
    heatings: Sequence[Heating],
    seconds: float,
    spacing_mm: float,
    pace: SuperSteps | None = None,
) -> SolidWarming:
    """Temperatures of a root over ``seconds`` of heatings, one after another, in voxels of ``spacing_mm``.

    Raises ValueError where a side of the block or its bottom is not held, or two heatings are in at once.
    """
    if (surroundings.side_w_m2k, surroundings.bottom_w_m2k) != (HELD, HELD):
        raise ValueError("in three dimensions the side and the bottom of the block are held")
    voxels, outside = voxels_of(root, spacing_mm), surroundings.temperature_c
    on_axes, on_surface = axes(voxels, root), surface(voxels, root)
    times, axis, skin = list[float](), list[np.ndarray](), list[np.ndarray]()
    for moment in moments(voxels, root, surroundings, heatings, seconds, pace or SuperSteps()):
        times.append(moment.time_s)
        axis.append(on_axes(moment.march.celsius) + outside)
        skin.append(on_surface(moment.march.celsius).max(axis=0) + outside - surroundings.begins_c)
    return SolidWarming(np.array(times), stations(voxels, root)[1], np.array(axis), np.array(skin))


def moments(
    voxels: Voxels, root: Root, there: Surroundings, heatings: Sequence[Heating], seconds: float, pace: SuperSteps
) -> Iterator[Moment]:
    """The start and every super-step after it."""
    canals = {x.source: x.canal for x in heatings}
    march = March(voxels, there.begins_c - there.temperature_c)
    yield Moment(0.0, march)
    for phase in phases([x.source for x in heatings], seconds):
        source = phase.content
        if not isinstance(source, Source) or phase.tip_s_mm is None:
            march.enter(None)
            yield from _through(march, phase, None, there.temperature_c, pace)
        else:
            tip = tip_in(voxels, root, canals[source], phase.tip_s_mm, source.contact_w_m2k)
            yield from _heated(march, tip, phase, source, there.temperature_c, pace)


def _heated(
    march: March, tip: Tip, phase: Phase, source: Source, outside_c: float, pace: SuperSteps
) -> Iterator[Moment]:
    """A phase with a tip in, whose voxels are as they were before when it is over."""
    voxels = march.voxels
    at = np.concatenate((tip.inside, tip.beside))
    kept = [(x, x.ravel()[at]) for x in (voxels.resist, voxels.take)]
    apart(voxels, tip)
    march.enter(tip)
    yield from _through(march, phase, source, outside_c, pace)
    for whole, before in kept:
        whole.ravel()[at] = before


def _through(march: March, phase: Phase, source: Source | None, outside_c: float, pace: SuperSteps) -> Iterator[Moment]:
    time, resting = phase.start_s, source is None and not march.celsius.any()
    for number, level in enumerate(ladder(phase.end_s - phase.start_s, pace.effort)):
        for step in range(level.count):
            first = number == 0 and step == 0
            parts = 0 if resting else pace.starts if first else 1
            for i in range(parts):
                start, length = time + i * level.step_s / parts, level.step_s / parts
                _fill(march, source, start, outside_c)
                warmth = partial(_during, source, start, length, outside_c)
                march.step(length, warmth, first_order if first else second_order)
            time += level.step_s
            _fill(march, source, time, outside_c)
            yield Moment(time, march)


def _above(source: Source | None, time_s: float, outside_c: float) -> float:
    """Temperature of the tip above the surroundings; 0 where there is none."""
    return 0.0 if source is None else source.temperature_at(time_s) - outside_c


def _during(source: Source | None, start_s: float, length_s: float, outside_c: float, share: float) -> float:
    """The same at a share of a super-step."""
    return _above(source, start_s + share * length_s, outside_c)


def _fill(march: March, source: Source | None, time_s: float, outside_c: float) -> None:
    """The tip's own voxels are as warm as it is."""
    if source is not None and march.tip is not None:
        march.celsius.ravel()[march.tip.inside] = _above(source, time_s, outside_c)
