"""Instruments and materials of the tray."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from rootfill import tables
from rootfill.tray import Compound, Cone, HeatedTip, Needle, Plugger, Rod, Sealer, Tray


def test_a_rod_widens_along_its_working_part_and_then_is_its_shaft():
    # 0.50 + 0.02 x to x = 10, then the shaft of 0.9
    rod = Rod(0.50, 0.02, working_mm=10.0, shaft_mm=0.9)
    assert rod.diameter(np.array([0.0, 5.0, 10.0, 10.001, 20.0])) == pytest.approx([0.50, 0.60, 0.70, 0.9, 0.9])


def test_a_rod_without_a_stated_shaft_keeps_the_width_of_its_working_part():
    assert Rod(0.50, 0.02, working_mm=10.0).diameter(np.array([15.0])) == pytest.approx([0.70])
    assert Rod(0.50, 0.02).diameter(np.array([15.0])) == pytest.approx([0.80])


def test_a_shaft_thinner_than_the_working_part_takes_nothing_from_it():
    assert Rod(0.50, 0.02, working_mm=10.0, shaft_mm=0.4).diameter(np.array([15.0])) == pytest.approx([0.70])


def test_a_cone_knows_its_tip_and_its_trade_name():
    cone = Cone(name="blue", size="#30", taper="4 %")
    assert (cone.tip_mm, cone.size_name, cone.length_mm) == (0.30, "30/.04", 28.0)


def test_a_plugger_without_a_stated_tolerance_takes_that_of_the_rules():
    assert Plugger(name="50", tip_mm=0.5, taper=0).tolerance_mm == tables.rule("plugger_tol_mm").value
    assert Plugger(name="50", tip_mm=0.5, taper=0, tol_mm=0.01).tolerance_mm == 0.01
    assert Plugger(name="50", tip_mm=0.5, taper=0, tol_mm=0).tolerance_mm == 0


@pytest.mark.parametrize(
    # catalogue outer diameters: 23 G 0.6414, 27 G 0.4128, 30 G 0.3112 mm; needle gauge chart of a public encyclopaedia
    ("gauge", "outer"),
    [(23, 0.6414), (27, 0.4128), (30, 0.3112), ("25", 0.5144)],
)
def test_a_needle_is_a_straight_steel_tube_of_its_gauges_outer_diameter(gauge, outer):
    needle = Needle(name="a", gauge=gauge, use="deliver")
    assert needle.tip_mm == pytest.approx(outer, abs=1e-4)
    assert needle.rod.diameter(np.array([0.0, 20.0])) == pytest.approx([outer, outer], abs=1e-4)
    assert (needle.material, needle.prebend) == ("steel", False)
    assert 0 < needle.tolerance_mm < 0.02


def test_every_gauge_that_may_be_entered_has_a_row_in_the_table():
    diameters = [Needle(name="a", gauge=g, use="irrigate").tip_mm for g in range(18, 35)]
    assert diameters == sorted(diameters, reverse=True)


@pytest.mark.parametrize(
    ("kind", "good", "bad"),
    [
        (Cone, {"name": "a", "size": 25, "taper": 0.04}, {"size": 5}),
        (Cone, {"name": "a", "size": 25, "taper": 0.04}, {"size": 141}),
        (Cone, {"name": "a", "size": 25, "taper": 0.04}, {"taper": 0}),
        (Cone, {"name": "a", "size": 25, "taper": 0.04}, {"length_mm": 41}),
        (Cone, {"name": "a", "size": 25, "taper": 0.04}, {"name": ""}),
        (Plugger, {"name": "a", "tip_mm": 0.5, "taper": 0}, {"tip_mm": 0}),
        (Plugger, {"name": "a", "tip_mm": 0.5, "taper": 0}, {"tip_mm": 2.1}),
        (Plugger, {"name": "a", "tip_mm": 0.5, "taper": 0}, {"taper": -0.01}),
        (Plugger, {"name": "a", "tip_mm": 0.5, "taper": 0}, {"material": "brass"}),
        (Plugger, {"name": "a", "tip_mm": 0.5, "taper": 0}, {"tol_mm": -0.01}),
        (Needle, {"name": "a", "gauge": 27, "use": "irrigate"}, {"gauge": 17}),
        (Needle, {"name": "a", "gauge": 27, "use": "irrigate"}, {"use": "rinse"}),
        (Needle, {"name": "a", "gauge": 27, "use": "irrigate"}, {"vent": "top"}),
        (HeatedTip, {"name": "a", "tip_mm": 0.5, "taper": 0}, {"measured": [[200, 1]]}),
        (Sealer, {"name": "a"}, {"type": "glue"}),
        (Compound, {"name": "a"}, {"injected_c": 20}),
    ],
)
def test_an_instrument_that_cannot_be_is_not_made(kind, good, bad):
    kind(**good)
    with pytest.raises(ValidationError):
        kind(**(good | bad))


def test_an_unknown_word_about_an_instrument_is_not_overlooked():
    with pytest.raises(ValidationError, match="colour"):
        Cone(name="a", size=25, taper=0.04, colour="red")


def test_a_heated_tip_keeps_what_was_measured_of_it():
    tip = HeatedTip(name="fine", tip_mm=0.5, taper="4 %", measured=[[200, 1, "96,5"]])
    assert tip.measured == ((200.0, 1.0, 96.5),)
    assert tip.rod.diameter(np.array([10.0])) == pytest.approx([0.9])


def test_a_tray_that_says_nothing_holds_nothing_and_assumes_nothing():
    tray = Tray()
    assert (tray.cones, tray.pluggers, tray.needles, tray.heated_tips, tray.sealers) == ((), (), (), (), ())
    assert tray.assumed is False
