"""The commands as a person runs them: what is printed, which files are there, how it ends."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.plan.cases import canal, case_text

GOOD = case_text(14, [canal("B", 20.5, "orifice_at_mm = 9", "30", ".04")])
EXIT = case_text(47, [canal("C", 20.0, "orifice_at_mm = 8", "30", ".04", 'shape = "c_shape"')])


def rootfill(*args: str, typed: bytes = b"", folder=None, **more: str):
    command = [sys.executable, "-c", "from rootfill.app import main; main()", *args]
    environment = {**os.environ, "COLUMNS": "100", "NO_COLOR": "1", **more}
    return subprocess.run(
        command, input=typed, capture_output=True, cwd=folder, env=environment, check=False, timeout=60
    )


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "good.toml").write_text(GOOD, encoding="utf-8")
    (tmp_path / "exit.toml").write_text(EXIT, encoding="utf-8")
    (tmp_path / "bad.toml").write_text(GOOD.replace("20.5", "205"), encoding="utf-8")
    return tmp_path


def test_a_plan_prints_the_card_as_a_table_and_ends_with_0(folder):
    done = rootfill("plan", "good.toml", folder=folder)
    assert done.returncode == 0
    assert "upper right first premolar" in done.stdout.decode()
    assert "plugger, set stop to" in done.stdout.decode()
    assert done.stderr == b""


def test_json_on_standard_output_is_json_and_nothing_else(folder):
    done = rootfill("plan", "good.toml", "--json", "-", folder=folder)
    assert json.loads(done.stdout)["canals"][0]["name"] == "B"


def test_a_case_from_standard_input_gives_the_same_plan(folder):
    from_file = rootfill("plan", "good.toml", "--json", "-", folder=folder)
    piped = rootfill("plan", "-", "--json", "-", typed=GOOD.encode(), folder=folder)
    assert piped.stdout == from_file.stdout


def test_refused_input_ends_with_2_one_sentence_and_no_file(folder):
    done = rootfill("plan", "bad.toml", "--json", "out/plan.json", "--out", "out", folder=folder)
    assert done.returncode == 2
    assert done.stdout == b""
    assert done.stderr.decode().count("\n") == 1
    assert "did you mean 20.5?" in done.stderr.decode()
    assert not (folder / "out").exists()


def test_an_exit_ends_with_3_and_still_writes_every_file(folder):
    done = rootfill("plan", "exit.toml", "--out", "out", folder=folder)
    assert done.returncode == 3
    assert sorted(p.name for p in (folder / "out").iterdir()) == ["card.pdf", "plan.json", "report.html", "report.pdf"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["plan", "nothing.toml"], "no such file"),
        (["plan", "."], "is a directory"),
        (["plan"], "Missing argument"),
        (["conjure"], "No such command"),
        (["new", "55"], "not for this method"),
        (["new", "14", "--notation", "palmer"], "palmer"),
        (["tray", "good.toml"], "not known here"),
        (["plan", "good.toml", "--out", "good.toml/x"], "not a directory"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_2(folder, args, words):
    done = rootfill(*args, folder=folder)
    assert done.returncode == 2
    assert words in done.stderr.decode()
    assert "Traceback" not in done.stderr.decode()


def test_new_prints_a_template_that_says_what_to_fill_in(folder):
    text = rootfill("new", "14").stdout.decode()
    assert text.count("[[canals]]") == 2
    assert "Upper right first premolar" in text


def test_the_tray_command_shows_the_generic_tray_and_its_json_plans(folder):
    assert "assumed, not measured" in rootfill("tray").stdout.decode()
    tray = json.loads(rootfill("tray", "--json", "-").stdout)
    assert {c["taper"] for c in tray["cones"]} == {0.02, 0.04, 0.06}


def test_a_tray_file_beside_the_case_is_used(folder):
    (folder / "mine.toml").write_text(
        'name = "mine"\ncones = [{ name = "c", size = 25, taper = 0.02 }]\n', encoding="utf-8"
    )
    (folder / "with.toml").write_text(GOOD + '\n[tray]\nfile = "mine"\n', encoding="utf-8")
    done = rootfill("plan", "with.toml", "--json", "-", folder=folder)
    assert json.loads(done.stdout)["tray"] == "mine"
    (folder / "with.toml").write_text(GOOD + '\n[tray]\nfile = "../mine"\n', encoding="utf-8")
    assert rootfill("plan", "with.toml", folder=folder).returncode == 2


def test_the_schema_names_the_whole_case_file():
    schema = json.loads(rootfill("schema").stdout)
    assert set(schema["properties"]) >= {
        "case",
        "patient",
        "preferences",
        "visits",
        "canals",
        "findings",
        "tray",
    }


def test_the_command_line_loads_no_compiler_picture_or_chart_library():
    heavy = ("numba", "matplotlib", "trimesh", "typst", "PIL", "pydicom", "SimpleITK")
    code = f"import sys, rootfill.app; print([m for m in {heavy} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
    assert done.stdout.strip() == b"[]"


def test_nothing_but_an_ordinary_file_is_written_over_and_never_the_case(folder):
    (folder / "link.json").symlink_to(folder / "elsewhere.json")
    (folder / "elsewhere.json").write_text("kept", encoding="utf-8")
    for target, words in (
        ("good.toml", "the file the plan is made from"),
        ("link.json", "no ordinary file"),
        (".", "no ordinary"),
    ):
        done = rootfill("plan", "good.toml", "--json", target, folder=folder)
        assert done.returncode == 2
        assert words in done.stderr.decode()
    assert (folder / "elsewhere.json").read_text(encoding="utf-8") == "kept"
    assert (folder / "good.toml").read_text(encoding="utf-8") == GOOD


def test_either_all_files_are_written_or_none(folder):
    done = rootfill("plan", "good.toml", "--json", "j.json", "--out", "good.toml/x", folder=folder)
    assert done.returncode == 2
    assert sorted(p.name for p in folder.iterdir()) == ["bad.toml", "exit.toml", "good.toml"]


def test_a_tray_behind_a_link_out_of_the_folder_is_refused(folder, tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside")
    (outside / "t.toml").write_text('cones = [{ name = "c", size = 25, taper = 0.02 }]', encoding="utf-8")
    (folder / "way").symlink_to(outside)
    (folder / "with.toml").write_text(GOOD + '\n[tray]\nfile = "way/t"\n', encoding="utf-8")
    assert rootfill("plan", "with.toml", folder=folder).returncode == 2


def test_a_terminal_that_knows_only_ascii_still_gets_the_table_and_the_exit_code(folder):
    done = rootfill("plan", "exit.toml", folder=folder, PYTHONIOENCODING="ascii", LC_ALL="C")
    assert done.returncode == 3
    assert b"not for this method" in done.stdout


def test_a_pipe_that_closes_early_is_no_error(folder):
    command = f"{sys.executable} -c 'from rootfill.app import main; main()' demo | head -1; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", command], capture_output=True, cwd=folder, check=False, timeout=60)
    assert done.returncode == 0
    assert done.stderr == b""


def test_the_version_and_bare_help_are_printed(folder):
    assert rootfill("--version").stdout.startswith(b"rootfill ")
    bare = rootfill()
    assert bare.returncode == 0
    assert b"Usage:" in bare.stdout
