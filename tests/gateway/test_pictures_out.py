"""Pictures written by the gateway, read again by libraries that know nothing of it."""

from __future__ import annotations

import io

import numpy as np
import pydicom
import pytest
import SimpleITK
from PIL import Image

from rootfill.errors import InputRefused
from rootfill.gateway import craniofacial, ct_series, intraoral, nrrd, png

SPACING = (0.1, 0.12, 0.13)
VALUES = np.random.default_rng(0).integers(-900, 3000, (5, 4, 3)).astype(np.int16)


def test_a_series_is_a_slice_a_file_in_order_and_in_place():
    files = ct_series(VALUES, SPACING, "test")
    read = [pydicom.dcmread(io.BytesIO(files[name])) for name in sorted(files)]
    assert np.array_equal(np.array([data.pixel_array for data in read]), VALUES)
    assert [float(data.ImagePositionPatient[2]) for data in read] == pytest.approx([k * 0.13 for k in range(5)])
    assert [float(x) for x in read[0].PixelSpacing] == [0.12, 0.1]
    assert len({data.SOPInstanceUID for data in read}) == 5
    assert len({data.SeriesInstanceUID for data in read}) == 1
    assert all(data.SOPInstanceUID.is_valid for data in read)
    assert str(read[0].PatientName) == "Invented^Phantom"


def test_a_series_is_the_same_tooth_to_another_library(tmp_path):
    for name, content in ct_series(VALUES, SPACING, "test").items():
        (tmp_path / name).write_bytes(content)
    names = SimpleITK.ImageSeriesReader.GetGDCMSeriesFileNames(str(tmp_path))
    image = SimpleITK.ReadImage(names)
    assert np.array_equal(SimpleITK.GetArrayFromImage(image), VALUES)
    assert image.GetSpacing() == pytest.approx(SPACING)


def test_one_file_holds_the_whole_volume():
    data = pydicom.dcmread(io.BytesIO(craniofacial(VALUES, SPACING, "test")))
    assert np.array_equal(data.pixel_array, VALUES)
    measures = data.SharedFunctionalGroupsSequence[0].PixelMeasuresSequence[0]
    assert [float(x) for x in measures.PixelSpacing] == [0.12, 0.1]
    places = [frame.PlanePositionSequence[0].ImagePositionPatient[2] for frame in data.PerFrameFunctionalGroupsSequence]
    assert [float(z) for z in places] == pytest.approx([k * 0.13 for k in range(5)])


def test_a_film_says_where_its_spacing_holds():
    values = VALUES[0].astype(np.uint16)
    data = pydicom.dcmread(io.BytesIO(intraoral(values, (0.03, 0.04), (300.0, 290.0), "test")))
    assert np.array_equal(data.pixel_array, values)
    assert [float(x) for x in data.ImagerPixelSpacing] == [0.04, 0.03]
    assert float(data.EstimatedRadiographicMagnificationFactor) == pytest.approx(300 / 290)
    assert "PixelSpacing" not in data


@pytest.mark.parametrize("kind", [np.int16, np.uint16])
def test_an_nrrd_is_the_same_tooth_to_another_library(tmp_path, kind):
    (tmp_path / "a.nrrd").write_bytes(nrrd(VALUES.astype(kind), SPACING, "test"))
    image = SimpleITK.ReadImage(str(tmp_path / "a.nrrd"))
    assert np.array_equal(SimpleITK.GetArrayFromImage(image), VALUES.astype(kind))
    assert image.GetSpacing() == pytest.approx(SPACING)


def test_the_same_picture_gives_the_same_bytes():
    assert nrrd(VALUES, SPACING, "test") == nrrd(VALUES, SPACING, "test")
    assert craniofacial(VALUES, SPACING, "test") == craniofacial(VALUES, SPACING, "test")


def test_grey_values_of_another_kind_are_refused():
    with pytest.raises(InputRefused, match="8 or 16 bit"):
        nrrd(VALUES.astype(float), SPACING, "test")


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_a_png_is_the_same_picture_to_another_library(kind):
    values = np.random.default_rng(1).integers(0, np.iinfo(kind).max, (5, 7)).astype(kind)
    image = Image.open(io.BytesIO(png(values, "invented")))
    assert np.array_equal(np.asarray(image), values)
    assert image.info["Comment"] == "invented"


def test_a_png_of_other_numbers_is_refused():
    with pytest.raises(InputRefused):
        png(VALUES[0], "invented")
