"""What a reader of a scanned tooth has to know before trusting a number, in sentences."""

from __future__ import annotations

from rootfill import tables
from rootfill.images.model import Volume
from rootfill.images.scan.model import ScannedCanal


def cautions_of(volume: Volume, canals: tuple[ScannedCanal, ...]) -> tuple[str, ...]:
    """The volume's own cautions, then those of its canals, then what is known of scans of this kind."""
    unit = "mm" if volume.scale.known else "voxels"
    own = [sentence for i, canal in enumerate(canals, 1) for sentence in _of_canal(f"Canal {i}", canal, unit)]
    return (*volume.cautions, *own, *_of_kind(volume))


def _of_canal(name: str, canal: ScannedCanal, unit: str) -> list[str]:
    found = []
    if canal.seen_from > 0:
        found.append(
            f"{name} is too thin to be seen over its last {canal.seen_from:.1f} {unit}: "
            "there its direction is carried on and its width extrapolated."
        )
    if canal.thin_below > canal.seen_from:
        found.append(f"{name} is narrower than two voxels over its last {canal.thin_below:.1f} {unit}.")
    if canal.blind:
        found.append(f"{name} ends inside the dentine on this scan: it may go on thinner than the scan shows.")
    return found


def _of_kind(volume: Volume) -> list[str]:
    coarse = tables.rule("scan_length_off_mm")
    if not volume.scale.known or float(volume.step_mm.max()) < tables.rule("clinical_voxel_mm").value:
        return []
    return [coarse.says + "."]
