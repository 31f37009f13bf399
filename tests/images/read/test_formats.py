"""The same volume comes out of every format, with its spacing and the way it lies; what has no scale has none."""

from __future__ import annotations

import zipfile
from pathlib import Path

import numpy as np
import pydicom
import pytest
import SimpleITK
from openjpeg.utils import encode_array
from PIL import Image
from pydicom.encaps import encapsulate
from pydicom.uid import JPEG2000Lossless

from rootfill.errors import InputRefused
from rootfill.images import Trust
from rootfill.images.read import read_film, read_volume
from rootfill.images.read.scales import against, lying
from tests.images.read.written import SPACING, WITH_SPACING, WITHOUT_SPACING, dicom_folder, nrrd, slice_of, values


@pytest.mark.parametrize("name", WITH_SPACING)
def test_values_spacing_and_error_come_out_of_every_format(name: str, tmp_path: Path) -> None:
    volume = read_volume(WITH_SPACING[name](tmp_path))
    assert np.array_equal(volume.values, values())
    assert volume.values.dtype.isnative
    assert volume.scale.spacing_mm == pytest.approx(SPACING)
    assert volume.scale.trust is Trust.PATIENT
    assert volume.scale.low < 1 < volume.scale.high


@pytest.mark.parametrize("name", [name for name in WITH_SPACING if "by hand" not in name and "NRRD," not in name])
def test_where_the_scan_lies_in_the_patient_comes_out_too(name: str, tmp_path: Path) -> None:
    volume = read_volume(WITH_SPACING[name](tmp_path))
    assert volume.to_patient is not None
    assert volume.to_patient @ (1, 2, 3, 1) == pytest.approx((5 + 0.2, -3 + 2 * 0.25, 7 + 3 * 0.3, 1))


@pytest.mark.parametrize("name", WITHOUT_SPACING)
def test_plain_slices_have_no_scale_until_one_is_given(name: str, tmp_path: Path) -> None:
    path = WITHOUT_SPACING[name](tmp_path)
    volume = read_volume(path)
    assert not volume.scale.known
    assert any("until a spacing is given" in caution for caution in volume.cautions)
    shift = 0 if name == "TIFF stack" else 100
    assert np.array_equal(volume.values, values() + shift)
    assert read_volume(path, SPACING).scale.trust is Trust.ENTERED


@pytest.mark.parametrize("spacing", ["1 1 1", "nan 0.2 0.2", "0.2 50 0.2", "0.00001 0.2 0.2"])
def test_a_placeholder_or_a_lie_is_no_scale(spacing: str, tmp_path: Path) -> None:
    path = nrrd("little", "raw")(tmp_path)
    content = path.read_bytes().replace(b"0.2 0.25 0.3", spacing.encode())
    path.write_bytes(content)
    volume = read_volume(path)
    assert not volume.scale.known
    assert volume.cautions


def test_a_spacing_in_micrometres_is_read_as_such(tmp_path: Path) -> None:
    path = nrrd("little", "raw")(tmp_path)
    content = path.read_bytes().replace(b"spacings: 0.2 0.25 0.3", b'spacings: 20 20 20\nunits: "um" "um" "um"')
    path.write_bytes(content)
    assert read_volume(path).scale.spacing_mm == pytest.approx((0.02, 0.02, 0.02))


def test_a_spacing_typed_outranks_the_file_and_says_so(tmp_path: Path) -> None:
    volume = read_volume(dicom_folder()(tmp_path), (0.1, 0.1, 0.1))
    assert volume.scale.spacing_mm == (0.1, 0.1, 0.1)
    assert any("the file states 0.2 × 0.25 × 0.3 mm" in caution for caution in volume.cautions)


