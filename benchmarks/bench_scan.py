"""A scan of 512³ from a DICOM folder to canals, one seed in the tooth, beside the same steps written plainly."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from rootfill.clinic.scan_volume import scan_file
from rootfill.gateway import ct_series
from rootfill.phantom import CBCT, grid_of, paint, random_tooth, turned

SIDE = 512
VOXEL_MM = 0.08
BUDGET_S = 20.0
"""From the folder to the canals on two cores [s]."""

MOST_MEMORY = 2.5
"""Peak memory above import, as a multiple of the volume."""

MEMORY = """
import sys
from pathlib import Path
import scipy.ndimage, scipy.interpolate, pydicom, gdcm, SimpleITK
from rootfill.clinic.scan_volume import scan_file

def peak():  # of this program alone: what getrusage says may be its parent's
    with open("/proc/self/status") as told:
        return next(int(line.split()[1]) * 1024 for line in told if line.startswith("VmHWM"))

before = peak()
found = scan_file(Path(sys.argv[1]), [[float(x) for x in sys.argv[2:5]]])
print(round((peak() - before) / found.volume.values.nbytes, 2))
"""
PLAINLY = """
import sys, time
import numpy as np
import SimpleITK as sitk
from skimage import filters, measure, morphology

started = time.perf_counter()
reader = sitk.ImageSeriesReader()
reader.SetFileNames(reader.GetGDCMSeriesFileNames(sys.argv[1]))
image = reader.Execute()
values = sitk.GetArrayFromImage(image)
cut = filters.threshold_otsu(values)
hard = values > cut
def fill(level):
    return sitk.GetArrayFromImage(sitk.BinaryFillhole(sitk.GetImageFromArray(level.astype(np.uint8))))
filled = np.stack([fill(level) for level in hard])
labels = measure.label((filled > 0) & ~hard)
sizes = np.bincount(labels.ravel())
canals = labels == 1 + int(np.argmax(sizes[1:]))
lines = morphology.skeletonize(canals)
inside = sitk.GetImageFromArray(canals.astype(np.uint8))
away = sitk.GetArrayFromImage(sitk.SignedMaurerDistanceMap(inside, useImageSpacing=False))
widths = -2 * away[lines]
print(time.perf_counter() - started, int(lines.sum()), float(np.median(widths)))
"""
"""Threshold, holes filled by slices, largest hollow, skeleton, widths from distances; no ends, joins or walls."""


Series = tuple[Path, tuple[int, int, int], list[float]]


@pytest.fixture(scope="module")
def series(tmp_path_factory: pytest.TempPathFactory) -> Series:
    """A molar in the middle of 512³ voxels as a folder, a seed in it, and the true lengths of its canals."""
    rng = np.random.default_rng(11)
    tooth, scanner = random_tooth(rng, 3), CBCT.with_voxel(VOXEL_MM)
    scan = paint(tooth, scanner, rng, grid_of(tooth, scanner, turned(12.0)))
    outside = float(np.median(scan.values[:, :5]))
    values = rng.normal(outside, 80.0, (SIDE,) * 3).astype(np.int16)
    low = np.array([(SIDE - n) // 2 for n in scan.values.shape])
    values[tuple(slice(a, a + n) for a, n in zip(low, scan.values.shape, strict=True))] = scan.values
    folder = tmp_path_factory.mktemp("series")
    for name, content in ct_series(values, (VOXEL_MM,) * 3, "bench").items():
        (folder / Path(name).name).write_bytes(content)
    middle = scan.grid.indices(tooth.canals[0].tube.frame(np.array([tooth.canals[0].length_mm / 2]))[0])[:, 0]
    x, y, z = (round(float(v)) for v in middle + low[::-1])
    return folder, (x, y, z), [canal.length_mm for canal in tooth.canals]


def test_from_a_folder_of_512_cubed_to_canals(benchmark, series: Series, capsys) -> None:
    folder, seed, lengths = series
    found = benchmark.pedantic(scan_file, (folder, [seed]), rounds=3)
    plain = subprocess.run([sys.executable, "-c", PLAINLY, str(folder)], capture_output=True, text=True, check=True)
    memory = subprocess.run(
        [sys.executable, "-c", MEMORY, str(folder), *map(str, seed)], capture_output=True, text=True, check=True
    )
    got, true = sorted(c.length for c in found.scanned.canals), sorted(lengths)
    with capsys.disabled():
        print(
            f"\n{len(got)} canals of {len(true)}, off by",
            *(f"{a - b:+.3f}" for a, b in zip(got, true, strict=False)),
            "mm",
            sep="  ",
        )
        print("peak memory above import, in volumes:", memory.stdout.strip())
        print("plainly [s, voxels of skeleton, median width in voxels]:", plain.stdout.strip())
    assert min(benchmark.stats.stats.data) < BUDGET_S
    assert float(memory.stdout) < MOST_MEMORY
