"""The tables against the documents they were copied from, against arithmetic, and against `fluids`.

Numbers below were typed by hand from the collected facts; the section is named beside each.
"""

import math
from statistics import NormalDist, fmean, stdev

import pytest
from fluids.piping import t_from_gauge

from rootfill.tables import rule, table

Rows = dict[str, dict[str, str]]


def by(name: str, column: str) -> Rows:
    return {row[column]: dict(row) for row in table(name)}


# Standards, section 1: 006 008 010, 015 to 060 by 5, 070 to 140 by 10.
SIZES = [6, 8, 10, *range(15, 61, 5), *range(70, 141, 10)]


def test_there_are_21_file_sizes_in_the_series() -> None:
    assert [int(row["size"]) for row in table("file_sizes")] == SIZES
    assert len(SIZES) == 21


@pytest.mark.parametrize("row", table("file_sizes"), ids=lambda row: row["size"])
def test_file_diameters_follow_from_the_size_and_taper_02(row: dict[str, str]) -> None:
    d0 = int(row["size"]) / 100
    assert float(row["d0_mm"]) == pytest.approx(d0)
    assert float(row["d3_mm"]) == pytest.approx(d0 + 0.06)
    assert float(row["d16_mm"]) == pytest.approx(d0 + 0.32)


def test_file_colours_run_white_yellow_red_blue_green_black_from_015() -> None:
    # Standards, section 1: repeating at 045 and 090.
    colours = [row["colour"] for row in table("file_sizes")]
    assert colours == ["pink", "grey", "purple", *["white", "yellow", "red", "blue", "green", "black"] * 3]
    assert all(by("file_sizes", "size")[size]["colour"] == "white" for size in ("015", "045", "090"))


def test_file_tolerance_is_002_and_the_second_claim_differs_above_060_only() -> None:
    # Standards, section 1, rows "D0" and "D0, second claim".
    assert {float(row["tol_mm"]) for row in table("file_sizes")} == {0.02, rule("file_tol_mm").value}
    claims = {int(row["size"]): float(row["tol_mm"]) for row in table("file_tolerance_claims")}
    assert claims == {size: 0.02 if size <= 60 else 0.04 for size in SIZES}


def test_both_cone_claims_are_held_and_split_between_025_and_030() -> None:
    # Standards, section 2.1.
    rows = {int(row["size"]): row for row in table("cone_tolerance")}
    assert list(rows) == [size for size in SIZES if size >= 10]
    assert {size: float(row["split_mm"]) for size, row in rows.items()} == {
        size: 0.05 if size <= 25 else 0.07 for size in rows
    }
    assert {float(row["flat_mm"]) for row in rows.values()} == {0.05}
    assert {row["mark"] for row in rows.values()} == {"from memory"}


# Standards, section 2.2.
AUXILIARY = {
    "XF": (0.20, 0.45, 0.019, 0.142),
    "FF": (0.24, 0.56, 0.025, 0.166),
    "MF": (0.27, 0.68, 0.032, 0.175),
    "F": (0.31, 0.80, 0.038, 0.197),
    "FM": (0.35, 0.88, 0.041, 0.228),
    "M": (0.40, 1.10, 0.054, 0.238),
    "ML": (0.43, 1.25, 0.063, 0.241),
    "L": (0.49, 1.55, 0.082, 0.245),
    "XL": (0.52, 1.60, 0.083, 0.271),
}


def test_the_auxiliary_points_are_those_nine() -> None:
    assert [row["code"] for row in table("auxiliary_points")] == list(AUXILIARY)


@pytest.mark.parametrize("code", AUXILIARY)
def test_auxiliary_points_hold_their_diameters_and_what_follows_from_them(code: str) -> None:
    row = by("auxiliary_points", "code")[code]
    d3, d16, taper, d0 = AUXILIARY[code]
    assert (float(row["d3_mm"]), float(row["d16_mm"])) == (d3, d16)
    assert float(row["derived_taper"]) == pytest.approx((d16 - d3) / 13, abs=6e-5)
    assert float(row["derived_taper"]) == pytest.approx(taper, abs=6e-4)
    assert float(row["derived_d0_mm"]) == pytest.approx(d3 - 3 * (d16 - d3) / 13, abs=6e-4)
    assert float(row["derived_d0_mm"]) == pytest.approx(d0)


