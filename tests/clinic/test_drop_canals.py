"""Scanned canals drop into a case file beside what was typed, or are refused in a sentence."""

from __future__ import annotations

import tomllib

import numpy as np
import pytest

from rootfill.clinic.drop_canals import drop_canals
from rootfill.errors import InputRefused
from rootfill.images.scan import Scanned, ScannedCanal, Stations

CASE = """# our words stay
[case]
id = "scan-1"
tooth = 14
notation = "iso3950"

[[canals]]  # buccal
name = "B"
reference = "buccal cusp tip"
working_length_mm = "21,0"
files = [{ size = 25, taper = 6, to_mm = 21.0 }]

[[canals]]
name = "P"
reference = "palatal cusp tip"
working_length_mm = 20.0
orifice_at_mm = 9.5
made = { size = 30, taper = 4 }
"""


def scanned(count: int = 2) -> Scanned:
    """A tooth of ``count`` canals of 10, 11, ... mm, made up."""
    return Scanned((), tuple(_canal(10.0 + i) for i in range(count)), (), 20.0, 0.8, 0.05, 1000.0, ())


def _canal(length: float) -> ScannedCanal:
    s = np.linspace(0.0, length, 5)
    wall = np.array([np.nan, 0.8, 1.0, 1.2, 1.5])
    table = Stations(s, 0.3 + 0.02 * s, 0.4 + 0.03 * s, wall, np.tile(wall[:, None], (1, 4)))
    return ScannedCanal(0, np.array([[0.0, 0, 0], [0, 0, length]]), length, 0.1, table, 0.4, 0.4, False)


def test_width_wall_and_length_are_added_where_they_were_not_entered() -> None:
    written = drop_canals(CASE, scanned(), {"B": 1, "P": 2})
    data = tomllib.loads(written)
    buccal, palatal = data["canals"]
    assert buccal["canal_length_mm"] == 10.0
    assert buccal["natural"][0] == [0.0, 0.3, 0.4]
    assert buccal["wall_mm"][0] == [2.5, 0.8]
    assert palatal["wall_mm"][-1] == [11.0, 1.5]
    assert "canal_length_mm" not in palatal
    assert "natural" not in palatal


def test_everything_typed_stays_as_it_was_typed() -> None:
    written = drop_canals(CASE, scanned(), {"B": 1})
    kept = [line for line in written.splitlines() if not line.endswith("# from the scan")]
    assert kept == CASE.splitlines()


def test_one_canal_and_one_found_need_no_naming() -> None:
    single = CASE[: CASE.index("[[canals]]\nname")]
    assert tomllib.loads(drop_canals(single, scanned(1), {}))["canals"][0]["canal_length_mm"] == 10.0


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ({}, "say which scanned canal is which, such as --canal B=1"),
        ({"MB": 1}, "one of the case: B, P"),
        ({"B": 3}, "the number of a scanned canal, 1 to 2"),
        ({"B": 0}, "the number of a scanned canal, 1 to 2"),
    ],
)
def test_what_is_not_clear_is_asked_for(numbers: dict[str, int], said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        drop_canals(CASE, scanned(), numbers)


def test_a_file_written_another_way_is_not_guessed_at() -> None:
    inline = CASE[: CASE.index("[[canals]]")].replace("# our words stay\n", "# our words stay\ncanals = []\n")
    odd = inline.replace(
        "canals = []",
        'canals = [{ name = "B", reference = "cusp", working_length_mm = 21.0, files = [{ size = 25, taper = 6, '
        "to_mm = 21.0 }] }]",
    )
    with pytest.raises(InputRefused, match=r"write each canal as \[\[canals\]\]"):
        drop_canals(odd, scanned(1), {})
