"""What is assumed of a tray, by name."""

from __future__ import annotations

import pytest

from rootfill.tray import Cone, HeatedTip, Needle, Plugger, Tray
from rootfill.tray.names import called


def tray(assumed: bool, own: bool | None) -> Tray:
    return Tray(
        assumed=assumed,
        cones=(Cone(name="30/.04", size=30, taper=0.04, assumed=own),),
        pluggers=(Plugger(name="50", tip_mm=0.5, taper=0.02), Plugger(name="60", tip_mm=0.6, taper=0.02, assumed=own)),
        heated_tips=(HeatedTip(name="fine tip", tip_mm=0.5, taper=0.04, assumed=own),),
        needles=(Needle(name="25 G", gauge=25, use="deliver", assumed=own),),
    )


NAMED = ("cone 30/.04", "plugger 60", "fine tip", "needle 25 G")


@pytest.mark.parametrize(
    ("whole", "own", "assumed", "measured"),
    [
        (False, True, NAMED, ("plugger 50",)),
        (True, False, ("plugger 50",), NAMED),
        (True, None, (NAMED[0], "plugger 50", *NAMED[1:]), ()),
        (False, None, (), (NAMED[0], "plugger 50", *NAMED[1:])),
    ],
)
def test_an_instrument_says_itself_whether_it_is_assumed_and_else_the_tray_says(whole, own, assumed, measured):
    assert tray(whole, own).assumed_names == assumed
    assert tray(whole, own).measured_names == measured


@pytest.mark.parametrize(
    ("name", "kind", "words"),
    [
        ("60", "plugger", "plugger 60"),
        ("Plugger thin", "plugger", "Plugger thin"),
        ("fine", "heated tip", "heated tip fine"),
        ("heat", "heated tip", "heat"),
        ("25 G", "needle", "needle 25 G"),
        ("30/.04", "cone", "cone 30/.04"),
    ],
)
def test_a_name_that_says_what_it_is_stays_as_it_is(name, kind, words):
    assert called(name, kind) == words
