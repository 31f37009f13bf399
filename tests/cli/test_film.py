"""The command `film`: what it prints, writes and refuses."""

from __future__ import annotations

import json

import numpy as np
import pytest
from PIL import Image

from tests.cli.running import rootfill
from tests.images.film.pictures import APEX, STEP_MM, picture

AT = ",".join(str(x) for x in APEX)
SPACING = ("--spacing", str(STEP_MM))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("film")
    asked = {"short": {"short_mm": 1.0}, "over": {"short_mm": -1.0}, "before": {"filling": False}}
    for name, how in asked.items():
        grey = np.clip(picture(**how) / 2.5, 0, 1)
        Image.fromarray((grey * 65535).astype(np.uint16)).save(made / f"{name}.png")
    return made


def film(capsys, monkeypatch, *typed):
    """Exit code and what was printed."""
    return rootfill("film", *(str(x) for x in typed), capsys=capsys, monkeypatch=monkeypatch)


def test_a_length_names_its_calibration_and_its_interval(folder, capsys, monkeypatch):
    to = folder / "film.json"
    code, out, _ = film(capsys, monkeypatch, folder / "short.png", *SPACING, "--apex", AT, "--json", to)
    assert code == 0
    assert "1.0 mm (" in out
    assert "scale  spacing entered by you" in out
    data = json.loads(to.read_text(encoding="utf-8"))
    assert data["end_to_apex_mm"] == pytest.approx(1.0, abs=0.06)
    assert data["class"] == "adequate"
    assert data["class_sure"]
    assert data["end_to_apex"]["low"] < 1.0 < data["end_to_apex"]["high"]
    assert data["beyond"]["core_mm"] == 0
    assert data["apex"] == list(APEX)


def test_without_a_scale_there_are_pixels_and_a_warning_and_no_class(folder, capsys, monkeypatch):
    code, out, _ = film(capsys, monkeypatch, folder / "short.png", "--apex", AT, "--json", "-")
    data = json.loads(out)
    assert code == 0
    assert data["end_to_apex_px"] == pytest.approx(1.0 / STEP_MM, abs=1.5)
    millimetres = [data["end_to_apex_mm"], data["length_mm"], data["smallest_void_mm"], *data["beyond"].values()]
    assert millimetres[:4] == [None] * 4
    assert data["class"] is None
    assert any("no scale" in x for x in data["warnings"])


@pytest.mark.parametrize(("tooth", "urgent"), [("36", True), ("11", False)])
def test_core_beyond_the_end_near_the_nerve_prints_what_is_urgent(tooth, urgent, folder, capsys, monkeypatch):
    code, out, _ = film(capsys, monkeypatch, folder / "over.png", *SPACING, "--apex", AT, "--tooth", tooth)
    assert code == 0
    assert "over" in out
    assert ("24 to 48 hours" in out) is urgent


def test_a_file_in_the_canal_outranks_what_was_typed_of_a_pixel(folder, capsys, monkeypatch):
    line = f"{APEX[0]},{APEX[1]},{APEX[0]},{APEX[1] - 200},20"
    code, out, _ = film(
        capsys, monkeypatch, folder / "short.png", *SPACING, "--apex", AT, "--file-line", line, "--json", "-"
    )
    data = json.loads(out)
    assert code == 0
    assert data["end_to_apex_mm"] == pytest.approx(2.0, abs=0.12)
    assert data["calibration"]["source"] == "a file of 20 mm in the canal"
    assert not data["class_sure"]
    assert data["class_may_be"] == ["adequate", "short"]


def test_the_film_before_shows_that_the_filling_is_new(folder, capsys, monkeypatch):
    code, out, _ = film(
        capsys, monkeypatch, folder / "short.png", "--apex", AT, "--before", folder / "before.png", "--json", "-"
    )
    before = json.loads(out)["before"]
    assert code == 0
    assert before["new_share"] > 0.9
    assert before["residual"] < 0.05


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (("--apex", "here"), "apex is 'here'; 2 numbers with commas between"),
        (("--apex", "9000,3"), "apex is outside the picture"),
        (("--ruler", "1,1,3,3,10"), "ruler is 3 pixels long"),
        (("--ruler", "1,1,100,100,900"), "a known length on a film"),
        (("--spacing", "5"), "spacing is 5 mm"),
        (("--canal", "5,5"), "canal is missing; two points or more"),
        (("--tooth", "99"), "case.tooth is '99'"),
        (("--before", "no.png"), "no.png"),
    ],
)
def test_what_is_typed_wrong_is_refused_in_a_sentence(typed, says, folder, capsys, monkeypatch):
    code, _, err = film(capsys, monkeypatch, folder / "short.png", *typed)
    assert code == 2
    assert says in err
    assert err.count("\n") == 1


def test_a_film_without_a_filling_says_what_to_do(folder, capsys, monkeypatch):
    code, _, err = film(capsys, monkeypatch, folder / "before.png")
    assert code == 2
    assert "--end x,y" in err
