"""The long section and its kin as SVG text, for page, paper and notebook."""

from rootfill.drawing.cross_sections import cross_sections, stacked_sections
from rootfill.drawing.expected_seen import expected_seen
from rootfill.drawing.frame import Frame
from rootfill.drawing.heat_course import heat_course, heat_moments
from rootfill.drawing.long_section import long_section
from rootfill.drawing.tokens import DARK, FONT, PAGE, PAPER, READING, SCALE, Palette, css_variables

__all__ = [
    "DARK",
    "FONT",
    "PAGE",
    "PAPER",
    "READING",
    "SCALE",
    "Frame",
    "Palette",
    "cross_sections",
    "css_variables",
    "expected_seen",
    "heat_course",
    "heat_moments",
    "long_section",
    "stacked_sections",
]
