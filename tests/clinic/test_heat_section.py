"""The bare heat run: its keys, its result against the library, and one sentence for whatever cannot be."""

from __future__ import annotations

import json
import time

import numpy as np
import pytest

from rootfill import clinic, heat
from rootfill.clinic.heat_section import heat_json, heat_section
from rootfill.errors import InputRefused
from rootfill.heat import Effort, Material, Materials, Section, Source, Surroundings

GOOD = """
[section]
length_mm = 12
canal = [[0, 0.30], [12, 0.90]]
root = [[0, 2.4], [12, 4.2]]
block_radius_mm = 7
block_below_mm = 5
# section

[surroundings]
temperature_c = 37

[materials.compound]
k_w_mk = 1.15
density_kg_m3 = 2400
cp_j_kgk = 940
# compound

[materials.dentine]
k_w_mk = 0.57
density_kg_m3 = 2140
cp_j_kgk = 1302

[materials.block]
k_w_mk = 0.55
density_kg_m3 = 1908
cp_j_kgk = 1313
# materials

[[source]]
tip_s_mm = 5
from_s = 1
until_s = 3
temperature_c = 90
# source

[run]
seconds = 15
"""


def sentence(text: str) -> str:
    with pytest.raises(InputRefused) as refused:
        heat_section(text)
    assert "\n" not in refused.value.sentence
    assert len(refused.value.sentence) < 300
    return refused.value.sentence


def with_(place: str, line: str) -> str:
    return GOOD.replace(f"# {place}", line)


def test_the_result_is_that_of_the_library_at_its_usual_effort():
    got = heat_section(GOOD)
    kinds = Material(1.15, 2400, 940), Material(0.57, 2140, 1302), Material(0.55, 1908, 1313)
    section = Section(
        12.0, np.array([[0, 0.3], [12, 0.9]]), np.array([[0, 2.4], [12, 4.2]]), 7.0, 5.0, Materials(*kinds)
    )
    run = heat.warm(section, Surroundings(37.0), [Source.still(5.0, 1.0, 3.0, 90.0)], 15.0, Effort())
    peak = run.surface_peak()
    assert (got.surface_rise_c, got.at_s_mm, got.at_time_s) == pytest.approx(
        (peak.rise_c, peak.s_mm, peak.time_s), abs=1e-6
    )
    assert got.ahead_c == pytest.approx({str(x): run.axis_peak_c(5.0 - x) for x in (1, 2, 3)}, abs=1e-6)
    assert got.softened_ahead_mm == pytest.approx(
        {f"{x}": run.softened_ahead_mm(5.0, x) for x in (42, 53, 62)}, abs=1e-6
    )
    assert got.cem43_min == pytest.approx(heat.cem43_min(run.times_s, run.surface_c).max(), abs=1e-6)


def test_the_error_holds_the_difference_to_a_run_twice_as_fine():
    got = heat_section(GOOD)
    kinds = Material(1.15, 2400, 940), Material(0.57, 2140, 1302), Material(0.55, 1908, 1313)
    section = Section(
        12.0, np.array([[0, 0.3], [12, 0.9]]), np.array([[0, 2.4], [12, 4.2]]), 7.0, 5.0, Materials(*kinds)
    )
    fine = heat.warm(section, Surroundings(37.0), [Source.still(5.0, 1.0, 3.0, 90.0)], 15.0, Effort(refine=4))
    assert 0.005 < got.error_c < 0.5
    assert abs(fine.surface_peak().rise_c - got.surface_rise_c) < got.error_c
    for far in (1, 2, 3):
        assert abs(fine.axis_peak_c(5.0 - far) - got.ahead_c[str(far)]) < got.error_c


def test_the_time_it_took_is_no_more_than_passed_and_the_heat_is_accounted_for():
    started = time.perf_counter()
    got = heat_section(GOOD)
    assert 0 < got.wall_s <= time.perf_counter() - started
    assert got.energy_error < 1e-9
    assert heat_section(with_("compound", "latent_j_kg = 10880\nmelts_c = 60")).energy_error < 1e-6


