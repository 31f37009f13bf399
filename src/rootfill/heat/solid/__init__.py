"""Heat in three dimensions, for canals that share a root. Needs the extra ``solid`` (numba)."""

from rootfill.heat.solid.build import Voxels, solid_of, voxels_of
from rootfill.heat.solid.model import Canal, Heating, Root, SuperSteps, root_of
from rootfill.heat.solid.result import SolidWarming
from rootfill.heat.solid.warm import warm_solid

__all__ = [
    "Canal",
    "Heating",
    "Root",
    "SolidWarming",
    "SuperSteps",
    "Voxels",
    "root_of",
    "solid_of",
    "voxels_of",
    "warm_solid",
]
