"""The command `scan`: what it prints, writes and refuses."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
import SimpleITK

from tests.cli.running import rootfill
from tests.images.scan.teeth import painted, straight

CASE = """[case]
id = "scan-1"
tooth = 11
notation = "iso3950"

[[canals]]
name = "single"
reference = "incisal edge"
working_length_mm = 21.0
made = { size = 40, taper = 4 }
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the scan of a plain tooth, with and without its spacing, and a case."""
    made = tmp_path_factory.mktemp("scan")
    image = SimpleITK.GetImageFromArray(painted((straight(),)).values)
    SimpleITK.WriteImage(image, str(made / "bare.nrrd"), True)
    image.SetSpacing((0.2, 0.2, 0.2))
    SimpleITK.WriteImage(image, str(made / "scan.nrrd"), True)
    (made / "case.toml").write_text(CASE, encoding="utf-8")
    return made


def test_it_says_what_it_found_with_its_error_and_where_the_scale_comes_from(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, _ = rootfill(
        "scan", str(folder / "scan.nrrd"), "--json", str(folder / "scan.json"), capsys=capsys, monkeypatch=monkeypatch
    )
    assert code == 0
    assert "45 × 45 × 75 voxels of 0.2 × 0.2 × 0.2 mm (spacing of the scan)" in out
    assert "canal 1  root 1  length 9.5 mm ± 0.2" in out
    assert "! On patients' scans" in out
    data = json.loads((folder / "scan.json").read_text(encoding="utf-8"))
    assert data["canals"][0]["length_mm"] == pytest.approx(9.5, abs=0.1)


def test_without_a_scale_it_speaks_of_voxels(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, _ = rootfill("scan", str(folder / "bare.nrrd"), capsys=capsys, monkeypatch=monkeypatch)
    assert code == 0
    assert "length 47" in out
    assert " mm" not in out.split("!")[0]
    assert "until a spacing is given" in out


def test_canals_drop_into_a_case(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    code, out, _ = rootfill(
        "scan", str(folder / "bare.nrrd"), "--spacing", "0.2", "--case", str(folder / "case.toml"),
        capsys=capsys, monkeypatch=monkeypatch,
    )  # fmt: skip
    assert code == 0
    assert "written" in out
    canal = tomllib.loads((folder / "case.toml").read_text(encoding="utf-8"))["canals"][0]
    assert canal["canal_length_mm"] == pytest.approx(9.5, abs=0.1)
    assert canal["made"] == {"size": 40, "taper": 4}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (("nothing.nrrd",), "nothing.nrrd is not usable"),
        (("scan.nrrd", "--seed", "1,2"), "3 numbers with commas between, such as 120,96,40"),
        (("scan.nrrd", "--seed", "1,2,900"), "a voxel of the scan"),
        (("scan.nrrd", "--spacing", "0,2"), "1 or 3 numbers"),
        (("scan.nrrd", "--spacing", "50"), "0.002 to 1.5 mm"),
        (("scan.nrrd", "--canal", "single", "--case", "case.toml"), "such as MB=1"),
        (("bare.nrrd", "--case", "case.toml"), "a case is in mm: give --spacing"),
        (("scan.nrrd", "--case", "scan.nrrd"), ""),
    ],
)
def test_it_refuses_in_a_sentence(
    typed: tuple[str, ...], said: str, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    code, out, err = rootfill("scan", *typed, capsys=capsys, monkeypatch=monkeypatch)
    assert code == 2
    assert out == ""
    assert said in err
    assert "Traceback" not in err
    assert err.count("\n") == 1
