"""The long section and its kin as SVG text, for page, paper and notebook."""

from rootfill.drawing.cross_sections import cross_sections
from rootfill.drawing.expected_seen import expected_seen
from rootfill.drawing.frame import Frame
from rootfill.drawing.long_section import long_section
from rootfill.drawing.tokens import DARK, PAPER, Palette

__all__ = ["DARK", "PAPER", "Frame", "Palette", "cross_sections", "expected_seen", "long_section"]