# Standards, section 2.4: make, tip deviation % (SD), taper deviation % (SD).
MAKES = {
    "A": (-15.42, 7.16, 6.67, 3.49),
    "B": (-12.76, 4.98, 3.67, 3.64),
    "C": (3.18, 7.06, -3.00, 3.80),
    "D": (3.62, 11.37, -0.17, 6.37),
    "E": (7.27, 7.84, 1.50, 6.93),
}


@pytest.mark.parametrize("make", MAKES)
def test_measured_cone_deviations_are_those_of_the_paper(make: str) -> None:
    row = by("cone_spread_measured", "make")[make]
    columns = ("d0_percent", "d0_sd_percent", "taper_percent", "taper_sd_percent")
    assert tuple(float(row[column]) for column in columns) == MAKES[make]
    assert float(row["derived_d0_mm"]) == pytest.approx(0.30 * MAKES[make][0] / 100, abs=6e-4)
    assert float(row["derived_d0_sd_mm"]) == pytest.approx(0.30 * MAKES[make][1] / 100, abs=6e-4)


def test_cone_spreads_follow_from_the_measured_makes() -> None:
    within = 0.003 * math.sqrt(fmean(sd**2 for _, sd, _, _ in MAKES.values()))
    between = 0.003 * stdev(mean for mean, _, _, _ in MAKES.values())
    assert rule("cone_sd_within_mm").value == pytest.approx(within, abs=6e-4)
    assert rule("cone_sd_between_mm").value == pytest.approx(between, abs=6e-4)
    assert rule("cone_sd_mm").value == pytest.approx(math.hypot(within, between), abs=6e-4)


# Standards, section 4: gauge; limits of the outer diameter; catalogue outer diameter and bore;
# smallest regular and thin-walled bore.
NEEDLES = {
    "23": (0.600, 0.673, 0.6414, 0.337, 0.317, 0.370),
    "25": (0.500, 0.530, 0.5144, 0.260, 0.232, 0.292),
    "27": (0.400, 0.420, 0.4128, 0.210, 0.184, 0.241),
    "28": (0.349, 0.370, 0.3620, 0.184, 0.133, 0.190),
    "29": (0.324, 0.351, 0.3366, 0.184, 0.133, 0.190),
    "30": (0.298, 0.320, 0.3112, 0.159, 0.133, 0.165),
    "31": (0.254, 0.267, 0.2604, 0.133, 0.114, 0.125),
}


@pytest.mark.parametrize("gauge", NEEDLES)
def test_needles_hold_the_catalogue_and_the_limits(gauge: str) -> None:
    tube, window, bore = (by(name, "gauge")[gauge] for name in ("needles", "needle_windows", "needle_bores"))
    assert (float(window["od_min_mm"]), float(window["od_max_mm"])) == NEEDLES[gauge][:2]
    catalogue = (float(tube["catalogue_od_mm"]), float(tube["catalogue_id_regular_mm"]))
    assert catalogue == NEEDLES[gauge][2:4]
    assert float(tube["catalogue_od_tol_pm_mm"]) == 0.0064
    assert (float(bore["regular_mm"]), float(bore["thin_mm"])) == NEEDLES[gauge][4:]


def test_only_the_bores_of_30_and_32_gauge_were_read_in_print() -> None:
    # Standards, section 4, row "30 G and 32 G ID minima, 2016".
    columns = ("regular_mm", "thin_mm", "extra_thin_mm", "ultra_thin_mm")
    read = {row["gauge"]: row for row in table("needle_bores") if row["mark"] == "published"}
    assert {gauge: [float(row[column]) for column in columns] for gauge, row in read.items()} == {
        "30": [0.133, 0.165, 0.190, 0.240],
        "32": [0.089, 0.105, 0.125, 0.146],
    }


@pytest.mark.parametrize("row", table("needles"), ids=lambda row: row["gauge"])
def test_a_catalogue_needle_lies_inside_the_limits_of_its_gauge(row: dict[str, str]) -> None:
    window = by("needle_windows", "gauge")[row["gauge"]]
    bore = by("needle_bores", "gauge")[row["gauge"]]
    od, inner = float(row["catalogue_od_mm"]), float(row["catalogue_id_regular_mm"])
    assert float(window["od_min_mm"]) <= od <= float(window["od_max_mm"])
    assert float(bore["regular_mm"]) <= inner
    assert inner + 2 * float(row["catalogue_wall_mm"]) == pytest.approx(od, abs=0.0035)


