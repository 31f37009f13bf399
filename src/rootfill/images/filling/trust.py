"""What voxels of a size can say of voids."""

from __future__ import annotations

from rootfill.images import Volume
from rootfill.tables import rule

LONG_BESIDE_WIDE = 2.0
"""Voxels this many times as long as wide are warned of."""


def _voxel_mm(*volumes: Volume) -> float:
    return max(float(volume.step_mm.max()) for volume in volumes)


def carries(prepared: Volume, filled: Volume) -> bool:
    """Whether void percentages may be given."""
    known = prepared.scale.known and filled.scale.known
    return known and _voxel_mm(prepared, filled) <= rule("void_voxel_most_mm").value * (1 + 1e-6)


def doubts(prepared: Volume, filled: Volume) -> tuple[str, ...]:
    """Sentences about the voxels and the scans themselves."""
    said = [*prepared.cautions, *(text for text in filled.cautions if text not in prepared.cautions)]
    if not prepared.scale.known:
        said.append("No void percentages: the voxel size is not known; give --spacing. Counts are in voxels.")
        return tuple(said)
    voxel, sure, most = _voxel_mm(prepared, filled), rule("void_voxel_sure_mm"), rule("void_voxel_most_mm")
    if voxel > most.value * (1 + 1e-6):
        said.append(f"No void percentages: voxels of {voxel:g} mm are larger than {most.value:g} mm. {most.says}.")
        if voxel >= rule("clinical_voxel_mm").value:
            said.append(f"{rule('clinical_filling_large').says}.")
    elif voxel > sure.value * (1 + 1e-6):
        said.append(f"Doubtful, the true figures are likely higher: voxels of {voxel:g} mm. {most.says}.")
    elif voxel > rule("void_voxel_agree_mm").value:
        said.append(f"Small voids may be missed: {rule('void_voxel_agree_mm').says}.")
    for volume in (prepared, filled):
        if volume.step_mm.max() > LONG_BESIDE_WIDE * volume.step_mm.min():
            said.append("Voxels are much longer than wide: the longest side decides what can be seen.")
            break
    return tuple(said)
