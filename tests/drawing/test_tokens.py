"""Colours can be read, and drawings stay right in greyscale."""

from __future__ import annotations

from itertools import pairwise

import pytest

from rootfill.drawing.tokens import (
    DARK,
    FILL_ORDER,
    PAPER,
    READING,
    TEXT_ROLES,
    Palette,
    contrast,
    css_variables,
    luminance,
    size_colour,
)


@pytest.mark.parametrize("palette", [PAPER, DARK, READING], ids=["paper", "dark", "reading"])
@pytest.mark.parametrize("role", TEXT_ROLES)
def test_every_colour_of_words_stands_out_from_its_ground(palette: Palette, role: str) -> None:
    assert contrast(getattr(palette, role), palette.paper) >= 4.5


@pytest.mark.parametrize("palette", [PAPER, DARK, READING], ids=["paper", "dark", "reading"])
def test_a_warning_can_be_read_on_its_own_ground(palette: Palette) -> None:
    assert contrast(palette.warning, palette.warning_ground) >= 4.5


@pytest.mark.parametrize(("palette", "sign"), [(PAPER, -1), (DARK, 1), (READING, 1)], ids=["paper", "dark", "reading"])
def test_fills_that_touch_differ_in_lightness_and_not_by_hue_only(palette: Palette, sign: int) -> None:
    shades = [luminance(getattr(palette, role)) for role in FILL_ORDER]
    for one, next_one in pairwise(shades):
        lighter, darker = (next_one, one) if sign > 0 else (one, next_one)
        assert (lighter + 0.05) / (darker + 0.05) >= 1.15


def test_contrast_of_black_and_white_is_the_known_21() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


def test_the_same_palette_becomes_css_variables() -> None:
    assert "--ink-2: #55606E;" in css_variables(PAPER)


def test_a_size_has_the_colour_of_the_standard_or_none() -> None:
    assert size_colour(25) == size_colour(55) != size_colour(30)
    assert size_colour(22) is None