@pytest.mark.parametrize("gauge", range(18, 32))
def test_fluids_gives_each_gauge_a_diameter_just_below_the_catalogue(gauge: int) -> None:
    # Standards, section 4: wire gauge BWG, 0.006 to 0.025 mm below the catalogue, equal at 19.
    wire_mm = t_from_gauge(gauge, SI=True, schedule="BWG") * 1000
    below = float(by("needles", "gauge")[str(gauge)]["catalogue_od_mm"]) - wire_mm
    assert -0.0005 <= below <= 0.0255


# Clinical facts, section 1.1: mean lengths, three tables, upper then lower.
LENGTHS = {
    ("upper", "central_incisor"): [22.5, 23.6, 23.5],
    ("upper", "canine"): [26.5, 26.4, 27.0],
    ("upper", "first_molar"): [20.8, 20.1, 19.5, 20.5],
    ("upper", "second_molar"): [20.0, 20.0, 18.0, 19.0],
    ("lower", "lateral_incisor"): [20.7, 22.1, 23.5],
    ("lower", "first_premolar"): [21.6, 22.4, 22.5, 22.48],
    ("lower", "first_molar"): [21.0, 20.9, 21.5],
    ("lower", "third_molar"): [18.5, 18.2, 18.0],
}


@pytest.mark.parametrize(("arch", "kind"), LENGTHS)
def test_tooth_lengths_are_those_of_the_three_tables(arch: str, kind: str) -> None:
    rows = [row for row in table("tooth_lengths") if (row["arch"], row["kind"]) == (arch, kind)]
    assert [float(row["length_mm"]) for row in rows] == LENGTHS[arch, kind]


def test_the_only_spread_of_a_tooth_length_is_that_of_one_sample() -> None:
    spread = [(row["kind"], row["sd_mm"], row["n"], row["mark"]) for row in table("tooth_lengths") if row["sd_mm"]]
    assert spread == [("first_premolar", "1.74", "250", "published")]


# Clinical facts, section 1.5: a recalled table and one sample seen in its abstract.
@pytest.mark.parametrize("row", table("canal_diameters_check"), ids=lambda row: f"{row['canal']} {row['level_mm']}")
def test_a_second_sample_of_canal_widths_lies_near_the_recalled_table(row: dict[str, str]) -> None:
    recalled = {
        (r["canal"], r["level_mm"]): (float(r["bl_mm"]), float(r["md_mm"]))
        for r in table("canal_diameters")
        if r["kinds"] == row["kinds"] and r["arch"] == "lower"
    }
    bl, md = float(row["bl_mm"]), float(row["md_mm"])
    low = recalled[row["canal"], "1"]
    high = recalled[row["canal"], "5"]
    assert low[0] - 0.05 <= bl <= high[0] + 0.05
    assert low[1] - 0.06 <= md <= high[1] + 0.05


def test_canal_widths_are_those_of_the_recalled_table() -> None:
    rows = {(r["arch"], r["kinds"], r["canal"], r["level_mm"]): r for r in table("canal_diameters")}
    assert len(rows) == 19 * 3
    premolars, molars = "first_premolar;second_premolar", "first_molar;second_molar"
    spots = {
        ("upper", premolars, "one canal", "5"): (1.13, 0.38),
        ("upper", molars, "palatal", "5"): (0.55, 0.74),
        ("lower", "central_incisor;lateral_incisor", "one canal", "5"): (0.81, 0.29),
        ("lower", premolars, "lingual of two", "1"): (0.13, 0.18),
        ("lower", molars, "distal, one canal", "5"): (1.07, 0.59),
    }
    assert {key: (float(rows[key]["bl_mm"]), float(rows[key]["md_mm"])) for key in spots} == spots


