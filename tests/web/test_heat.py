"""The page of the heat, for canals however they are named."""

from __future__ import annotations

import re
from dataclasses import replace

from markupsafe import Markup

from rootfill.web.heat import _canals
from tests.drawing import sample


def test_a_canal_whose_name_has_spaces_is_still_told_to_who_cannot_see() -> None:
    plan = sample.warmed(sample.incisor())
    named = replace(plan, canals=(replace(plan.canals[0], name='MB "2" <x>'),))
    (shown,) = _canals(named)
    assert isinstance(shown.picture, Markup)
    told = re.search(r'aria-labelledby="([^"]+)"', shown.picture)
    assert told is not None
    for name in told[1].split():
        assert f'id="{name}"' in shown.picture
