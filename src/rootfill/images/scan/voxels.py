"""A scanned tooth whose scan has no scale: every length turned back into voxels."""

from __future__ import annotations

from dataclasses import replace

from rootfill.images.model import Volume
from rootfill.images.scan.cautions import cautions_of
from rootfill.images.scan.model import Isthmus, Scanned, ScannedCanal, ScannedJoin, Stations


def in_voxels(scanned: Scanned, assumed_mm: float, volume: Volume) -> Scanned:
    """The same tooth in voxels of the volume, found as if a voxel were ``assumed_mm`` wide."""
    canals = tuple(_canal(canal, assumed_mm) for canal in scanned.canals)
    return replace(
        scanned,
        roots=tuple(replace(root, volume=root.volume / assumed_mm**3) for root in scanned.roots),
        canals=canals,
        isthmuses=tuple(Isthmus(x.canals, x.low / assumed_mm, x.high / assumed_mm) for x in scanned.isthmuses),
        pulp_volume=scanned.pulp_volume / assumed_mm**3,
        cautions=cautions_of(volume, canals),
    )


def _canal(canal: ScannedCanal, assumed_mm: float) -> ScannedCanal:
    table = canal.stations
    return replace(
        canal,
        length=canal.length / assumed_mm,
        length_error=canal.length_error / assumed_mm,
        stations=Stations(*(x / assumed_mm for x in (table.s, table.narrow, table.wide, table.wall, table.walls))),
        seen_from=canal.seen_from / assumed_mm,
        thin_below=canal.thin_below / assumed_mm,
        join=None if canal.join is None else ScannedJoin(canal.join.into, canal.join.at / assumed_mm),
    )
