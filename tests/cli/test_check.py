"""The command `check`: what it prints, writes and refuses."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import SimpleITK

from tests.cli.running import rootfill
from tests.images.filling.roots import Root, scan, turn

ROOT = Root(end=0.25, outside=(0.8, 1.0), filled=(0.0, 2.2), beyond=0.45)
BOX = (1.1, 1.2, 2.0)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a root before and after filling, core beyond its end, of voxels too coarse for voids."""
    made = tmp_path_factory.mktemp("check")
    scans = {"before": scan(ROOT, False, half=BOX, voxel=0.05)}
    scans["after"] = scan(ROOT, True, turn(5, (1, 0, 1)), half=BOX, voxel=0.05, seed=2)
    for name, volume in scans.items():
        image = SimpleITK.GetImageFromArray(volume.values)
        SimpleITK.WriteImage(image, str(made / f"{name}-bare.nrrd"), True)
        image.SetSpacing((0.05,) * 3)
        SimpleITK.WriteImage(image, str(made / f"{name}.nrrd"), True)
    return made


def test_core_beyond_the_end_near_the_nerve_is_said_first_and_voxels_too_coarse_give_no_percentage(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before, after, to = (str(folder / name) for name in ("before.nrrd", "after.nrrd", "check.json"))
    code, out, _ = rootfill(
        "check", before, after, "--tooth", "37", "--json", to, capsys=capsys, monkeypatch=monkeypatch
    )
    assert code == 0
    assert out.startswith("! URGENT: 0.")
    assert "24 to 48 hours" in out
    assert "No void percentages: voxels of 0.05 mm are larger than 0.03 mm" in out
    data = json.loads(Path(to).read_text(encoding="utf-8"))
    assert data["void_percent"] is None
    assert data["beyond"]["length_mm"] == pytest.approx(0.45, abs=0.1)


def test_without_a_voxel_size_counts_are_in_voxels(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before, after = (str(folder / f"{name}-bare.nrrd") for name in ("before", "after"))
    code, out, _ = rootfill("check", before, after, "--json", "-", capsys=capsys, monkeypatch=monkeypatch)
    assert code == 0
    data = json.loads(out)
    assert data["void_percent"] is data["beyond"] is data["voxel_mm"] is None
    assert data["canal_voxels"] > 1000
    assert "the voxel size is not known; give --spacing" in data["warnings"][-1] + data["warnings"][0]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        (("before.nrrd", "before.nrrd"), "the same scan"),
        (("after.nrrd", "before.nrrd"), "the scans are swapped"),
        (("before.nrrd", "after-bare.nrrd"), "give --spacing"),
        (("before.nrrd", "after.nrrd", "--tooth", "99"), "tooth"),
        (("before.nrrd", "after.nrrd", "--seed", "1,2"), "seed"),
        (("before.nrrd", "after.nrrd", "--spacing", "much"), "spacing"),
        (("before.nrrd", "nothing.nrrd"), "nothing.nrrd"),
    ],
)
def test_what_cannot_be_compared_is_refused_in_one_sentence(
    folder: Path,
    typed: tuple[str, ...],
    words: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    typed = tuple(str(folder / one) if one.endswith(".nrrd") else one for one in typed)
    code, out, err = rootfill("check", *typed, capsys=capsys, monkeypatch=monkeypatch)
    assert (code, out) == (2, "")
    assert words in err
    assert err.count("\n") == 1