def test_a_zip_is_read_as_the_folder_it_holds(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    dicom_folder()(tmp_path / "a")
    with zipfile.ZipFile(tmp_path / "scan.zip", "w") as archive:
        for path in (tmp_path / "a").iterdir():
            archive.write(path, f"../../evil/{path.name}")
    assert np.array_equal(read_volume(tmp_path / "scan.zip").values, values())
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a", "scan.zip"]


def test_a_file_that_does_not_say_how_it_lies_is_not_guessed_at(tmp_path: Path) -> None:
    assert read_volume(nrrd("little", "raw")(tmp_path)).to_patient is None


def test_slices_of_different_scales_come_out_in_one(tmp_path: Path) -> None:
    folder = dicom_folder()(tmp_path)
    data = pydicom.dcmread(folder / "0.dcm")
    data.RescaleSlope = 1000
    data.save_as(folder / "0.dcm")
    volume = read_volume(folder)
    true = values().astype(float)
    true[0] *= 1000
    assert volume.values == pytest.approx(true)


def test_a_spacing_of_the_wrong_count_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputRefused, match="3, one for each side"):
        read_volume(dicom_folder()(tmp_path), (0.1, 0.1))


def test_a_rotated_volume_keeps_its_spacing_and_its_way(tmp_path: Path) -> None:
    image = SimpleITK.GetImageFromArray(values())
    image.SetSpacing(SPACING)
    turn = np.array([[0, -1, 0], [1, 0, 0], [0, 0, 1.0]])
    image.SetDirection(turn.ravel().tolist())
    SimpleITK.WriteImage(image, str(tmp_path / "scan.mha"))
    volume = read_volume(tmp_path / "scan.mha")
    assert volume.scale.spacing_mm == pytest.approx(SPACING)
    assert volume.to_patient is not None
    assert volume.to_patient[:3, :3] == pytest.approx(turn * SPACING)


