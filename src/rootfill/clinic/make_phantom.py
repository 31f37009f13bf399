"""An invented tooth as files: scans before and after filling, and the truth beside them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from rootfill.clinic.make_film import FILM_HAVING, REMARK, make_film
from rootfill.errors import InputRefused
from rootfill.phantom import (
    CBCT,
    MICRO,
    Grid,
    Scan,
    Tooth,
    filled,
    filling_truth,
    grid_of,
    paint,
    random_tooth,
    truth_of,
    turned,
)

LIKE = {"cbct": CBCT, "micro": MICRO}
SHAPED = ("curved", "oval", "joined", "isthmus")
HAVING = (*SHAPED, "filled")
FILM = "film"
MOST_TILT_DEG = {FILM: 30.0, "cbct": 45.0, "micro": 45.0}

Spacing = tuple[float, float, float]


class PictureFiles(Protocol):
    """Pictures in the formats other programs read."""

    def nrrd(self, values: NDArray[Any], spacing_mm: Spacing, remark: str) -> bytes:
        """A volume (z, y, x) as NRRD."""
        ...

    def ct_series(self, values: NDArray[Any], spacing_mm: Spacing, name: str) -> dict[str, bytes]:
        """A volume as a DICOM series: file name → bytes."""
        ...

    def craniofacial(self, values: NDArray[Any], spacing_mm: Spacing, name: str) -> bytes:
        """A volume as one multi-frame DICOM file."""
        ...

    def intraoral(
        self, values: NDArray[Any], pixel_mm: tuple[float, float], sid_sod_mm: tuple[float, float], name: str
    ) -> bytes:
        """A film as one DICOM file."""
        ...

    def png(self, values: NDArray[Any], remark: str) -> bytes:
        """A picture as PNG."""
        ...


@dataclass(frozen=True)
class Order:
    """What is asked for; raises InputRefused for what cannot be made."""

    like: str = "cbct"
    canals: int = 1
    seed: int = 1
    voxel_mm: float | None = None
    having: frozenset[str] = frozenset()
    tilt_deg: float = 0.0

    def __post_init__(self) -> None:
        if self.like not in MOST_TILT_DEG:
            raise InputRefused("--like", self.like, "cbct, micro or film")
        known = FILM_HAVING if self.like == FILM else HAVING
        for word in sorted(self.having - set(known)):
            raise InputRefused("--with", word, f"one of {', '.join(known)}")
        if not abs(self.tilt_deg) <= MOST_TILT_DEG[self.like]:
            raise InputRefused("--tilt", self.tilt_deg, f"at most {MOST_TILT_DEG[self.like]:g} degrees to either side")
        if self.seed < 0:
            raise InputRefused("--seed", self.seed, "a whole number from 0 up")

    @property
    def filled(self) -> bool:
        """Whether it is filled."""
        return "filled" in self.having

    @property
    def name(self) -> str:
        """What the pictures are called."""
        return " ".join([self.like, f"{self.canals} canals", f"seed {self.seed}", *sorted(self.having)])


def make_phantom(order: Order, pictures: PictureFiles) -> tuple[dict[str, bytes], dict[str, Any]]:
    """The files by name, and the truth as it stands in ``truth.json``. Raises InputRefused.

    The same order gives the same bytes. A tooth to be filled is prepared first: round canals with a file's taper.
    """
    files, truth = make_film(order, pictures) if order.like == FILM else _make_scans(order, pictures)
    return {**files, "truth.json": phantom_json(truth).encode()}, truth


def _make_scans(order: Order, pictures: PictureFiles) -> tuple[dict[str, bytes], dict[str, Any]]:
    rng = np.random.default_rng(order.seed)
    tooth = random_tooth(
        rng,
        order.canals,
        prepared=order.filled,
        chamber=order.like == "cbct",
        **{word: word in order.having for word in SHAPED},
    )
    scanner = LIKE[order.like] if order.voxel_mm is None else LIKE[order.like].with_voxel(order.voxel_mm)
    grid = grid_of(tooth, scanner, turned(order.tilt_deg, _axis(rng)))
    before = paint(tooth, scanner, rng, grid)
    truth = {"invented": REMARK, "order": order.name, **truth_of(tooth, grid)}
    files = _scan_files("prepared", before, order, pictures)
    if order.filled:
        after = filled(tooth, rng)
        files |= _scan_files("filled", paint(after, scanner, rng, grid), order, pictures)
        truth["filling"] = _placed(after, grid)
    return files, truth


def phantom_json(truth: Mapping[str, Any]) -> str:
    """The truth as JSON."""
    return json.dumps(truth, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _axis(rng: np.random.Generator) -> Spacing:
    """A direction by chance."""
    x, y, z = (float(v) for v in rng.standard_normal(3))
    return x, y, z


def _scan_files(which: str, scan: Scan, order: Order, pictures: PictureFiles) -> dict[str, bytes]:
    """One scan as NRRD, as a DICOM folder, and as one DICOM file."""
    x, y, z = (float(v) for v in scan.grid.voxel_mm)
    name = f"{which} {order.name}"
    series = pictures.ct_series(scan.values, (x, y, z), name)
    return {
        f"{which}.nrrd": pictures.nrrd(scan.values, (x, y, z), f"{REMARK} {name}"),
        f"{which}.dcm": pictures.craniofacial(scan.values, (x, y, z), name),
        **{f"{which}-dicom/{slice_name}": content for slice_name, content in series.items()},
    }


def _placed(tooth: Tooth, grid: Grid) -> dict[str, Any]:
    """What is true of the filling, its voids in voxel indices too."""
    facts = filling_truth(tooth)
    for canal in facts["canals"]:
        for void in canal["voids"]:
            centre = np.array(void["centre_mm"])[:, None]
            void["centre"] = np.round(grid.indices(centre)[:, 0], 3).tolist()
    return facts
