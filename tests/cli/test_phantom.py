"""The command ``phantom`` as a person runs it."""

from __future__ import annotations

import json

import numpy as np
import pydicom
import pytest
from PIL import Image

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
        (("--like", "sonar"), "cbct, micro or film"),
        (("--like", "film", "--with", "isthmus"), "inverted"),
        (("--like", "film", "--tilt", "40"), "30 degrees"),
        (("--like", "film", "--voxel", "nan"), "0.01 to 0.5 mm"),
        (("--like", "film", "--voxel", "0"), "0.01 to 0.5 mm"),
        (("--with", "puff"), "curved, oval, joined"),
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


def test_a_film_is_written_twice_with_a_film_from_before_and_the_truth(tmp_path):
    asked = ("--like", "film", "--with", "over", "--with", "curved", "--voxel", "0.12", "--seed", "3")
    done = rootfill("phantom", "out", *asked, folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    out = tmp_path / "out"
    assert {path.name for path in out.iterdir()} == {"film.png", "film.dcm", "before.png", "before.dcm", "truth.json"}
    truth = json.loads((out / "truth.json").read_text(encoding="utf-8"))
    beyond = truth["canals"][0]["filling"]["beyond"]["core_mm"]
    assert f"{beyond:.2f} mm beyond the radiographic apex" in done.stdout.decode()
    data = pydicom.dcmread(out / "film.dcm")
    assert [float(x) for x in data.ImagerPixelSpacing] == [0.12, 0.12]
    assert float(data.EstimatedRadiographicMagnificationFactor) == pytest.approx(truth["magnification"])
    picture = np.asarray(Image.open(out / "film.png"))
    assert np.array_equal(picture.astype(int) >> 4, data.pixel_array)
    assert list(picture.shape[::-1]) == truth["size"]