def test_the_json_has_the_keys_of_the_docs_and_no_nan():
    data = json.loads(heat_json(heat_section(GOOD)), parse_constant=pytest.fail)
    assert {"surface_rise_c", "at_s_mm", "at_time_s", "ahead_c", "energy_error", "wall_s", "error_c"} <= data.keys()
    assert list(data["ahead_c"]) == ["1", "2", "3"]


def test_below_the_end_of_the_canal_there_is_no_filling_to_be_warm():
    got = heat_section(GOOD.replace("tip_s_mm = 5", "tip_s_mm = 1.5"))
    assert got.ahead_c["1"] is not None
    assert (got.ahead_c["2"], got.ahead_c["3"]) == (None, None)


def test_contact_latent_heat_and_ligament_each_change_the_answer():
    plain = heat_section(GOOD).surface_rise_c
    assert heat_section(with_("source", "contact_w_m2k = 1000")).surface_rise_c < 0.9 * plain
    assert heat_section(with_("section", "ligament_mm = 0.2")).surface_rise_c != pytest.approx(plain, abs=1e-3)
    molten = heat_section(with_("compound", "latent_j_kg = 10880\nmelts_c = 60")).surface_rise_c
    assert molten != pytest.approx(plain, abs=1e-4)


def test_two_heatings_are_taken_in_the_order_of_time_however_they_are_typed():
    more = "\n[[source]]\ntip_s_mm = 4\nfrom_s = {}\nuntil_s = {}\ntemperature_c = 90\n"
    late = heat_section(GOOD + more.format(6, 8))
    swapped = GOOD.replace("tip_s_mm = 5\nfrom_s = 1\nuntil_s = 3", "tip_s_mm = 4\nfrom_s = 6\nuntil_s = 8")
    swapped += more.format(1, 3).replace("tip_s_mm = 4", "tip_s_mm = 5")
    assert late.surface_rise_c > heat_section(GOOD).surface_rise_c
    assert heat_section(swapped).surface_rise_c == late.surface_rise_c
    assert late.ahead_c["1"] == pytest.approx(heat_section(swapped).ahead_c["1"])


