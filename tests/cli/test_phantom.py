"""The command ``phantom`` as a person runs it."""

from __future__ import annotations

import json

import pydicom
import pytest

from tests.cli.test_commands import rootfill


def test_it_writes_scans_before_and_after_filling_with_the_truth_beside_them(tmp_path):
    asked = ("--voxel", "0.3", "--with", "filled", "--seed", "4")
    done = rootfill("phantom", "out", *asked, folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    out = tmp_path / "out"
    truth = json.loads((out / "truth.json").read_text(encoding="utf-8"))
    assert f"{truth['canals'][0]['length_mm']:.2f} mm" in done.stdout.decode()
    assert truth["filling"]["void_percent"] > 0
    assert truth["voxel_mm"] == [0.3, 0.3, 0.3]
    for which in ("prepared", "filled"):
        data = pydicom.dcmread(out / f"{which}.dcm")
        assert len(list((out / f"{which}-dicom").iterdir())) == data.NumberOfFrames
        assert (out / f"{which}.nrrd").read_bytes().startswith(b"NRRD0004\n# Invented")


def test_the_same_seed_writes_the_same_bytes(tmp_path):
    for name in ("one", "two"):
        assert rootfill("phantom", name, "--voxel", "0.4", folder=tmp_path).returncode == 0
    for path in sorted((tmp_path / "one").rglob("*.*")):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / "two" / path.relative_to(tmp_path / "one")).read_bytes()


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--canals", "9"), "1 to 4 canals"),
        (("--with", "joined"), "two canals"),
        (("--with", "gold"), "curved, oval, joined"),
        (("--like", "film"), "cbct or micro"),
        (("--tilt", "80"), "45 degrees"),
        (("--tilt", "nan"), "45 degrees"),
        (("--seed", "-1"), "from 0 up"),
        (("--voxel", "nan"), "0.004 to 1 mm"),
        (("--voxel", "0.005"), "larger"),
    ],
)
def test_what_cannot_be_made_ends_with_2_one_sentence_and_no_folder(tmp_path, asked, words):
    done = rootfill("phantom", "out", *asked, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.decode().count("\n") == 1
    assert words in done.stderr.decode()
    assert not (tmp_path / "out").exists()