def test_progress_is_told(tmp_path: Path) -> None:
    told: list[float] = []
    read_volume(dicom_folder()(tmp_path), progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1


def test_a_film_is_bright_where_it_is_dense_however_it_is_stored(tmp_path: Path) -> None:
    grey = np.arange(400, dtype=np.uint16).reshape(20, 20)
    data = slice_of(0)
    data.Rows = data.Columns = 20
    data.PixelRepresentation, data.BitsStored, data.HighBit = 0, 12, 11
    data.PixelData = (4095 - grey).tobytes()
    data.PhotometricInterpretation = "MONOCHROME1"
    data.ImagerPixelSpacing = [0.03, 0.04]
    data.EstimatedRadiographicMagnificationFactor = 1.25
    del data.PixelSpacing
    data.save_as(tmp_path / "film.dcm", enforce_file_format=True)
    film = read_film(tmp_path / "film.dcm")
    assert np.array_equal(film.values, grey)
    assert film.scale.spacing_mm == pytest.approx((0.032, 0.024))
    assert film.scale.trust is Trust.MAGNIFICATION


@pytest.mark.parametrize(
    ("tags", "trust"),
    [
        ({"PixelSpacing": [0.03, 0.03], "PixelSpacingCalibrationType": "FIDUCIAL"}, Trust.FIDUCIAL),
        ({"PixelSpacing": [0.03, 0.03], "PixelSpacingCalibrationType": "GEOMETRY"}, Trust.GEOMETRY),
        ({"ImagerPixelSpacing": [0.03, 0.03], "DistanceSourceToDetector": 300, "DistanceSourceToPatient": 290},
         Trust.DISTANCES),
        ({"ImagerPixelSpacing": [0.03, 0.03], "EstimatedRadiographicMagnificationFactor": 0.9}, Trust.DETECTOR),
        ({"ImagerPixelSpacing": [0.03, 0.03]}, Trust.DETECTOR),
        ({"NominalScannedPixelSpacing": [0.1, 0.1]}, Trust.NOMINAL),
        ({"PixelSpacing": [0.03, 0.03]}, Trust.NOMINAL),
        ({"PixelSpacing": [1, 1]}, Trust.NONE),
        ({}, Trust.NONE),
    ],
)  # fmt: skip
def test_a_films_scale_follows_the_order_of_trust(tags: dict[str, object], trust: Trust, tmp_path: Path) -> None:
    data = slice_of(0)
    data.Rows, data.Columns, data.PixelData = 20, 20, bytes(800)
    del data.PixelSpacing
    for keyword, value in tags.items():
        setattr(data, keyword, value)
    data.save_as(tmp_path / "film.dcm", enforce_file_format=True)
    film = read_film(tmp_path / "film.dcm")
    assert film.scale.trust is trust
    assert film.scale.known is (trust is not Trust.NONE)


def test_a_grey_jpeg_stored_in_colour_is_a_film(tmp_path: Path) -> None:
    grey = np.tile(np.arange(64, dtype=np.uint8), (64, 1))
    Image.fromarray(np.stack([grey] * 3, axis=-1)).save(tmp_path / "film.png")
    assert np.array_equal(read_film(tmp_path / "film.png").values, grey)


def test_a_scan_stored_feet_up_says_so(tmp_path: Path) -> None:
    upright = read_volume(dicom_folder()(tmp_path))
    assert not any("feet up" in says for says in upright.cautions)
    for path in tmp_path.glob("*.dcm"):
        data = pydicom.dcmread(path)
        data.ImageOrientationPatient = [1, 0, 0, 0, -1, 0]
        data.save_as(path, enforce_file_format=True)
    turned = read_volume(tmp_path)
    assert any("feet up" in says for says in turned.cautions)
    assert turned.to_patient is not None
    assert turned.to_patient[2, 2] < 0


@pytest.mark.parametrize(
    ("axes", "says"),
    [((1, 1, 1), ()), ((1, 1, -1), ("feet up", "mirror image")), ((-1, -1, 1), ()), ((-1, 1, 1), ("mirror image",))],
)
def test_how_a_scan_lies_is_told_by_its_directions(axes: tuple[int, ...], says: tuple[str, ...]) -> None:
    found = lying(np.diag([*axes, 1]).astype(float))
    assert len(found) == len(says)
    assert all(words in sentence for words, sentence in zip(says, found, strict=True))


def test_slices_in_jpeg_2000_without_loss_come_out_as_they_were(tmp_path: Path) -> None:
    plain = read_volume(dicom_folder()(tmp_path))
    for path in tmp_path.glob("*.dcm"):
        data = pydicom.dcmread(path)
        large = np.tile(data.pixel_array, (10, 10))  # smaller ones cannot be packed
        data.Rows, data.Columns = large.shape
        packed = encode_array(large, bits_stored=16, photometric_interpretation=0)
        data.PixelData = encapsulate([packed])
        data["PixelData"].is_undefined_length = True
        data.file_meta.TransferSyntaxUID = JPEG2000Lossless
        data.save_as(path, enforce_file_format=True)
    assert np.array_equal(read_volume(tmp_path).values, np.tile(plain.values, (1, 10, 10)))


def test_a_film_may_come_alone_in_a_zip_and_a_spacing_typed_is_held_against_its_own(tmp_path: Path) -> None:
    grey = np.random.default_rng(1).integers(0, 255, (40, 50), dtype=np.uint8)
    Image.fromarray(grey).save(tmp_path / "film.png")
    with zipfile.ZipFile(tmp_path / "film.zip", "w") as packed:
        packed.write(tmp_path / "film.png", "film.png")
    assert np.array_equal(read_film(tmp_path / "film.zip").values, grey)
    with zipfile.ZipFile(tmp_path / "film.zip", "a") as packed:
        packed.write(tmp_path / "film.png", "other.png")
    with pytest.raises(InputRefused, match="a zip of 2 files"):
        read_film(tmp_path / "film.zip")
    assert against([0.02, 0.02], (0.03, 0.03)) == ("The spacing you gave is used; the file states 0.03 × 0.03 mm.",)