def test_cautions_speak_of_contact_of_the_limit_and_of_what_is_assumed():
    warm = heat_section(GOOD.replace("temperature_c = 90", "temperature_c = 250"))
    assert warm.surface_rise_c > 20
    said = " ".join(warm.cautions)
    assert [w for w in ("perfect contact", "more than 10 °C", "0.6 to 2.25 W/m/K") if w not in said] == []
    assert warm.cem43_min is None
    assert "57 °C" in said
    mild = heat_section(with_("source", "contact_w_m2k = 500"))
    assert len(mild.cautions) == 1
    assert "nobody measured" in " ".join(heat_section(with_("section", "ligament_mm = 0.2")).cautions)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (GOOD.replace("tip_s_mm = 5", "tip_s_mm = 12"), ["source[0].tip_s_mm", "12", "inside the canal"]),
        (GOOD.replace("tip_s_mm = 5", "tip_s_mm = -1"), ["source[0].tip_s_mm", "-1", "0 to 100"]),
        (GOOD.replace("[12, 4.2]", "[12, 0.8]"), ["section.root", "0.8 mm thick at 12 mm", "thicker than the canal"]),
        (GOOD.replace("[[0, 2.4]", "[[0, 0.3]"), ["section.root", "0.3 mm thick at 0 mm"]),
        (with_("section", "").replace("[[0, 0.30], [12", "[[0, 0.30], [6, 3.5], [12"), ["section.root", "at 6 mm"]),
        (GOOD.replace("block_radius_mm = 7", "block_radius_mm = 2"), ["section.block_radius_mm", "2", "2.15"]),
        (with_("section", "ligament_mm = 5"), ["section.block_radius_mm", "7.15"]),
        (with_("section", "ligament_mm = 4.98").replace("radius_mm = 7", "radius_mm = 9"), ["block_below_mm", "5.03"]),
        (GOOD.replace("k_w_mk = 0.57\n", ""), ["materials.dentine.k_w_mk is missing", "above 0"]),
        (GOOD.replace("k_w_mk = 0.57", "k_w_mk = -0.57"), ["materials.dentine.k_w_mk", "-0.57", "above 0"]),
        (GOOD.replace("cp_j_kgk = 940", "cp_j_kgk = 0"), ["materials.compound.cp_j_kgk", "above 0"]),
        (GOOD.replace("cp_j_kgk = 940", "cp_j_kgk = nan"), ["materials.compound.cp_j_kgk", "nan"]),
        (GOOD.replace("density_kg_m3 = 1908", "density_kg_m3 = inf"), ["materials.block.density_kg_m3", "inf"]),
        (GOOD.replace("temperature_c = 37", "temperature_c = nan"), ["surroundings.temperature_c", "nan"]),
        (GOOD.replace("seconds = 15", "seconds = nan"), ["run.seconds", "nan"]),
        (GOOD.replace("seconds = 15", "seconds = 1e12"), ["run.seconds", "3600"]),
        (GOOD.replace("seconds = 15", "seconds = 2"), ["source[0].until_s", "at most run.seconds, 2"]),
        (GOOD.replace("until_s = 3", "until_s = 1"), ["source[0].until_s", "after from_s"]),
        (with_("compound", "latent_j_kg = 10880"), ["materials.compound.melts_c is missing"]),
        (with_("compound", "melts_c = 60"), ["materials.compound.latent_j_kg is missing"]),
        (with_("compound", "latent_j_kg = -1\nmelts_c = 60"), ["materials.compound.latent_j_kg", "-1"]),
        (with_("source", "contact_w_m2k = 0"), ["source[0].contact_w_m2k", "above 0"]),
        (GOOD.replace("[12, 0.90]", "[11.99, 0.90], [12, 0.90]"), ["section.canal", "12 after 11.99", "ascend"]),
        (GOOD.replace("[[0, 2.4], [12", "[[0, 2.4], [13"), ["section.root", "13 mm up", "0 to 12 mm"]),
        (GOOD.replace("canal = [[0, 0.30], [12, 0.90]]", "canal = []"), ["section.canal"]),
        (with_("materials", "[materials.ligament]\nk_w_mk = 1\ndensity_kg_m3 = 1\ncp_j_kgk = 1"), ["ligament_mm"]),
        (with_("materials", "[materials.enamel]\nk_w_mk = 1"), ["materials.enamel", "known here"]),
        (GOOD[: GOOD.index("[[source]]")] + "[run]\nseconds = 3\n", ["source is missing"]),
        ("", ["section is missing"]),
        ("[section", ["the section file", "not readable"]),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_that_names_it(text, words):
    assert text != GOOD
    said = sentence(text)
    assert [w for w in words if w not in said] == [], said


def test_two_tips_at_once_are_refused():
    more = "\n[[source]]\ntip_s_mm = 4\nfrom_s = 2\nuntil_s = 5\ntemperature_c = 90\n"
    assert "source[1].from_s is 2; 3 or later" in sentence(GOOD + more)


def test_a_section_too_large_for_memory_is_refused_before_anything_is_computed():
    tips = "".join(
        f"\n[[source]]\ntip_s_mm = {i}\nfrom_s = {i}\nuntil_s = {i + 0.5}\ntemperature_c = 90\n" for i in range(4, 95)
    )
    huge = GOOD.replace("length_mm = 12", "length_mm = 100").replace("[12, ", "[100, ").replace("= 15", "= 200")
    huge = huge.replace("0.90", "40").replace("4.2", "90").replace("radius_mm = 7", "radius_mm = 90")
    started = time.perf_counter()
    assert "too large to compute in memory" in sentence(huge + tips)
    assert time.perf_counter() - started < 5


def test_numbers_may_be_typed_with_a_comma():
    assert heat_section(GOOD.replace("0.57", '"0,57"')).surface_rise_c == heat_section(GOOD).surface_rise_c


def test_a_case_file_is_no_section_file():
    assert "not known here" in sentence(clinic.demo_case())
