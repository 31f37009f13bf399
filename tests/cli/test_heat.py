"""The command ``heat`` as a person runs it."""

from __future__ import annotations

import json

from tests.cli.test_commands import rootfill
from tests.clinic.test_heat_section import GOOD


def test_it_prints_the_peak_with_its_error_and_the_cautions(tmp_path):
    (tmp_path / "section.toml").write_text(GOOD, encoding="utf-8")
    done = rootfill("heat", "section.toml", "--json", "heat.json", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, b"")
    said, data = done.stdout.decode(), json.loads((tmp_path / "heat.json").read_text(encoding="utf-8"))
    assert f"{data['surface_rise_c']:.1f} °C (± " in said
    assert "! A tip in perfect contact" in said
    assert f"3 mm: {data['ahead_c']['3']:.1f} °C" in said


def test_json_on_standard_output_is_json_and_nothing_else():
    done = rootfill("heat", "-", "--json", "-", typed=GOOD.encode())
    assert json.loads(done.stdout)["surface_rise_c"] > 1


def test_the_section_file_is_never_overwritten(tmp_path):
    (tmp_path / "section.toml").write_text(GOOD, encoding="utf-8")
    done = rootfill("heat", "section.toml", "--json", "section.toml", folder=tmp_path)
    assert done.returncode == 2
    assert (tmp_path / "section.toml").read_text(encoding="utf-8") == GOOD


def test_a_refused_section_ends_with_2_one_sentence_and_no_file(tmp_path):
    (tmp_path / "section.toml").write_text(GOOD.replace("0.57", "-0.57"), encoding="utf-8")
    done = rootfill("heat", "section.toml", "--json", "heat.json", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.decode().count("\n") == 1
    assert "materials.dentine.k_w_mk is -0.57" in done.stderr.decode()
    assert not (tmp_path / "heat.json").exists()
