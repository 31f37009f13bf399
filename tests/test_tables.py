import csv
import re
from importlib.resources import files
from pathlib import Path

import pytest

from rootfill import tables
from rootfill.errors import TableError

DATA = Path(str(files("rootfill") / "data"))
CODE = DATA.parent
NAMES = sorted(path.stem for path in DATA.glob("*.csv"))
VALUE_TABLES = [name for name in NAMES if name != "sources"]


def test_the_tables_of_this_package_are_all_here() -> None:
    assert {"sources", "rules", "file_sizes", "needles", "tooth_numbers", "look_for"} <= set(NAMES)


@pytest.mark.parametrize("name", VALUE_TABLES)
def test_every_row_names_a_source_that_exists_and_carries_its_mark(name: str) -> None:
    assert tables.table(name)
    for row in tables.table(name):
        assert row["mark"] == tables.source(row["source"]).mark, dict(row)


def test_every_source_has_an_allowed_mark_and_a_text() -> None:
    for row in tables.table("sources"):
        assert row["mark"] in tables.MARKS, row["id"]
        assert row["text"], row["id"]


def test_the_marks_are_the_agreed_words() -> None:
    agreed = "standard, published, common practice, from memory, derived, our choice, invented"
    assert ", ".join(tables.MARKS) == agreed


@pytest.mark.parametrize("name", NAMES)
def test_every_row_has_exactly_the_columns_of_its_header(name: str) -> None:
    text = (DATA / f"{name}.csv").read_text(encoding="utf-8")
    rows = list(csv.reader(line for line in text.splitlines() if not line.startswith("#")))
    assert {len(row) for row in rows} == {len(rows[0])}
    assert len(set(rows[0])) == len(rows[0])


@pytest.mark.parametrize("name", NAMES)
def test_no_cell_has_space_around_it_and_no_table_names_a_machine_path(name: str) -> None:
    for row in tables.table(name):
        assert all(cell == cell.strip() for cell in row.values()), dict(row)
        assert not any(re.search(r"(^|\s)/(work|tmp|home)/", cell) for cell in row.values()), dict(row)


@pytest.mark.parametrize("name", NAMES)
def test_every_column_that_ends_in_a_unit_holds_numbers_or_blanks(name: str) -> None:
    for row in tables.table(name):
        for column, cell in row.items():
            if column.endswith(("_mm", "_min", "_percent")) or column in {"percent", "low", "high", "value"}:
                assert cell == "" or tables.number(cell) is not None


@pytest.mark.parametrize(("name", "column"), [("sources", "id"), ("rules", "key"), ("needles", "gauge")])
def test_no_key_stands_twice(name: str, column: str) -> None:
    keys = [row[column] for row in tables.table(name)]
    assert len(set(keys)) == len(keys)


def test_every_rule_lies_in_its_own_range_and_says_what_it_means() -> None:
    for row in tables.table("rules"):
        rule = tables.rule(row["key"])
        assert rule.low is None or rule.low <= rule.value, rule
        assert rule.high is None or rule.value <= rule.high, rule
        assert len(rule.says.split()) >= 4, rule


def test_the_unit_of_a_rule_is_the_end_of_its_name() -> None:
    ends = {"mm": "_mm", "N": "_n", "MPa": "_mpa", "s": "_s", "deg": "_deg", "%": "_percent", "°C": "_c"}
    ends |= {"kg/m3": "_kg_m3", "J/kg/K": "_j_kgk", "m2K/W": "_m2k_w", "GiB": "_gib", "d": "_d", "px": "_px"}
    for row in tables.table("rules"):
        if row["unit"] != "1":
            assert row["key"].endswith(ends[row["unit"]]), row["key"]


def test_every_rule_and_table_named_in_the_code_exists() -> None:
    code = "\n".join(path.read_text(encoding="utf-8") for path in CODE.rglob("*.py"))
    rules = set(re.findall(r"\brule\(\"([^\"]+)\"\)", code))
    named = set(re.findall(r"\btable\(\"([^\"]+)\"\)", code))
    assert "tooth_length_band_mm" in rules
    assert "tooth_numbers" in named
    assert rules <= {row["key"] for row in tables.table("rules")}
    assert named <= set(NAMES)


def test_every_source_is_used_by_a_table_or_speaks_of_entered_or_computed_values() -> None:
    used = {row["source"] for name in VALUE_TABLES for row in tables.table(name)}
    computed = {"case", "seen", "invented", "geometry", "fit.seat", "fit.reach", "fit.elastic", "fit.trim"}
    computed |= {"heat.warm", "film.check", "film.scale"}
    assert {row["id"] for row in tables.table("sources")} - used - computed == set()


def test_a_rule_carries_range_unit_source_and_mark() -> None:
    rule = tables.rule("passive_force_n")
    assert (rule.value, rule.low, rule.high, rule.unit) == (0.5, 0.2, 2.0, "N")
    assert (rule.source, rule.mark) == ("choice", "our choice")


def test_a_blank_range_is_unknown_and_not_zero() -> None:
    assert (tables.rule("wl_sd_mm").low, tables.rule("wl_sd_mm").high) == (None, None)
    assert tables.rule("cone_short_mm").low == 0.0


def test_an_address_may_be_missing() -> None:
    assert tables.source("practice").address == ""
    assert tables.source("schaefer2002").address == "pubmed 12017184"


@pytest.mark.parametrize("name", ["no_such_table", "", "../data/rules", "rules.csv", "RULES"])
def test_an_unknown_table_is_named_in_the_error(name: str) -> None:
    with pytest.raises(TableError, match=re.escape(repr(name))):
        tables.table(name)


def test_an_unknown_source_or_rule_is_named_in_the_error() -> None:
    with pytest.raises(TableError, match="no source is called 'hearsay'"):
        tables.source("hearsay")
    with pytest.raises(TableError, match="no rule is called 'thumb'"):
        tables.rule("thumb")


def test_rows_cannot_be_changed_by_a_reader() -> None:
    with pytest.raises(TypeError):
        tables.table("rules")[0]["value"] = "9"  # type: ignore[index]


def test_comment_lines_are_not_rows() -> None:
    assert (DATA / "rules.csv").read_text(encoding="utf-8").startswith("#")
    assert all(row["key"] and not row["key"].startswith("#") for row in tables.table("rules"))


def test_sealers_have_no_working_time_and_each_has_its_heat_figures() -> None:
    assert not any("working" in column for column in tables.table("sealer_types")[0])
    kinds = [row["type"] for row in tables.table("sealer_types")]
    assert kinds == [row["type"] for row in tables.table("sealer_heat")]


def test_an_allergy_that_names_a_sealer_names_one_that_contains_it() -> None:
    contains = {row["type"]: row["allergens"].split(";") for row in tables.table("sealer_types")}
    named = {row["allergen"]: row["sealer"] for row in tables.table("allergies") if row["sealer"]}
    assert set(named) == {"epoxy", "eugenol"}
    assert all(allergen in contains[sealer] for allergen, sealer in named.items())


def test_no_typed_word_means_two_allergies() -> None:
    typed = [word for row in tables.table("allergies") for word in row["typed"].split(";")]
    assert len(set(typed)) == len(typed)