def test_foramina_are_those_of_the_micro_ct_series() -> None:
    # Clinical facts, sections 1.5 and 1.6: narrow, wide, distance from the apex.
    held = {
        (row["arch"], row["kind"], row["root"]): tuple(
            float(row[column]) for column in ("narrow_mm", "wide_mm", "to_apex_mm")
        )
        for row in table("foramina")
    }
    assert held == {
        ("upper", "first_molar", "MB"): (0.24, 0.33, 0.82),
        ("upper", "first_molar", "DB"): (0.22, 0.31, 0.81),
        ("upper", "first_molar", "P"): (0.33, 0.42, 1.02),
        ("upper", "second_molar", "MB"): (0.24, 0.41, 0.54),
        ("upper", "second_molar", "DB"): (0.22, 0.33, 0.43),
        ("upper", "second_molar", "P"): (0.33, 0.44, 0.63),
        ("lower", "first_molar", "mesial"): (0.24, 0.39, 0.95),
        ("lower", "first_molar", "distal"): (0.30, 0.46, 1.05),
        ("lower", "second_molar", "mesial"): (0.25, 0.47, 0.78),
        ("lower", "second_molar", "distal"): (0.31, 0.47, 0.81),
    }


def test_canal_counts_hold_the_large_samples() -> None:
    # Clinical facts, section 1.4.
    held = {(row["kind"], row["finding"], row["percent"], row["n"]) for row in table("canal_counts")}
    assert {
        ("first_molar", "second canal", "69.6", "15285"),
        ("second_molar", "second canal", "39.0", "8641"),
        ("first_molar", "second canal", "36.9", "5750"),
        ("second_molar", "C-shape", "13.9", "3600"),
        ("second_premolar", "one canal", "91.82", "15981"),
    } <= held


def test_thin_walls_are_those_measured() -> None:
    # Clinical facts, section 1.9.
    held = {(row["kind"], row["canals"]): row["mean_mm"] for row in table("thin_roots") if row["mean_mm"]}
    assert held == {
        ("first_molar", "MB"): "1.13",
        ("first_molar", "ML"): "1.10",
        ("first_premolar", ""): "1.08",
    }


def test_sealer_setting_times_are_those_of_the_heat_test() -> None:
    # Clinical facts, section 6.
    held = {row["type"]: (float(row["set_37c_min"]), float(row["set_140c_min"])) for row in table("sealer_heat")}
    assert held == {
        "zinc_oxide_eugenol": (144.0, 274.2),
        "epoxy": (543.8, 12.9),
        "calcium_silicate": (245.8, 14.2),
        "silicone": (49.3, 2.7),
    }


def test_reading_spreads_are_those_of_a_normal_error_with_the_published_hit_rates() -> None:
    # Clinical facts, section 2: 87 % within 0.5 mm (paper point; locator), 52.2 % for the poorest locator.
    usual = 0.5 / NormalDist().inv_cdf((1 + 0.87) / 2)
    poorest = 0.5 / NormalDist().inv_cdf((1 + 0.522) / 2)
    assert rule("paper_point_sd_mm").value == pytest.approx(usual, abs=5e-3)
    assert rule("locator_sd_mm").value == pytest.approx(usual, abs=5e-3)
    assert rule("locator_sd_mm").high == pytest.approx(poorest, abs=6e-3)


@pytest.mark.parametrize(
    ("key", "value", "low", "high", "source"),
    [
        ("softened_ahead_mm", 2.5, 2, 3, "goodman1981"),  # thermal facts, section 0, point 5
        ("post_filling_left_mm", 5, 4, 5, "ricketts2005"),  # clinical facts, section 7
        ("wall_floor_mm", 0.3, None, None, "lim_stock"),  # clinical facts, section 1.9
        ("curved_share_percent", 84, None, None, "schaefer2002"),  # clinical facts, section 1.10
        ("irrigate_open_short_mm", 3, 2, 3, "boutsioukis"),  # clinical facts, section 6
        ("irrigate_vented_short_mm", 1, None, None, "boutsioukis"),  # clinical facts, section 6
        ("surface_rise_limit_c", 47 - 37, None, None, "eriksson1983.rise"),  # clinical facts, section 8
        ("niti_e_mpa", 75000, 36000, 75000, "handbook"),  # mechanics facts, section 6
    ],
)
def test_rules_with_a_paper_behind_them_hold_its_numbers(
    key: str, value: float, low: float | None, high: float | None, source: str
) -> None:
    held = rule(key)
    assert (held.value, held.low, held.high, held.source) == (value, low, high, source)
